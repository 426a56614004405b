# Replicate standard errors: factors built by both sides (jackknife, balanced) and factors handed over (bootstrap).
# Run in this folder: Rscript generate.R
suppressMessages(library(survey))
data(scd)
data(api)
set.seed(4)
n <- 96
cases <- rbind(
  data.frame(case = "ambulances", stratum = scd$ESA, psu = 1:6, w = 1, y = scd$alive, x = scd$arrests),
  data.frame(case = "people", stratum = rep(1:4, each = n / 4), psu = rep(1:12, each = n / 12), w = round(runif(n, 1, 50), 2),
    y = round(exp(rnorm(n)), 4), x = round(runif(n, 1, 9), 4)),
  data.frame(case = "stratified", stratum = as.integer(apistrat$stype), psu = seq_len(nrow(apistrat)), w = apistrat$pw,
    y = apistrat$api00, x = apistrat$api99),
  data.frame(case = "clusters", stratum = 1, psu = as.integer(factor(apiclus1$dnum)), w = apiclus1$pw, y = apiclus1$api00,
    x = apiclus1$api99)
)
write.csv(cases, "input.csv", row.names = FALSE, quote = FALSE)
one <- function(case) svydesign(ids = ~psu, strata = ~stratum, weights = ~w, data = cases[cases$case == case, ])
step <- function(w, x) { o <- order(x); x[o][which(cumsum(w[o]) >= sum(w) / 2 * (1 - 1e-12))[1]] }
statistics <- list(
  ratio = function(w, d) sum(w * d$y) / sum(w * d$x),
  mean = function(w, d) sum(w * d$y) / sum(w),
  median = function(w, d) step(w, d$y)
)
bootstrap <- as.svrepdesign(one("people"), type = "subbootstrap", replicates = 80, mse = TRUE)
factors <- as.matrix(bootstrap$repweights)[match(1:12, cases$psu[cases$case == "people"]), ]
write.csv(data.frame(psu = 1:12, round(factors, 12)), "factors.csv", row.names = FALSE, quote = FALSE)
designs <- list(
  list("ambulances", "jackknife", 0, as.svrepdesign(one("ambulances"), type = "JKn", mse = TRUE)),
  list("ambulances", "balanced", 0, as.svrepdesign(one("ambulances"), type = "BRR", mse = TRUE)),
  list("ambulances", "balanced", 0.3, as.svrepdesign(one("ambulances"), type = "Fay", fay.rho = 0.3, mse = TRUE)),
  list("people", "jackknife", 0, as.svrepdesign(one("people"), type = "JKn", mse = TRUE)),
  list("people", "supplied", 0, bootstrap),
  list("stratified", "jackknife", 0, as.svrepdesign(one("stratified"), type = "JKn", mse = TRUE)),
  list("clusters", "jackknife", 0, as.svrepdesign(one("clusters"), type = "JKn", mse = TRUE))
)
out <- NULL
for (d in designs) for (statistic in names(statistics)) {
  if (statistic == "median" && d[[2]] != "supplied") next
  r <- withReplicates(d[[4]], statistics[[statistic]])
  out <- rbind(out, data.frame(case = d[[1]], kind = d[[2]], fay = d[[3]], statistic, scale = sprintf("%.15g", d[[4]]$scale),
    value = sprintf("%.15g", coef(r)), se = sprintf("%.15g", as.numeric(SE(r)))))
}
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey"), " (ambulances: its data set scd; stratified, clusters: api)"),
  "# call: withReplicates(as.svrepdesign(svydesign(ids = ~psu, strata = ~stratum, weights = ~w), type, mse = TRUE), statistic)",
  "# tolerance: 1e-10 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
