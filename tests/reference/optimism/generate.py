"""Optimism of the Youden index and its value in units not drawn, replicate by replicate."""
import platform
import numpy as np

rng = np.random.default_rng(20240615)
n, units, replicates = 160, 8, 40
unit = np.arange(n) % units
outcome = (rng.random(n) < 0.35).astype(int)
value = np.round(rng.normal(0.7 * outcome, 1.0), 1)  # one decimal: many ties
weight = np.round(rng.gamma(2.0, 500.0, n) + 50, 1)
# Strata of two units: each replicate draws one of them and doubles it.
factors = np.zeros((units, replicates))
for stratum in range(units // 2):
    drawn = rng.integers(0, 2, replicates)
    factors[2 * stratum + drawn, np.arange(replicates)] = 2.0
with open("input.csv", "w") as out:
    out.write("value,weight,outcome,unit\n")
    for row in zip(value, weight, outcome, unit):
        out.write("%.1f,%.1f,%d,%d\n" % row)
np.savetxt("factors.csv", factors, fmt="%d", delimiter=",",
           header=",".join(f"r{r}" for r in range(replicates)), comments="")


def youden(c, w):
    yes, no = outcome == 1, outcome == 0
    return w[yes & (value >= c)].sum() / w[yes].sum() - w[no & (value >= c)].sum() / w[no].sum()


def choose(w):
    candidates = np.unique(value[w > 0])[1:]  # the least resistant value calls everybody positive
    scores = np.array([youden(c, w) for c in candidates])
    return candidates[np.flatnonzero(scores >= scores.max() - 1e-12)[0]]  # ties: the higher sensitivity


gains, outside = [], []
for r in range(replicates):
    w = weight * factors[unit, r]
    c = choose(w)
    gains.append(youden(c, w) - youden(c, weight))
    outside.append(youden(c, np.where(factors[unit, r] == 0, weight, 0.0)))
cutoff = choose(weight)
optimism = np.mean(gains)
with open("expected.csv", "w") as out:
    out.write(f"# tool: Python {platform.python_version()}, numpy {np.__version__}\n")
    out.write("# call: plain loops over candidates and replicates\n# tolerance: 1e-12\n")
    out.write("cutoff,optimism,corrected,half_sample_external\n")
    out.write("%.1f,%.15f,%.15f,%.15f\n" % (cutoff, optimism, youden(cutoff, weight) - optimism, np.mean(outside)))
