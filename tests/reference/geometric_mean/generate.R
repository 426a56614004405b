# Geometric means with delta-method errors. Run in this folder: Rscript generate.R
suppressMessages(library(survey))
data(api)
set.seed(3)
id <- function(x) as.integer(factor(x))
n <- 120
cases <- rbind(
  data.frame(case = "mini", stratum = rep(1:2, each = 4), psu = rep(1:4, each = 2), w = c(3, 1, 2, 4, 2, 5, 1, 2),
    x = c(1.2, 2.5, 2.5, 3.1, 4.8, 6, 7.7, 9.9)),
  data.frame(case = "schools", stratum = id(apistrat$stype), psu = seq_len(nrow(apistrat)), w = apistrat$pw, x = apistrat$enroll),
  data.frame(case = "skewed", stratum = rep(1:5, each = n / 5), psu = rep(1:20, each = n / 20), w = round(runif(n, 1, 90), 2),
    x = round(exp(rnorm(n, 1, 1.2)), 6))
)
cases <- cases[!is.na(cases$x), ]
write.csv(cases, "input.csv", row.names = FALSE, quote = FALSE)
out <- NULL
for (case in unique(cases$case)) {
  d <- cases[cases$case == case, ]
  d$log <- log(d$x)
  design <- svydesign(ids = ~psu, strata = ~stratum, weights = ~w, data = d)
  m <- svymean(~log, design)
  g <- svycontrast(m, quote(exp(log)))
  ends <- exp(confint(m, df = degf(design)))
  out <- rbind(out, data.frame(case, value = sprintf("%.15g", coef(g)), se = sprintf("%.15g", as.numeric(SE(g))),
    df = degf(design), lower = sprintf("%.15g", ends[1]), upper = sprintf("%.15g", ends[2])))
}
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey"), " (schools: its data set api)"),
  "# call: m = svymean(~log(x), design); svycontrast(m, quote(exp(log))); exp(confint(m, df = degf(design)))",
  "# tolerance: 1e-10 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
