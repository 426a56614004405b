"""Ranks that bound a reference limit, and limits at rank p (n + 1). Run in this folder: python3 generate.py"""

import csv
import platform

import numpy as np
import scipy
from scipy.stats import binom

values = np.round(np.exp(np.random.default_rng(6).normal(0.5, 0.6, 240)), 2)
with open("input.csv", "w", newline="") as f:
    f.write("value\n")
    f.writelines(f"{v}\n" for v in values)

with open("expected.csv", "w", newline="") as f:
    f.write(f"# tool: Python {platform.python_version()}, scipy {scipy.__version__}, numpy {np.__version__}\n")
    f.write("# call: largest l with binom.cdf(l - 1, n, p) <= 0.05, smallest u with binom.sf(u - 1, n, p) <= 0.05; numpy.quantile(x[:n], p, method='weibull')\n")
    f.write("# tolerance: 1e-12 relative\n")
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["n", "p", "lower_rank", "upper_rank", "limit"])
    for n in [60, 100, 118, 119, 120, 132, 133, 160, 161, 187, 188, 189, 190, 218, 219, 240, 248, 249, 250, 279, 280,
              307, 308, 310, 340, 341, 363, 364, 372, 373, 400, 1000, 9999, 250000]:
        for p in [0.025, 0.5, 0.975]:
            ranks = np.arange(0, n + 2)
            lower = int(ranks[binom.cdf(ranks - 1, n, p) <= 0.05].max())
            upper = int(ranks[(ranks > 0) & (binom.sf(ranks - 1, n, p) <= 0.05)].min())
            found = lower >= 1 and upper <= n
            limit = repr(float(np.quantile(values[:n], p, method="weibull"))) if n <= len(values) else ""
            out.writerow([n, p, lower if found else "", upper if found else "", limit])
