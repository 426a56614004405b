# Invented ages and skewed indices with weights; replicate factors of an invented design. Fitted percentiles by VGAM, and the same
# likelihood maximised by optim as a second road: they must agree to 1e-7 before anything is written.
suppressMessages({library(splines); library(VGAM)})
set.seed(20240604)
n <- 400
age <- sample(20:79, n, replace = TRUE)
z <- rnorm(n)
l <- -0.4 + 0.008 * (age - 50)
m <- exp(0.3 + 0.008 * age - 0.00006 * (age - 50)^2)
s <- 0.35 + 0.002 * (age - 50)
index <- round(m * (1 + l * s * z)^(1 / l), 3)
weight <- round(exp(rnorm(n, 9, 0.6)), 3)
unit <- sample(0:11, n, replace = TRUE)
write.csv(data.frame(age, index, weight, unit), "input.csv", row.names = FALSE)

# Six strata of two units: one of each pair counts twice, in each of 10 replicates.
factors <- sapply(1:10, function(r) as.vector(sapply(1:6, function(h) sample(c(0, 2)))))
write.csv(data.frame(unit = rep(0:11, 10), replicate = rep(0:9, each = 12), factor = as.vector(factors)),
          "factors.csv", row.names = FALSE)

grid <- c(20, 28, 40, 55, 70, 79)
p <- c(0.05, 0.25, 0.5, 0.75, 0.9, 0.975)
people <- data.frame(age, index)
basis <- function(x) ns(x, knots = c(35, 50, 65), Boundary.knots = c(20, 79))

parameters <- function(power, w) {
  used <- w > 0
  data <- transform(people, w = w / mean(w[used]))[used, ]
  fit <- vglm(index ~ basis(age), lms.bcn(zero = if (power == "constant") "lambda" else NULL, lmu = "loglink", ilambda = 0.1),
              data = data, weights = w, epsilon = 1e-10, maxit = 500, crit = "coefficients", trace = FALSE)
  b <- coef(fit, matrix = TRUE)
  at <- cbind(1, basis(grid)) %*% b
  list(l = at[, 1], m = exp(at[, 2]), s = exp(at[, 3]), coefficients = b)
}

# Minus the mean log-likelihood, written out; the gradient by hand from the same formula.
second_road <- function(power, w, from) {
  x <- cbind(1, basis(age)); xl <- if (power == "constant") x[, 1, drop = FALSE] else x
  k <- ncol(x); kl <- ncol(xl); w <- w / sum(w)
  parts <- function(b) list(l = drop(xl %*% b[1:kl]), m = drop(x %*% b[kl + 1:k]), s = drop(x %*% b[kl + k + 1:k]))
  value <- function(b) with(parts(b), {
    u <- log(index) - m
    z <- ifelse(abs(l) < 1e-9, u, expm1(l * u) / l) / exp(s)
    -sum(w * (l * u - s - z^2 / 2))
  })
  slope <- function(b) with(parts(b), {
    u <- log(index) - m; e <- exp(l * u); z <- (e - 1) / l / exp(s); zl <- (u * e - (e - 1) / l) / l / exp(s)
    -c(crossprod(xl, w * (u - z * zl)), crossprod(x, w * (z * e / exp(s) - l)), crossprod(x, w * (z^2 - 1)))
  })
  b <- c(if (power == "constant") from[1, 1] else from[, 1], from[, 2], from[, 3]) + 0.01
  for (again in 1:20) b <- optim(b, value, slope, method = "BFGS", control = list(reltol = 1e-16, maxit = 5000))$par
  xg <- cbind(1, basis(grid)); xlg <- if (power == "constant") xg[, 1, drop = FALSE] else xg
  list(l = drop(xlg %*% b[1:kl]), m = exp(drop(xg %*% b[kl + 1:k])), s = exp(drop(xg %*% b[kl + k + 1:k])))
}

centiles <- function(of) t(sapply(seq_along(grid), function(g) qlms.bcn(p, of$l[g], of$m[g], of$s[g])))

rows <- lapply(c("constant", "spline"), function(power) {
  full <- parameters(power, weight)
  other <- second_road(power, weight, full$coefficients)
  apart <- max(abs(centiles(other) / centiles(full) - 1))
  cat(power, "power: VGAM and optim differ by", apart, "\n")
  stopifnot(apart < 1e-7)
  value <- centiles(full)
  squares <- Reduce(`+`, lapply(1:10, function(r) (log(centiles(parameters(power, weight * factors[unit + 1, r]))) - log(value))^2))
  reach <- qt(0.975, 6) * sqrt(squares / 10)
  data.frame(power, p = rep(p, each = length(grid)), x = rep(grid, length(p)), value = as.vector(value),
             l = rep(full$l, length(p)), m = rep(full$m, length(p)), s = rep(full$s, length(p)),
             t_lower = as.vector(exp(log(value) - reach)), t_upper = as.vector(exp(log(value) + reach)))
})
out <- do.call(rbind, rows)
out[-(1:3)] <- lapply(out[-(1:3)], function(x) sprintf("%.15g", x))
con <- file("expected.csv", "w")
writeLines(c(
  sprintf("# tool: R %s, VGAM %s", getRversion(), packageVersion("VGAM")),
  "# call: vglm(index ~ ns(age, knots = c(35, 50, 65), Boundary.knots = c(20, 79)), lms.bcn(zero = 'lambda' or NULL, lmu = 'loglink'), weights = w), qlms.bcn",
  "# call of the bands: exp(log(value) -+ qt(0.975, 6) * sqrt(mean((log(replicate) - log(value))^2)))",
  "# tolerance: 1e-9 relative"
), con)
write.csv(out, con, row.names = FALSE, quote = FALSE)
close(con)
