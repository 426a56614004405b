# AUCs with DeLong's variances on two published data sets. Run in this folder: Rscript generate.R
suppressMessages(library(pROC))
data(aSAH)
# The ovarian cancer data of DeLong, DeLong and Clarke-Pearson 1988: albumin, total protein, score, outcome.
ovarian <- matrix(c(3.0,5.8,10,0, 3.2,6.3,5,1, 3.9,6.8,3,1, 2.8,4.8,6,0, 3.2,5.8,3,1, 0.9,4.0,5,0, 2.5,5.7,8,0, 1.6,5.6,5,1,
  3.8,5.7,5,1, 3.7,6.7,6,1, 3.2,5.4,4,1, 3.8,6.6,6,1, 4.1,6.6,5,1, 3.6,5.7,5,1, 4.3,7.0,4,1, 3.6,6.7,4,0, 2.3,4.4,6,1, 4.2,7.6,4,0,
  4.0,6.6,6,0, 3.5,5.8,6,1, 3.8,6.8,7,1, 3.0,4.7,8,0, 4.5,7.4,5,1, 3.7,7.4,5,1, 3.1,6.6,6,1, 4.1,8.2,6,1, 4.3,7.0,5,1, 4.3,6.5,4,1,
  3.2,5.1,5,1, 2.6,4.7,6,1, 3.3,6.8,6,0, 1.7,4.0,7,0, 3.7,6.1,5,1, 3.3,6.3,7,1, 4.2,7.7,6,1, 3.5,6.2,5,1, 2.9,5.7,9,0, 2.1,4.8,7,1,
  2.8,6.2,8,0, 4.0,7.0,7,1, 3.3,5.7,6,1, 3.7,6.9,5,1, 3.6,6.6,5,1), ncol = 4, byrow = TRUE)
cases <- rbind(
  data.frame(case = "asah", outcome = as.integer(aSAH$outcome == "Poor"), a = as.numeric(as.character(aSAH$wfns)), b = aSAH$s100b, c = aSAH$ndka),
  data.frame(case = "ovarian", outcome = ovarian[, 4], a = ovarian[, 1], b = ovarian[, 2], c = 10 - ovarian[, 3])
)
write.csv(cases, "input.csv", row.names = FALSE, quote = FALSE)
out <- NULL
put <- function(case, quantity, a, b, value) out <<- rbind(out, data.frame(case, quantity, a, b, value = sprintf("%.15g", value)))
for (case in unique(cases$case)) {
  d <- cases[cases$case == case, ]
  rocs <- lapply(c("a", "b", "c"), function(m) roc(d$outcome, d[[m]], direction = "<", levels = c(0, 1), quiet = TRUE))
  for (i in 1:3) {
    put(case, "auc", i, i, as.numeric(auc(rocs[[i]])))
    put(case, "covariance", i, i, var(rocs[[i]], method = "delong"))
    for (j in seq_len(i - 1)) {
      put(case, "covariance", i, j, cov(rocs[[i]], rocs[[j]], method = "delong"))
      test <- roc.test(rocs[[j]], rocs[[i]], method = "delong", paired = TRUE)
      put(case, "z", j, i, as.numeric(test$statistic))
      put(case, "p_value", j, i, test$p.value)
    }
  }
}
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", pROC ", packageVersion("pROC"), " (asah: its data set aSAH; ovarian: data printed in DeLong and others 1988)"),
  "# call: auc(r), var(r, method = 'delong'), cov(r1, r2, method = 'delong'), roc.test(r1, r2, method = 'delong', paired = TRUE)",
  "# tolerance: 1e-9 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
