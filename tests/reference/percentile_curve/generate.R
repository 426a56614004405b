# Invented ages and indices, few people, so that percentile curves cross; replicate factors of an invented design.
suppressMessages({library(splines); library(quantreg)})
set.seed(20240603)
n <- 150
age <- sample(20:79, n, replace = TRUE)
index <- round(exp(0.3 + 0.008 * age + 0.5 * rnorm(n)), 3)
weight <- round(exp(rnorm(n, 9, 0.6)), 3)
unit <- sample(0:11, n, replace = TRUE)
write.csv(data.frame(age, index, weight, unit), "input.csv", row.names = FALSE)

# Six strata of two units: one of each pair counts twice, in each of 25 replicates.
factors <- sapply(1:25, function(r) as.vector(sapply(1:6, function(h) sample(c(0, 2)))))
write.csv(data.frame(unit = rep(0:11, 25), replicate = rep(0:24, each = 12), factor = as.vector(factors)),
          "factors.csv", row.names = FALSE)

grid <- c(20, 28, 40, 55, 70, 79)
p <- seq(0.1, 0.9, by = 0.1)
basis <- function(x) cbind(1, ns(x, knots = c(35, 50, 65), Boundary.knots = c(20, 79)))
crossed <- 0
# Fitted logarithms by probability and place, rearranged: each percentile stands for the probabilities within 0.05.
curves <- function(w) {
  used <- w > 0
  fitted <- sapply(p, function(tau) {
    basis(grid) %*% rq.wfit(basis(age)[used, ], log(index)[used], tau, w[used], method = "br")$coefficients
  })
  apply(t(fitted), 2, function(q) {
    crossed <<- crossed + any(diff(q) < -1e-9)
    step <- stepfun(p - 0.05, c(q[1], q), right = FALSE)
    rearrange(step, xmin = 0.05, xmax = 0.95)(p)
  })
}
full <- curves(weight)
cat("crossings in the full sample:", crossed, "of", length(grid), "places\n")
replicates <- lapply(1:25, function(r) curves(weight * factors[unit + 1, r]))
squares <- Reduce(`+`, lapply(replicates, function(f) (f - full)^2))
reach <- qt(0.975, 6) * sqrt(squares / 25)
out <- data.frame(p = rep(p, length(grid)), x = rep(grid, each = length(p)), value = as.vector(exp(full)),
                  t_lower = as.vector(exp(full - reach)), t_upper = as.vector(exp(full + reach)))
out[-(1:2)] <- lapply(out[-(1:2)], format, digits = 15)
con <- file("expected.csv", "w")
writeLines(c(
  sprintf("# tool: R %s, quantreg %s", getRversion(), packageVersion("quantreg")),
  "# call: rq.wfit(cbind(1, ns(age, knots = c(35, 50, 65), Boundary.knots = c(20, 79))), log(index), p, w, method = 'br'), rearrange, exp",
  "# call of the bands: exp(fit -+ qt(0.975, 6) * sqrt(mean((replicate - fit)^2)))",
  "# tolerance: 1e-8"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
