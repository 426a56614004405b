# Weighted quantiles by three rules. Run in this folder: Rscript generate.R
suppressMessages(library(survey))
set.seed(1)
ties <- rep(c(1.5, 2, 2.5, 4, 7), c(9, 4, 12, 3, 2))
cases <- rbind(
  data.frame(case = "continuous", x = round(exp(rnorm(60)), 6), w = round(runif(60, 1, 30), 3)),
  data.frame(case = "ties_of_equal_weight", x = ties, w = c(3, 8, 2, 5, 11)[match(ties, unique(ties))]),
  data.frame(case = "ties_of_unequal_weight", x = sample(ties), w = sample(1:40, 30)),
  data.frame(case = "dominant_weight", x = c(1:9, 5.5), w = c(rep(1, 9), 500)),
  data.frame(case = "zero_weights", x = c(0.5, 1:12, 99), w = c(0, 3, 1, 4, 1, 5, 9, 2, 6, 5, 3, 5, 8, 0)),
  data.frame(case = "equal_weights", x = c(88, 92, 101, 140, 97, 90, 93), w = rep(2, 7)),
  data.frame(case = "mini", x = c(1.2, 2.5, 2.5, 3.1, 4.8, 6, 7.7, 9.9), w = c(3, 1, 2, 4, 2, 5, 1, 2))
)
write.csv(cases, "input.csv", row.names = FALSE, quote = FALSE)
out <- NULL
for (case in unique(cases$case)) {
  d <- cases[cases$case == case, ]
  used <- d[d$w > 0, ]
  first <- sum(used$w[used$x == min(used$x)]) / sum(used$w)
  design <- suppressWarnings(svydesign(ids = ~1, weights = ~w, data = used))
  # Interpolating rules: R's answer on ties of unequal weight depends on the order of the rows.
  rules <- if (case %in% c("ties_of_unequal_weight", "mini")) "math" else c("math", "hf6", "hf7")
  for (rule in rules) for (p in c(0.025, 0.1, 0.25, 0.33, 0.5, 0.61, 0.75, 0.9, 0.95, 0.975)) {
    if (p < first) next
    q <- svyquantile(~x, design, p, qrule = rule, ci = FALSE)[[1]][1]
    out <- rbind(out, data.frame(case, rule, p, q = sprintf("%.15g", q)))
  }
  if (case == "mini") for (rule in c("hf6", "hf7")) for (p in c(0.5, 0.75, 0.9)) {
    # Away from the tie at 2.5 the order does not matter.
    q <- svyquantile(~x, design, p, qrule = rule, ci = FALSE)[[1]][1]
    out <- rbind(out, data.frame(case, rule, p, q = sprintf("%.15g", q)))
  }
}
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey")),
  "# call: svyquantile(~x, svydesign(ids = ~1, weights = ~w), p, qrule = rule, ci = FALSE)",
  "# tolerance: 1e-13 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
