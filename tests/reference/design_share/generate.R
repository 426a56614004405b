# Share with high cholesterol by group, United States 2009-2010. Run in this folder: Rscript generate.R
suppressMessages(library(survey))
data(nhanes)
people <- with(nhanes, data.frame(stratum = SDMVSTRA, psu = SDMVPSU, w = WTMEC2YR, event = HI_CHOL, race = race,
  sex = RIAGENDR, age = as.integer(agecat)))
write.csv(people, "input.csv", row.names = FALSE, quote = FALSE, na = "")
people$everybody <- 1
people$race_and_age <- people$race * 10 + people$age
design <- svydesign(ids = ~psu, strata = ~stratum, weights = ~w, nest = TRUE, data = people)
out <- NULL
for (by in c("everybody", "race", "sex", "age", "race_and_age")) for (level in sort(unique(people[[by]]))) {
  d <- subset(design, !is.na(event) & people[[by]] == level)
  m <- svymean(~event, d)
  k <- attr(svyciprop(~event, d, method = "beta"), "ci")
  out <- rbind(out, data.frame(by, level, p = sprintf("%.15g", coef(m)), se = sprintf("%.15g", as.numeric(SE(m))),
    people = nrow(d), df = degf(d), lower = sprintf("%.15g", k[1]), upper = sprintf("%.15g", k[2])))
}
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey"), " (its data set nhanes, a public file of the National Center for Health Statistics)"),
  "# call: svymean(~event, d), svyciprop(~event, d, method = 'beta'), degf(d), d = subset(svydesign(ids = ~psu, strata = ~stratum, weights = ~w, nest = TRUE), !is.na(event) & group)",
  "# tolerance: 1e-9 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
