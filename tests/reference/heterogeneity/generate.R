# Wald test, between-group SD and its Q-profile interval for log means of four groups on jackknife replicates.
suppressMessages(library(survey))
set.seed(20240616)
n <- 480
d <- data.frame(stratum = rep(1:14, length.out = n), group = rep(1:4, each = 120))
d$psu <- 1 + (seq_len(n) %/% 14) %% 2
d$weight <- round(rgamma(n, 2, 1/500) + 50, 1)
d$value <- round(exp(rnorm(n, 0.6 + c(0, 0.05, 0.12, 0.3)[d$group], 0.5)), 3)
write.csv(d, "input.csv", row.names = FALSE)

design <- svydesign(ids = ~psu, strata = ~stratum, weights = ~weight, data = d, nest = TRUE)
jk <- as.svrepdesign(design, type = "JKn", mse = TRUE)
log_means <- withReplicates(jk, function(w, data)
  log(tapply(w * data$value, data$group, sum) / tapply(w, data$group, sum)))
theta <- as.numeric(coef(log_means))
V <- matrix(vcov(log_means), 4)
df <- degf(design)
K <- 4
L <- cbind(-1, diag(K - 1))
wald <- function(V) drop(t(L %*% theta) %*% solve(L %*% V %*% t(L)) %*% (L %*% theta))
p_at <- function(W) pf(W * (df - K + 2) / (df * (K - 1)), K - 1, df - K + 2, lower.tail = FALSE)
W <- wald(V)
tau2 <- (sum((theta - mean(theta))^2) - (sum(diag(V)) - sum(V) / K)) / (K - 1)
end <- function(tail) {
  f <- function(tau) p_at(wald(V + tau^2 * diag(K))) - tail
  if (f(0) >= 0) 0 else uniroot(f, c(0, 50), tol = 1e-13)$root
}
row <- c(df, W, W * (df - K + 2) / (df * (K - 1)), p_at(W), sqrt(max(0, tau2)), end(0.025), end(0.975))
stopifnot(end(0.025) > 0)
writeLines(c(paste0("# tool: R ", getRversion(), ", survey ", packageVersion("survey")),
  "# call: withReplicates(as.svrepdesign(type = 'JKn', mse = TRUE)), matrix algebra, pf, uniroot",
  "# tolerance: 1e-9", "frame_df,statistic,f,p_value,tau,lower,upper",
  paste(format(row, digits = 15, trim = TRUE), collapse = ",")), "expected.csv")
