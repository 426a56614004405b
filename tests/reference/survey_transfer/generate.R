# A cutoff derived in one release, judged in another: HOMA-IR and insulin against metabolic syndrome without its glucose
# item, adults of 2013-2014 and of 2017-March 2020, everybody and group by group, by R survey alone.
#
# Usage: Rscript generate.R FOLDER > expected.csv
# FOLDER holds the official files in folders 2013-2014 and 2017-2020. The files are not part of the project; only the
# numbers are.
suppressPackageStartupMessages({library(foreign); library(survey)})
folder <- commandArgs(trailingOnly = TRUE)[1]
official <- function(release, stem) {
  xpt <- file.path(folder, release, paste0(stem, ".XPT"))
  if (file.exists(xpt)) read.xport(xpt) else read.csv(file.path(folder, release, paste0(stem, ".csv")))
}
is <- function(condition) !is.na(condition) & condition

# Mean of the readings; those at the arm without the first where there are several, diastolic zeros left out.
reading <- function(readings, drop_first, ignore_zero) apply(readings, 1, function(x) {
  x <- x[!is.na(x)]
  kept <- function(x) if (ignore_zero) x[x != 0] else x
  later <- kept(if (drop_first && length(x) > 1) x[-1] else x)
  if (length(later) == 0) later <- kept(x)
  if (length(later) == 0) NA else mean(later)
})

people <- function(release, stem, weight, pressure) {
  pick <- function(name, columns) official(release, stem(name))[, c("SEQN", columns)]
  d <- pick("DEMO", c("RIAGENDR", "RIDAGEYR", "RIDEXPRG", "SDMVSTRA", "SDMVPSU"))
  parts <- list(pick("GLU", c(weight, "LBXGLU")), pick("INS", "LBXIN"), pick("TRIGLY", "LBXTR"), pick("HDL", "LBDHDD"),
    pick("BMX", c("BMXBMI", "BMXWAIST")), pick("DIQ", c("DIQ010", "DIQ050", "DIQ070")),
    pick("BPQ", c("BPQ020", "BPQ040A", "BPQ050A", "BPQ060", "BPQ080", "BPQ090D", "BPQ100D")),
    pick(pressure$file, c(pressure$systolic, pressure$diastolic)))
  for (part in parts) d <- merge(d, part, by = "SEQN", all.x = TRUE)
  # IBM zero decodes to a tiny positive number in some readers: anything below 1 is no weight.
  d <- d[is(d[[weight]] > 1), ]
  d$w <- d[[weight]]
  answer <- function(x) ifelse(x %in% 1, TRUE, ifelse(x %in% 2, FALSE, NA))
  told <- ifelse(d$DIQ010 %in% 1, TRUE, ifelse(d$DIQ010 %in% 2:3, FALSE, NA))
  treated <- is(answer(d$DIQ050)) | is(answer(d$DIQ070))
  d$keep <- is(d$RIDAGEYR >= 20) & !is(d$RIAGENDR == 2 & d$RIDEXPRG == 1) & !is(told) & !treated & !is(d$LBXGLU >= 126)
  # The value key of the program: rounded to 1e-9.
  d$homa_ir <- round(d$LBXGLU * d$LBXIN / 405, 9)
  d$insulin <- round(d$LBXIN, 9)
  not_asked <- function(x, ...) ifelse(is.na(x) & is(Reduce(`|`, list(...))), FALSE, answer(x))
  pressure_drug <- not_asked(d$BPQ050A, is(d$BPQ020 == 2), is(d$BPQ040A == 2))
  lipid_drug <- not_asked(d$BPQ100D, is(d$BPQ090D == 2), is(d$BPQ080 == 2) & is.na(d$BPQ090D),
    is(d$BPQ060 == 2) & is.na(d$BPQ090D))
  systolic <- reading(d[pressure$systolic], pressure$arm, FALSE)
  diastolic <- reading(d[pressure$diastolic], pressure$arm, pressure$arm)
  items <- cbind(
    d$BMXWAIST >= ifelse(d$RIAGENDR == 1, 102, 88),
    d$LBXTR >= 150 | lipid_drug,
    d$LBDHDD < ifelse(d$RIAGENDR == 1, 40, 50) | lipid_drug,
    systolic >= 130 | diastolic >= 85 | pressure_drug)
  yes <- rowSums(items, na.rm = TRUE)
  unknown <- rowSums(is.na(items))
  d$event <- ifelse(yes >= 3, TRUE, ifelse(yes + unknown < 3, FALSE, NA))
  d
}
groups <- function(d) list(
  "everybody|everybody" = rep(TRUE, nrow(d)),
  "sex|female" = d$RIAGENDR == 2, "sex|male" = d$RIAGENDR == 1,
  "age_20_40_60|20-39" = d$RIDAGEYR < 40, "age_20_40_60|40-59" = d$RIDAGEYR >= 40 & d$RIDAGEYR < 60,
  "age_20_40_60|60 and over" = d$RIDAGEYR >= 60,
  "obesity|BMI under 25" = d$BMXBMI < 25, "obesity|BMI 25-29.9" = d$BMXBMI >= 25 & d$BMXBMI < 30,
  "obesity|BMI 30 and over" = d$BMXBMI >= 30)

