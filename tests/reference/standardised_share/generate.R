# Age-standardised share with high total cholesterol, 2009-2010, from the `nhanes` data that come with `survey`;
# rows that agree in everything but weight are added up. The adult table by race and sex is that of the help page.
suppressMessages(library(survey))
data(nhanes)
known <- subset(nhanes, !is.na(HI_CHOL))
input <- aggregate(WTMEC2YR ~ SDMVSTRA + SDMVPSU + agecat + race + RIAGENDR + HI_CHOL, known, sum)
input <- with(input, data.frame(stratum = SDMVSTRA, psu = SDMVPSU, age = as.integer(agecat) - 1, race = race,
                                sex = RIAGENDR, high = HI_CHOL, weight = sprintf("%.4f", WTMEC2YR)))
write.csv(input, "input.csv", row.names = FALSE, quote = FALSE)

population <- c(55901, 77670, 72816, 45364)
design <- svydesign(ids = ~SDMVPSU, strata = ~SDMVSTRA, weights = ~WTMEC2YR, nest = TRUE, data = nhanes)
by_group <- svystandardize(design, by = ~agecat, over = ~race + RIAGENDR, population = population,
                           excluding.missing = ~HI_CHOL)
table <- svyby(~HI_CHOL, ~race + RIAGENDR, svymean, design = subset(by_group, agecat != "(0,19]"), na.rm = TRUE)
everybody <- svystandardize(design, by = ~agecat, over = ~1, population = population, excluding.missing = ~HI_CHOL)
all <- svymean(~HI_CHOL, everybody, na.rm = TRUE)

jk <- as.svrepdesign(design, type = "JKn", mse = TRUE)
jackknife <- function(keep, standard, first) {
  share <- function(w, data) {
    rows <- which(keep & !is.na(data$HI_CHOL))
    cell <- as.integer(data$agecat[rows]) - first
    totals <- tapply(w[rows], factor(cell, seq_along(standard)), sum)
    scaled <- w[rows] * (standard / sum(standard) / totals)[cell]
    sum(scaled * data$HI_CHOL[rows]) / sum(scaled)
  }
  sqrt(as.numeric(vcov(withReplicates(jk, share))))
}
adult <- nhanes$agecat != "(0,19]"
rows <- c(sprintf("0,0,%.12f,%.12f,%.12f", coef(all), SE(all), jackknife(TRUE, population, 0)),
  mapply(function(race, sex, share, se) sprintf("%d,%d,%.12f,%.12f,%.12f", race, sex, share, se,
    jackknife(adult & nhanes$race == race & nhanes$RIAGENDR == sex, population[-1], 1)),
    as.integer(table$race), as.integer(table$RIAGENDR), table$HI_CHOL, SE(table)))
writeLines(c(paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey")),
  "# call: svystandardize, svyby(svymean); withReplicates(as.svrepdesign(type = 'JKn', mse = TRUE)) for the jackknife",
  "# tolerance: 1e-9", "race,sex,share,standard_error_linearised,standard_error_jackknife", rows), "expected.csv")
