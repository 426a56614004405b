# Medians and Youden cutoffs of two domains and of everybody set side by side: difference, ratio, and the t test and
# the ratio's interval on the logarithm, with the variance of replicates that are no bootstrap. People and weights are those of
# ../supplied_replicates/input.csv.
# Run in this folder: Rscript generate.R
suppressMessages(library(survey))
options(survey.replicates.mse = TRUE)
input <- read.csv("../supplied_replicates/input.csv")
frame <- input[input$case == "adjusted_bootstrap", ]
replicates <- as.matrix(frame[paste0("rw_", 1:40)])

median_of <- function(w, d) {
  o <- order(d$y)
  d$y[o][which(cumsum(w[o]) >= 0.5 * sum(w) * (1 - 1e-12))[1]]
}
# The value with the largest Youden index; of equals the one with the higher sensitivity.
youden_of <- function(w, d) {
  values <- sort(unique(d$y[w > 0]))
  beyond <- function(class) sapply(values, function(c) sum(w[d$event == class & d$y >= c]) / sum(w[d$event == class]))
  index <- beyond(1) - beyond(0)
  values[which(index >= max(index) - 1e-12)[1]]
}
of <- list(percentile_50 = median_of, youden = youden_of)
members <- list(everybody = rep(TRUE, nrow(frame)), male = frame$domain == 1, female = frame$domain == 0)
pairs <- list(c("female", "male"), c("female", "everybody"), c("male", "everybody"))

out <- NULL
for (kind in c("fay", "scale")) {
  # The same weights as half-samples by Fay's method with factor 0.5, and as replicates of a stated scale and stated
  # degrees of freedom. The rank of the weights of those without the event depends on how zero is told from rounding, so
  # cutoffs are compared where it is stated.
  design <- if (kind == "fay") svrepdesign(data = frame, weights = ~w, repweights = replicates, type = "Fay", rho = 0.5) else
    svrepdesign(data = frame, weights = ~w, repweights = replicates, type = "other", scale = 0.03, rscales = rep(1, 40))
  df_of <- function(member) if (kind == "scale") 11 else degf(design[member, ])
  for (method in names(of)) for (pair in pairs) {
    # No school outside the domain has the event: no cutoff there.
    if (method == "youden" && (kind == "fay" || "female" %in% pair)) next
    estimate <- withReplicates(design, function(w, d) {
      each <- sapply(pair, function(name) of[[method]](w[members[[name]]], d[members[[name]], ]))
      c(first = each[[1]], second = each[[2]], difference = each[[1]] - each[[2]], ratio = each[[1]] / each[[2]],
        log = log(each[[1]] / each[[2]]))
    })
    df <- min(df_of(members[[pair[1]]]), df_of(members[[pair[2]]]))
    value <- coef(estimate)
    error <- SE(estimate)
    ends <- confint(estimate, df = df)
    out <- rbind(out, data.frame(kind = kind, method = method, group = pair[1], other_group = pair[2], df = df,
      cutoff = value["first"], other_cutoff = value["second"], difference = value["difference"],
      lower = ends["difference", 1], upper = ends["difference", 2], ratio = value["ratio"],
      ratio_lower = exp(ends["log", 1]), ratio_upper = exp(ends["log", 2]), standard_error = error["log"], p = 2 * pt(-abs(value["log"] / error["log"]), df)))
  }
}
out[-(1:4)] <- lapply(out[-(1:4)], function(column) sprintf("%.15g", column))
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey")),
  "# call: withReplicates(svrepdesign(mse = TRUE), function(w, d) differences, ratios and their logarithms), confint(df = the smaller degf())",
  "# tolerance: 1e-9 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
