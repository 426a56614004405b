# Woodruff's interval on a stratified clustered sample and two domains of it, and on R's schools. Run in this folder: Rscript generate.R
suppressMessages(library(survey))
set.seed(2)
units <- expand.grid(psu = 1:3, stratum = 1:6)
people <- units[rep(seq_len(nrow(units)), times = sample(8:14, nrow(units), replace = TRUE)), ]
n <- nrow(people)
effect <- rnorm(nrow(units), 0, 0.25)[match(paste(people$stratum, people$psu), paste(units$stratum, units$psu))]
people$x <- round(exp(0.6 + effect + rnorm(n, 0, 0.5)), 6)
people$tied <- round(people$x, 1)
people$w <- round(runif(n, 500, 9000), 1)
# Domain b is missing from every third PSU and from all of stratum 6.
people$domain <- ifelse(people$psu == 3 | people$stratum == 6, "a", sample(c("a", "b"), n, replace = TRUE))
data(api)
schools <- function(case, d, stratum, psu) data.frame(case, psu, stratum, x = d$api00, tied = d$api00, w = d$pw, domain = "a")
id <- function(x) as.integer(factor(x))
people <- rbind(
  cbind(case = "invented", people),
  schools("stratified", apistrat, id(apistrat$stype), seq_len(nrow(apistrat))),
  schools("clusters", apiclus1, 1, id(apiclus1$dnum))
)
write.csv(people, "input.csv", row.names = FALSE, quote = FALSE)
out <- NULL
for (case in unique(people$case)) for (part in if (case == "invented") c("all", "a", "b") else "all") {
  design <- svydesign(ids = ~psu, strata = ~stratum, weights = ~w, nest = TRUE, data = people[people$case == case, ])
  d <- if (part == "all") design else subset(design, domain == part)
  for (scale in c("xlogit", "mean")) for (p in c(0.25, 0.5, 0.75, 0.9)) for (rule in c("math", "hf6", "hf7")) {
    # The schools of the strata have ties of unequal weight, on which R's interpolating rules depend on the order of rows.
    if (case == "stratified" && rule != "math") next
    for (column in if (rule == "math" && case == "invented") c("x", "tied") else "x") {
      q <- svyquantile(as.formula(paste0("~", column)), d, p, interval.type = scale, qrule = rule, df = degf(d))[[1]]
      out <- rbind(out, data.frame(case, domain = part, column, scale, rule, p,
        q = sprintf("%.15g", q[1]), lower = sprintf("%.15g", q[2]), upper = sprintf("%.15g", q[3]),
        se = sprintf("%.15g", q[4]), df = degf(d)))
    }
  }
}
out[out == "NaN"] <- "" # an end outside [0, 1] on the linear scale
con <- file("expected.csv", "w")
writeLines(c(
  paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey"), " (stratified, clusters: its data sets apistrat, apiclus1)"),
  "# call: svyquantile(~x, subset(svydesign(ids = ~psu, strata = ~stratum, weights = ~w, nest = TRUE), domain), p, interval.type = scale, qrule = rule, df = degf(domain))",
  "# tolerance: 1e-9 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
