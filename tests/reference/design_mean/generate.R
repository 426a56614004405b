# Means and a ratio under several designs, with replacement. Run in this folder: Rscript generate.R
suppressMessages(library(survey))
data(api); data(fpc); data(scd)
row <- function(case, stratum, psu, w, y, x = 1, domain = 1) data.frame(case, stratum, psu, w, y, x, domain)
mini <- data.frame(x = c(1.2, 2.5, 2.5, 3.1, 4.8, 6, 7.7, 9.9), w = c(3, 1, 2, 4, 2, 5, 1, 2),
  stratum = rep(1:2, each = 4), psu = rep(1:4, each = 2))
id <- function(x) as.integer(factor(x))
cases <- rbind(
  row("stratified", id(apistrat$stype), seq_len(nrow(apistrat)), apistrat$pw, apistrat$api00),
  row("clusters", 1, id(apiclus1$dnum), apiclus1$pw, apiclus1$api00),
  row("clusters_domain", 1, id(apiclus1$dnum), apiclus1$pw, apiclus1$api00, 1, as.integer(apiclus1$stype == "H")),
  row("two_stage", 1, id(apiclus2$dnum), apiclus2$pw, apiclus2$api00),
  row("small", fpc$stratid, seq_len(nrow(fpc)), fpc$weight, fpc$x),
  row("small_equal_weights", fpc$stratid, seq_len(nrow(fpc)), 1, fpc$x),
  row("small_units", 1, fpc$psuid, fpc$weight, fpc$x),
  row("small_units_equal_weights", 1, fpc$psuid, 1, fpc$x),
  row("mini", mini$stratum, mini$psu, mini$w, mini$x),
  row("ambulances", scd$ESA, seq_len(nrow(scd)), 1, scd$alive, scd$arrests),
  row("lonely_certainty", id(apiclus1$dnum), seq_len(nrow(apiclus1)), apiclus1$pw, apiclus1$api00),
  row("lonely_adjust", id(apiclus1$dnum), seq_len(nrow(apiclus1)), apiclus1$pw, apiclus1$api00)
)
write.csv(cases, "input.csv", row.names = FALSE, quote = FALSE)
out <- NULL
for (case in unique(cases$case)) {
  d <- cases[cases$case == case, ]
  options(survey.lonely.psu = if (case == "lonely_adjust") "adjust" else if (case == "lonely_certainty") "certainty" else "fail")
  design <- subset(svydesign(ids = ~psu, strata = ~stratum, weights = ~w, data = d), domain == 1)
  m <- if (all(d$x == 1)) svymean(~y, design) else svyratio(~y, ~x, design)
  ends <- confint(m, df = degf(design))
  out <- rbind(out, data.frame(case, value = sprintf("%.15g", coef(m)), se = sprintf("%.15g", as.numeric(SE(m))),
    df = degf(design), lower = sprintf("%.15g", ends[1]), upper = sprintf("%.15g", ends[2])))
}
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey"), " (its data sets api, fpc and scd)"),
  "# call: svymean(~y, design) or svyratio(~y, ~x, design), confint(df = degf(design)), design = subset(svydesign(ids = ~psu, strata = ~stratum, weights = ~w), domain == 1)",
  "# tolerance: 1e-10 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
