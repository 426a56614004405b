"""Variance of an area under the ROC curve of two normal classes of equal spread. Run in this folder: python3 generate.py"""

import csv
import platform

import numpy as np
import scipy
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

with open("expected.csv", "w", newline="") as f:
    f.write(f"# tool: Python {platform.python_version()}, scipy {scipy.__version__}, numpy {np.__version__}\n")
    f.write("# call: Q = quad(norm.pdf(y) * norm.sf(y - d)**2), d = sqrt(2) norm.ppf(A), held against "
            "multivariate_normal.cdf([h, h], cov 1/2), h = norm.ppf(A); V = (A(1-A) + (m + n - 2)(Q - A^2)) / mn\n")
    f.write("# tolerance: 1e-10 relative\n")
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["auc", "with", "without", "variance"])
    for auc in [0.5, 0.55, 0.65, 0.75, 0.8, 0.9, 0.95, 0.99, 0.999]:
        apart = np.sqrt(2) * norm.ppf(auc)
        exceed = lambda y: norm.pdf(y) * norm.sf(y - apart) ** 2
        both = quad(exceed, -12, 12, epsabs=0, epsrel=1e-13, limit=500, points=[-3, 0, 3])[0]
        h = norm.ppf(auc)
        assert abs(both - multivariate_normal.cdf([h, h], cov=[[1, 0.5], [0.5, 1]])) < 1e-12
        for m, n in [(1, 1), (12, 20), (60, 600), (100, 300), (5000, 20000)]:
            variance = (auc * (1 - auc) + (m + n - 2) * (both - auc**2)) / (m * n)
            out.writerow([auc, m, n, repr(float(variance))])
