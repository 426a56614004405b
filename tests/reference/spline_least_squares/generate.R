# Invented ages and indices with survey-like weights; fitted values of weighted regressions on natural splines.
library(splines)
set.seed(20240601)
n <- 300
age <- sample(18:85, n, replace = TRUE)
index <- round(exp(0.4 + 0.01 * age - 0.0001 * (age - 50)^2 + 0.5 * rnorm(n)), 2)
weight <- round(exp(rnorm(n, 9, 0.8)), 3)
weight[sample(n, 10)] <- 0
write.csv(data.frame(age, index, weight), "input.csv", row.names = FALSE)

grid <- c(10, 18, 25.5, 33, 47.2, 60, 71.9, 80, 95)
boundary <- c(20, 79)
fitted <- function(interior) {
  basis <- function(x) ns(x, knots = interior, Boundary.knots = boundary)
  coefficients <- lm.wfit(cbind(1, basis(age)), log(index), weight)$coefficients
  as.vector(cbind(1, basis(grid)) %*% coefficients)
}
out <- rbind(
  data.frame(knots = "20 79", x = grid, fitted = fitted(NULL)),
  data.frame(knots = "20 45 79", x = grid, fitted = fitted(45)),
  data.frame(knots = "20 30 45 55.5 70 79", x = grid, fitted = fitted(c(30, 45, 55.5, 70)))
)
out$fitted <- format(out$fitted, digits = 15)
con <- file("expected.csv", "w")
writeLines(c(
  sprintf("# tool: R %s, splines", getRversion()),
  "# call: lm.wfit(cbind(1, ns(age, knots = interior, Boundary.knots = c(20, 79))), log(index), weight), evaluated at x",
  "# tolerance: 1e-10"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
