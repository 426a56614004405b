# Cutoffs by three rules; pROC's threshold is the midpoint between observed values. Run in this folder: Rscript generate.R
suppressMessages(library(pROC))
data(aSAH)
people <- data.frame(outcome = as.integer(aSAH$outcome == "Poor"), s100b = aSAH$s100b, ndka = aSAH$ndka,
  wfns = as.numeric(as.character(aSAH$wfns)))
write.csv(people, "input.csv", row.names = FALSE, quote = FALSE)
out <- NULL
put <- function(marker, rule, at) out <<- rbind(out, data.frame(marker, rule, threshold = sprintf("%.15g", at$threshold),
  sensitivity = sprintf("%.15g", at$sensitivity), specificity = sprintf("%.15g", at$specificity)))
for (marker in c("s100b", "ndka", "wfns")) {
  r <- roc(people$outcome, people[[marker]], direction = "<", levels = c(0, 1), quiet = TRUE)
  ret <- c("threshold", "sensitivity", "specificity")
  put(marker, "youden", coords(r, "best", best.method = "youden", ret = ret))
  put(marker, "closest_to_corner", coords(r, "best", best.method = "closest.topleft", ret = ret))
  all <- coords(r, "all", ret = ret)
  put(marker, "largest_product", all[which.max(all$sensitivity * all$specificity), ])
  put(marker, "smallest_difference", all[which.min(abs(all$sensitivity - all$specificity)), ])
  enough <- all[all$sensitivity >= 0.8, ]
  put(marker, "sensitivity_at_least", enough[which.max(enough$specificity), ])
  enough <- all[all$specificity >= 0.8, ]
  put(marker, "specificity_at_least", enough[which.max(enough$sensitivity), ])
}
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", pROC ", packageVersion("pROC"), " (its data set aSAH)"),
  "# call: coords(r, 'best', best.method = 'youden' or 'closest.topleft'); the other rules by which.max over coords(r, 'all'), demands at 0.8",
  "# tolerance: 1e-12 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
