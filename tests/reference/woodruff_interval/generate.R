# Woodruff's interval on a stratified clustered sample and two domains of it. Run in this folder: Rscript generate.R
suppressMessages(library(survey))
set.seed(2)
units <- expand.grid(psu = 1:3, stratum = 1:6)
people <- units[rep(seq_len(nrow(units)), times = sample(8:14, nrow(units), replace = TRUE)), ]
n <- nrow(people)
effect <- rnorm(nrow(units), 0, 0.25)[match(paste(people$stratum, people$psu), paste(units$stratum, units$psu))]
people$x <- round(exp(0.6 + effect + rnorm(n, 0, 0.5)), 6)
people$tied <- round(people$x, 1)
people$w <- round(runif(n, 500, 9000), 1)
# Domain b is missing from every third PSU and from all of stratum 6.
people$domain <- ifelse(people$psu == 3 | people$stratum == 6, "a", sample(c("a", "b"), n, replace = TRUE))
write.csv(people, "input.csv", row.names = FALSE, quote = FALSE)
design <- svydesign(ids = ~psu, strata = ~stratum, weights = ~w, nest = TRUE, data = people)
out <- NULL
for (part in c("all", "a", "b")) {
  d <- if (part == "all") design else subset(design, domain == part)
  for (scale in c("xlogit", "mean")) for (p in c(0.25, 0.5, 0.75, 0.9)) for (rule in c("math", "hf6", "hf7")) {
    for (column in if (rule == "math") c("x", "tied") else "x") {
      q <- svyquantile(as.formula(paste0("~", column)), d, p, interval.type = scale, qrule = rule, df = degf(d))[[1]]
      out <- rbind(out, data.frame(domain = part, column, scale, rule, p,
        q = sprintf("%.15g", q[1]), lower = sprintf("%.15g", q[2]), upper = sprintf("%.15g", q[3]),
        se = sprintf("%.15g", q[4]), df = degf(d)))
    }
  }
}
out[out == "NaN"] <- "" # an end outside [0, 1] on the linear scale
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey")),
  "# call: svyquantile(~x, subset(svydesign(ids = ~psu, strata = ~stratum, weights = ~w, nest = TRUE), domain), p, interval.type = scale, qrule = rule, df = degf(domain))",
  "# tolerance: 1e-9 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
