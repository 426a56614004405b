# Share with high cholesterol by group, United States 2009-2010, and of schools without learners of English. Run in this folder: Rscript generate.R
suppressMessages(library(survey))
data(nhanes)
people <- with(nhanes, data.frame(stratum = SDMVSTRA, psu = SDMVPSU, w = WTMEC2YR, event = HI_CHOL, race = race,
  sex = RIAGENDR, age = as.integer(agecat)))
data(api)
schools <- with(apiclus1, data.frame(stratum = 1, psu = as.integer(factor(dnum)), w = pw, event = 0 + (ell == 0), race = 0, sex = 0,
  age = 0))
write.csv(rbind(cbind(case = "people", people), cbind(case = "schools", schools)), "input.csv", row.names = FALSE, quote = FALSE, na = "")
people$everybody <- 1
people$race_and_age <- people$race * 10 + people$age
design <- svydesign(ids = ~psu, strata = ~stratum, weights = ~w, nest = TRUE, data = people)
out <- NULL
add <- function(case, by, level, d) {
  m <- svymean(~event, d)
  ends <- function(method) attr(svyciprop(~event, d, method = method), "ci")
  digits <- function(x) sprintf("%.15g", as.numeric(x))
  out <<- rbind(out, data.frame(case, by, level, p = digits(coef(m)), se = digits(SE(m)), people = nrow(d), df = degf(d),
    lower = digits(ends("beta")[1]), upper = digits(ends("beta")[2]), lower_logit = digits(ends("xlogit")[1]),
    upper_logit = digits(ends("xlogit")[2]), lower_plain = digits(ends("mean")[1]), upper_plain = digits(ends("mean")[2])))
}
for (by in c("everybody", "race", "sex", "age", "race_and_age")) for (level in sort(unique(people[[by]]))) {
  d <- subset(design, !is.na(event) & people[[by]] == level)
  add("people", by, level, d)
}
add("schools", "everybody", 1, svydesign(ids = ~psu, weights = ~w, data = schools))
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey"), " (its data sets apiclus1 and nhanes, the latter a public file of the National Center for Health Statistics)"),
  "# call: svymean(~event, d), svyciprop(~event, d, method = 'beta', 'xlogit' or 'mean'), degf(d), d = subset(svydesign(ids = ~psu, strata = ~stratum, weights = ~w, nest = TRUE), !is.na(event) & group)",
  "# tolerance: 1e-9 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