# The value with the largest weighted Youden index; of equals the one with the higher sensitivity.
youden <- function(x, y, w) {
  values <- sort(unique(x))
  beyond <- function(class) sapply(values, function(c) sum(w[y == class & x >= c]) / sum(w[y == class]))
  index <- beyond(TRUE) - beyond(FALSE)
  values[which(index >= max(index) - 1e-12)[1]]
}
# Exact binomial interval at the effective number of people (Korn and Graubard 1998), before and after the correction for
# degrees of freedom never above the people counted.
share <- function(design, n, df) {
  mean <- svymean(~hit, design)
  p <- as.numeric(coef(mean))
  effective <- min(n, p * (1 - p) / as.numeric(SE(mean))^2)
  effective <- min(n, effective * (qt(0.975, n - 1) / qt(0.975, df))^2)
  x <- p * effective
  c(p, qbeta(0.025, x, effective - x + 1), qbeta(0.975, x + 1, effective - x))
}

releases <- list(
  "NHANES 2013-2014" = people("2013-2014", function(name) paste0(name, "_H"), "WTSAF2YR",
    list(file = "BPX", systolic = paste0("BPXSY", 1:4), diastolic = paste0("BPXDI", 1:4), arm = TRUE)),
  "NHANES 2017-2020" = people("2017-2020", function(name) paste0("P_", name), "WTSAFPRP",
    list(file = "BPXO", systolic = paste0("BPXOSY", 1:3), diastolic = paste0("BPXODI", 1:3), arm = FALSE)))

cat("# tool:", R.version.string, "survey", as.character(packageVersion("survey")), "\n")
cat("# call: svymean(~hit, subset(svydesign(nest = TRUE), group and outcome)), degf(); qbeta() for the interval\n")
cat("# tolerance: exact in cutoffs, n and df; 1e-9 in shares and ends\n")
cat("survey,judged_in,index,grouping,group,derived_from,cutoff,measure,n,df,value,lower,upper\n")
digits <- function(number) ifelse(is.na(number), "", sprintf("%.12g", number))
for (from in names(releases)) for (to in setdiff(names(releases), from)) for (index in c("homa_ir", "insulin")) {
  a <- releases[[from]]
  b <- releases[[to]]
  judged <- groups(b)
  derived <- lapply(groups(a), function(member) {
    known <- is(member) & a$keep & !is.na(a[[index]]) & !is.na(a$event)
    youden(a[[index]][known], a$event[known], a$w[known])
  })
  for (name in names(judged)) for (whose in unique(c("everybody|everybody", name))) {
    cutoff <- derived[[whose]]
    b$hit <- 0 + (b[[index]] >= cutoff)
    inside <- is(judged[[name]]) & b$keep & !is.na(b[[index]])
    b$low <- b$hit
    found <- list(sensitivity = inside & is(b$event), specificity = inside & is(!b$event), share_beyond = inside)
    own <- strsplit(name, "|", fixed = TRUE)[[1]]
    lead <- c(from, to, index, own, if (whose == "everybody|everybody") "everybody" else "same group", digits(cutoff))
    values <- list()
    for (measure in names(found)) {
      if (measure == "specificity") b$hit <- 1 - b$low else b$hit <- b$low
      design <- svydesign(ids = ~SDMVPSU, strata = ~SDMVSTRA, weights = ~w, data = b, nest = TRUE)
      domain <- design[found[[measure]], ]
      n <- sum(found[[measure]])
      values[[measure]] <- share(domain, n, degf(domain))
      cat(c(lead, measure, n, degf(domain), digits(values[[measure]])), sep = ",")
      cat("\n")
    }
    here <- values$sensitivity[1] + values$specificity[1] - 1
    cat(c(lead, "youden", sum(found$sensitivity) + sum(found$specificity), "", digits(c(here, NA, NA))), sep = ",")
    cat("\n")
  }
}
