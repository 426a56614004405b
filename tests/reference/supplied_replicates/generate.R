# Replicate weights that come with the data: means, ratios, shares and quantiles with the variance of the replicates.
# Run in this folder: Rscript generate.R
suppressMessages(library(survey))
options(survey.replicates.mse = TRUE)
data(scd)
data(api)
set.seed(8)

# Half-samples as the textbook prints them, full and with Fay's factor 0.3.
half <- cbind(c(1, 0, 1, 0, 1, 0), c(1, 0, 0, 1, 0, 1), c(0, 1, 1, 0, 0, 1), c(0, 1, 0, 1, 1, 0))
ambulances <- data.frame(y = scd$alive, x = scd$arrests, w = 1, event = 0 + (scd$alive > 40), domain = c(1, 1, 1, 1, 1, 0))

# Schools: each of 15 districts left out once; the weights are those of the districts, rounded by nobody.
clusters <- data.frame(y = apiclus1$api00, x = apiclus1$api99, w = apiclus1$pw, event = 0 + (apiclus1$comp.imp == "Yes"),
  domain = 0 + (apiclus1$sch.wide == "Yes"))
by_district <- svydesign(ids = ~dnum, weights = ~pw, data = apiclus1)
jk1 <- as.svrepdesign(by_district, type = "JK1")
# The same schools, bootstrap, each replicate adjusted to the schools' number and last year's total: no two schools
# share their factors.
boot <- calibrate(as.svrepdesign(by_district, type = "subbootstrap", replicates = 40), ~api99,
  c(`(Intercept)` = 6194, api99 = 3914069), calfun = "raking")
adjusted <- transform(clusters, w = weights(boot, "sampling"))

# Strata of two, three, three and four units, each unit left out once.
n <- 96
people <- data.frame(stratum = rep(1:4, each = n / 4), w = round(runif(n, 1, 50), 2),
  psu = c(rep(1:2, each = 12), rep(3:5, each = 8), rep(6:8, each = 8), rep(9:12, each = 6)),
  y = round(exp(rnorm(n)), 4), x = round(runif(n, 1, 9), 4), event = rbinom(n, 1, 0.3))
people$domain <- 0 + !(people$psu %in% c(5, 6, 7, 8))
jkn <- as.svrepdesign(svydesign(ids = ~psu, strata = ~stratum, weights = ~w, data = people), type = "JKn")

# fay and scales are what the data file itself cannot say.
cases <- list(
  list("brr", ambulances, 2 * half, "brr", NA, NULL),
  list("fay", ambulances, 0.3 + 1.4 * half, "fay", 0.3, NULL),
  list("jk1", clusters, weights(jk1, "analysis"), "jk1", NA, NULL),
  list("adjusted_bootstrap", adjusted, weights(boot, "analysis"), "bootstrap", NA, NULL),
  list("jkn", people[names(clusters)], weights(jkn, "analysis"), "jkn", NA, jkn$rscales)
)
most <- max(sapply(cases, function(case) ncol(case[[3]])))
rows <- function(case) {
  replicates <- matrix(NA, nrow(case[[2]]), most)
  replicates[, seq_len(ncol(case[[3]]))] <- case[[3]]
  colnames(replicates) <- paste0("rw_", seq_len(most))
  cbind(data.frame(case = case[[1]], case[[2]]), replicates)
}
input <- do.call(rbind, lapply(cases, rows))
input[-1] <- lapply(input[-1], function(column) ifelse(is.na(column), "", sprintf("%.12g", column)))
write.csv(input, "input.csv", row.names = FALSE, quote = FALSE)
input <- read.csv("input.csv")

# Area under the weighted curve of y against the event: share of pairs in the right order, ties one half.
area <- function(w, d) {
  pairs <- outer(w[d$event == 1], w[d$event == 0])
  order <- outer(d$y[d$event == 1], d$y[d$event == 0], function(a, b) (a > b) + (a == b) / 2)
  sum(pairs * order) / sum(pairs)
}
type <- c(brr = "BRR", fay = "Fay", jk1 = "JK1", bootstrap = "bootstrap", jkn = "JKn")
digits <- function(number) ifelse(is.na(number), "", sprintf("%.15g", number))
out <- NULL
for (case in cases) {
  frame <- input[input$case == case[[1]], ]
  count <- ncol(case[[3]])
  replicates <- as.matrix(frame[paste0("rw_", seq_len(count))])
  # A bootstrap's mean squared distance: R's own default divides by one fewer.
  scale <- if (case[[4]] == "bootstrap") 1 / count else if (case[[4]] == "jkn") 1 else if (case[[4]] == "jk1") (count - 1) / count
  rho <- if (is.na(case[[5]])) NULL else case[[5]]
  whole <- svrepdesign(data = frame, weights = ~w, repweights = replicates, type = type[[case[[4]]]], scale = scale,
    rscales = case[[6]], rho = rho)
  scales <- paste(digits(if (is.null(case[[6]])) NA else case[[6]]), collapse = " ")
  add <- function(domain, statistic, p, value, se, interval, df) out <<- rbind(out, data.frame(case = case[[1]],
    type = case[[4]], fay = digits(case[[5]]), scales = scales, replicates = count, domain = domain, statistic = statistic,
    p = digits(p), value = digits(value), se = digits(se), lower = digits(interval[1]), upper = digits(interval[2]), df = digits(df)))
  for (domain in c("all", "domain")) {
    design <- if (domain == "all") whole else subset(whole, domain == 1)
    df <- degf(design)
    mean <- svymean(~y, design)
    add(domain, "mean", NA, coef(mean), SE(mean), confint(mean, df = df), df)
    ratio <- svyratio(~y, ~x, design)
    add(domain, "ratio", NA, coef(ratio), SE(ratio), confint(ratio, df = df), df)
    share <- svyciprop(~event, design, method = "beta")
    add(domain, "share", NA, coef(share), SE(share), confint(share), df)
    if (nrow(frame) < 10) next
    log_mean <- svymean(~log(y), design)
    add(domain, "geometric_mean", NA, exp(coef(log_mean)), exp(coef(log_mean)) * SE(log_mean), exp(confint(log_mean, df = df)), df)
    auc <- withReplicates(design, area)
    add(domain, "auc", NA, coef(auc), SE(auc), c(NA, NA), df)
    x <- design$variables$y
    for (p in c(0.25, 0.5, 0.9)) {
      linear <- svyquantile(~y, design, p, qrule = "math", interval.type = "mean")$y
      add(domain, "quantile", p, linear[1], linear[4], linear[2:3], df)
      # svyquantile 4.1.1 does not hand its interval.type on for replicate designs; the function that it calls takes it.
      logit <- survey:::woodruffCI(x, linear[1], p, design, survey:::qrule_math, 0.05, df, method = "xlogit")
      add(domain, "quantile_logit", p, linear[1], diff(logit) / (2 * qt(0.975, df)), logit, df)
    }
  }
}
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey"), " (ambulances: its data set scd; schools: apiclus1)"),
  "# call: withReplicates, svymean, svyratio, svyciprop(method = 'beta'), svyquantile(qrule = 'math') on svrepdesign(mse = TRUE), and on subset()",
  "# tolerance: 1e-9 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
