# Invented ages and indices with survey-like weights; weighted quantile regressions on natural splines of age.
suppressMessages({library(splines); library(quantreg)})
set.seed(20240602)
n <- 900
age <- sample(18:85, n, replace = TRUE)
index <- round(exp(0.4 + 0.01 * age - 0.0002 * (age - 50)^2 + (0.3 + 0.004 * age) * rnorm(n)), 2)
weight <- round(exp(rnorm(n, 9, 0.8)), 3)
weight[sample(n, 20)] <- 0
unit <- sample(0:29, n, replace = TRUE)
write.csv(data.frame(age, index, weight, unit), "input.csv", row.names = FALSE)

grid <- c(15, 18, 25, 40, 55, 70, 85, 90)
fitted <- function(interior, tau, w) {
  basis <- function(x) ns(x, knots = interior, Boundary.knots = c(18, 85))
  used <- w > 0
  fit <- rq.wfit(cbind(1, basis(age))[used, ], log(index)[used], tau, w[used], method = "br")
  as.vector(cbind(1, basis(grid)) %*% fit$coefficients)
}
case <- function(name, interior, tau, w) {
  data.frame(weights = name, knots = paste(c(18, interior, 85), collapse = " "), p = tau, x = grid,
             fitted = format(fitted(interior, tau, w), digits = 15))
}
interior <- c(30, 45, 60, 72)
# Replicate weights: units 0, 1 and 2 left out, units 3 and 4 doubled.
replicate <- weight * ifelse(unit < 3, 0, ifelse(unit < 5, 2, 1))
out <- do.call(rbind, c(
  lapply(c(0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975), function(tau) case("full", interior, tau, weight)),
  lapply(c(0.05, 0.5, 0.95), function(tau) case("full", 50, tau, weight)),
  lapply(c(0.025, 0.1, 0.5, 0.9, 0.975), function(tau) case("replicate", interior, tau, replicate))
))
con <- file("expected.csv", "w")
writeLines(c(
  sprintf("# tool: R %s, quantreg %s", getRversion(), packageVersion("quantreg")),
  "# call: rq.wfit(cbind(1, ns(age, knots = interior, Boundary.knots = c(18, 85))), log(index), p, w, method = 'br'), at x",
  "# tolerance: 1e-10"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
