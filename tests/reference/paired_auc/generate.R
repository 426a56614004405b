# Difference of two weighted AUCs on the same people by jackknife replicates.
suppressMessages(library(survey))
set.seed(20240617)
n <- 240
d <- data.frame(stratum = rep(1:10, length.out = n))
d$psu <- 1 + (seq_len(n) %/% 10) %% 2
d$weight <- round(rgamma(n, 2, 1/500) + 50, 1)
d$outcome <- rbinom(n, 1, 0.35)
d$first <- round(rnorm(n, d$outcome, 1), 1)
d$second <- round(0.5 * d$first + rnorm(n, 0.2 * d$outcome, 0.8), 1)
write.csv(d, "input.csv", row.names = FALSE)
auc <- function(x, y, w) {
  pairs <- outer(x[y == 1], x[y == 0], function(a, b) (a > b) + 0.5 * (a == b))
  drop(w[y == 1] %*% pairs %*% w[y == 0]) / (sum(w[y == 1]) * sum(w[y == 0]))
}
design <- svydesign(ids = ~psu, strata = ~stratum, weights = ~weight, data = d, nest = TRUE)
jk <- as.svrepdesign(design, type = "JKn", mse = TRUE)
got <- withReplicates(jk, function(w, data) auc(data$first, data$outcome, w) - auc(data$second, data$outcome, w))
difference <- as.numeric(coef(got)); se <- sqrt(as.numeric(vcov(got))); df <- degf(design)
row <- c(df, difference, se, difference - qt(0.975, df) * se, difference + qt(0.975, df) * se,
         2 * pt(-abs(difference / se), df))
writeLines(c(paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey")),
  "# call: withReplicates(as.svrepdesign(type = 'JKn', mse = TRUE), AUC difference), qt, pt",
  "# tolerance: 1e-9", "df,difference,standard_error,lower,upper,p_value",
  paste(format(row, digits = 15, trim = TRUE), collapse = ",")), "expected.csv")
