# Weighted percentiles with intervals, and weighted AUCs with jackknife standard errors, of HOMA-IR in
# adults of the 2017-March 2020 pre-pandemic release, by R survey alone.
#
# Usage: Rscript generate.R FOLDER > expected.csv
# FOLDER holds the official files of the release (P_DEMO.XPT and so on). The files are not part of the
# project; only the numbers are.
suppressPackageStartupMessages({library(foreign); library(survey)})
folder <- commandArgs(trailingOnly = TRUE)[1]
official <- function(stem) {
  xpt <- file.path(folder, paste0(stem, ".XPT"))
  if (file.exists(xpt)) read.xport(xpt) else read.csv(file.path(folder, paste0(stem, ".csv")))
}
pick <- function(stem, columns) official(stem)[, c("SEQN", columns)]
d <- pick("P_DEMO", c("RIAGENDR", "RIDAGEYR", "RIDRETH1", "RIDEXPRG", "SDMVSTRA", "SDMVPSU"))
for (part in list(pick("P_GLU", c("WTSAFPRP", "LBXGLU")), pick("P_INS", "LBXIN"), pick("P_BMX", "BMXBMI"),
                  pick("P_GHB", "LBXGH"), pick("P_DIQ", "DIQ010"))) {
  d <- merge(d, part, by = "SEQN", all.x = TRUE)
}
# IBM zero decodes to a tiny positive number in some readers: anything below 1 is no weight.
d <- d[!is.na(d$WTSAFPRP) & d$WTSAFPRP > 1, ]
is <- function(condition) !is.na(condition) & condition
d$keep <- is(d$RIDAGEYR >= 20) & !is(d$RIDEXPRG == 1) & !is(d$DIQ010 == 1) & !is(d$LBXGLU >= 126)
# The value key of the program: rounded to 1e-9.
d$homa <- round(d$LBXGLU * d$LBXIN / 405, 9)
d$raised <- d$LBXGH >= 5.7
design <- svydesign(ids = ~SDMVPSU, strata = ~SDMVSTRA, weights = ~WTSAFPRP, data = d, nest = TRUE)
jackknife <- as.svrepdesign(design, type = "JKn", mse = TRUE)

groups <- list(
  "everybody|everybody" = rep(TRUE, nrow(d)),
  "sex|male" = d$RIAGENDR == 1, "sex|female" = d$RIAGENDR == 2,
  "age_20_40_60|20-39" = d$RIDAGEYR < 40,
  "age_20_40_60|40-59" = d$RIDAGEYR >= 40 & d$RIDAGEYR < 60,
  "age_20_40_60|60 and over" = d$RIDAGEYR >= 60,
  "obesity|under 25" = d$BMXBMI < 25, "obesity|25 to 29.9" = d$BMXBMI >= 25 & d$BMXBMI < 30,
  "obesity|30 or more" = d$BMXBMI >= 30,
  "ancestry|Mexican American" = d$RIDRETH1 == 1, "ancestry|Other Hispanic" = d$RIDRETH1 == 2,
  "ancestry|Non-Hispanic White" = d$RIDRETH1 == 3, "ancestry|Non-Hispanic Black" = d$RIDRETH1 == 4,
  "ancestry|Other or multiracial" = d$RIDRETH1 == 5)

auc <- function(w, x, y) {
  o <- order(x); x <- x[o]; y <- y[o]; w <- w[o]
  without <- tapply(w * !y, match(x, unique(x)), sum); with <- tapply(w * y, match(x, unique(x)), sum)
  below <- cumsum(c(0, without))[seq_along(without)]
  sum(with * (below + without / 2)) / (sum(with) * sum(without))
}
line <- function(group, statistic, n, df, value, lower, upper, se) {
  parts <- strsplit(group, "|", fixed = TRUE)[[1]]
  cat(parts[1], parts[2], statistic, n, df, sprintf("%.12g", value), sprintf("%.12g", lower),
      sprintf("%.12g", upper), sprintf("%.12g", se), sep = ",")
  cat("\n")
}
cat("# tool:", R.version.string, "survey", as.character(packageVersion("survey")), "\n")
cat("# call: svyquantile(~homa, subset(design, group), p, qrule = 'math', interval.type = 'xlogit'); withReplicates(as.svrepdesign(type = 'JKn', mse = TRUE), auc)\n")
cat("# tolerance: exact in n and df; 1e-9 in values and ends; 1e-8 in standard errors\n")
cat("grouping,group,statistic,n,df,value,lower,upper,standard_error\n")
for (name in names(groups)) {
  inside <- is(groups[[name]]) & d$keep & !is.na(d$homa)
  domain <- design[inside, ]
  for (p in c(0.5, 0.75, 0.9)) {
    q <- svyquantile(~homa, domain, p, qrule = "math", interval.type = "xlogit")
    line(name, paste0("percentile_", 100 * p), sum(inside), degf(domain), q$homa[1, 1], q$homa[1, 2], q$homa[1, 3], q$homa[1, 4])
  }
  known <- inside & !is.na(d$raised)
  a <- withReplicates(jackknife, function(w, data) auc(w[known], data$homa[known], data$raised[known]))
  counts <- c(sum(d$raised[known]), sum(!d$raised[known]))
  df <- min(degf(design[known & is(d$raised), ]), degf(design[known & is(!d$raised), ]))
  line(name, "auc_a1c_5_7", sum(known), df, as.numeric(a), NA, NA, sqrt(as.numeric(attr(a, "var"))))
}
