"""Invented BMI, index and outcome; location-scale ROC curves by statsmodels and plain sums, in every replicate."""

import numpy as np
import scipy
import statsmodels
import statsmodels.api as sm
from scipy.interpolate import CubicSpline
from scipy.stats import t

UNITS, REPLICATES = 12, 25
KNOTS = np.array([18.0, 25.0, 31.0, 42.0])
GRID = [19.0, 24.5, 30.0, 38.0]

rng = np.random.default_rng(20240604)
n = 400
bmi = np.clip(np.round(rng.normal(28, 5, n), 1), 18, 42)
outcome = (rng.random(n) < 1 / (1 + np.exp(-(bmi - 30) / 4))).astype(int)
noise = rng.normal(0, 1, n) * np.where(outcome == 1, 0.5, 0.4)
index = np.round(np.exp(0.04 * (bmi - 25) + outcome * (0.6 - 0.01 * (bmi - 25)) + noise), 3)
weight = np.round(np.exp(rng.normal(9, 0.7, n)), 3)
unit = rng.integers(0, UNITS, n)
# A row with the index of its neighbour, of the other class: a tie at its BMI.
bmi[1], index[1], outcome[0], outcome[1] = bmi[0], index[0], 0, 1
np.savetxt("input.csv", np.column_stack([bmi, index, outcome, weight, unit]), delimiter=",", comments="",
           header="bmi,index,outcome,weight,unit", fmt=["%.1f", "%.3f", "%d", "%.3f", "%d"])

# Six strata of two units: one of each pair counts twice.
first = rng.integers(0, 2, (UNITS // 2, REPLICATES)) * 2
factors = np.stack([first, 2 - first], axis=1).reshape(UNITS, REPLICATES)
with open("factors.csv", "w") as file:
    file.write("unit,replicate,factor\n")
    for r in range(REPLICATES):
        for u in range(UNITS):
            file.write(f"{u},{r},{factors[u, r]}\n")


def basis(x):
    return CubicSpline(KNOTS, np.eye(len(KNOTS)), bc_type="natural")(x)


def design(x, d):
    b = basis(np.asarray(x, float))
    d = np.broadcast_to(np.asarray(d, float), (len(b),))[:, None]
    return np.hstack([b, b * d])


def points(with_value, with_weight, without_value, without_weight):
    """Cutoffs from the lowest up with sensitivity and false positive share, by sums over all rows."""
    cutoffs = np.unique(np.round(np.concatenate([with_value, without_value]), 11))
    slack = 1e-10
    se = np.array([with_weight[with_value >= c - slack].sum() for c in cutoffs]) / with_weight.sum()
    fp = np.array([without_weight[without_value >= c - slack].sum() for c in cutoffs]) / without_weight.sum()
    return cutoffs, se, fp


def area(with_value, with_weight, without_value, without_weight):
    difference = with_value[:, None] - without_value[None, :]
    wins = np.where(np.abs(difference) < 1e-10, 0.5, difference > 0)
    return with_weight @ wins @ without_weight / (with_weight.sum() * without_weight.sum())


def results(w):
    """By (what, at), on the scale of the fit."""
    y, used = np.log(index), w > 0
    x_matrix = design(bmi, outcome)
    beta = sm.WLS(y[used], x_matrix[used], weights=w[used]).fit().params
    residual = y - x_matrix @ beta
    case, control = used & (outcome == 1), used & (outcome == 0)
    out = {}
    for x in GRID:
        mean = [float((design([x], d) @ beta)[0]) for d in (0, 1)]
        rows = (mean[1] + residual[case], w[case], mean[0] + residual[control], w[control])
        cutoffs, se, fp = points(*rows)
        youden = (se - fp)[1:]  # the lowest cutoff calls everybody positive
        best = 1 + np.flatnonzero(youden >= youden.max() - 1e-12)[0]
        out["cutoff", x] = cutoffs[best]
        out["auc", x] = area(*rows)
        out["sensitivity", x], out["specificity", x] = se[best], 1 - fp[best]
    return out


def logit(p):
    return np.log(p / (1 - p))


def expit(x):
    return 1 / (1 + np.exp(-x))


lines = []
full = results(weight)
replicates = [results(weight * factors[unit, r]) for r in range(REPLICATES)]
for (what, at), value in full.items():
    values = np.array([r[what, at] for r in replicates])
    reach = t.ppf(0.975, 6) * np.sqrt(np.mean((values - value) ** 2))
    if what == "cutoff":
        numbers = [np.exp(v) for v in (value, value - reach, value + reach)]
    else:
        reach /= value * (1 - value)  # delta method on the logit
        numbers = [value, expit(logit(value) - reach), expit(logit(value) + reach)]
    lines.append(("as it is", what, at, numbers))
    # 1 / index where lower is more resistant: the same curves, cutoffs inverted, ends exchanged.
    if what == "cutoff":
        v, a, b = numbers
        numbers = [1 / v, 1 / b, 1 / a]
    lines.append(("reversed", what, at, numbers))

with open("expected.csv", "w") as file:
    file.write(f"# tool: statsmodels {statsmodels.__version__}, scipy {scipy.__version__}, numpy {np.__version__}\n")
    file.write("# call: WLS(log index, natural spline of BMI x outcome, weights); sums over residuals, as in generate.py\n")
    file.write("# tolerance: 1e-8\n")
    file.write("index,what,at,value,t_lower,t_upper\n")
    for index_as, what, at, numbers in lines:
        file.write(f"{index_as},{what},{at}," + ",".join(f"{number:.15g}" for number in numbers) + "\n")
