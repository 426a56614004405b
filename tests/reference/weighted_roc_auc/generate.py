"""Weighted ROC points and areas. Run in this folder: python3 generate.py"""

import csv
import platform

import numpy as np
import sklearn
from sklearn.metrics import roc_auc_score, roc_curve

random = np.random.default_rng(5)


def case(name, value, weight, outcome):
    return [(name, v, w, int(y)) for v, w, y in zip(value, weight, outcome)]


n = 70
outcome = random.integers(0, 2, n)
signal = random.normal(0, 1, n) + 0.8 * outcome
heavy = np.ones(20)
heavy[7] = 900
few = random.integers(0, 2, 20)
rows = (
    case("mini", [1.2, 2.5, 2.5, 3.1, 4.8, 6.0, 7.7, 9.9], [3, 1, 2, 4, 2, 5, 1, 2], [0, 0, 1, 0, 1, 1, 0, 1])
    + case("continuous", np.round(signal, 6), np.round(random.uniform(1, 50, n), 2), outcome)
    + case("ties", np.round(signal), np.round(random.uniform(1, 50, n), 2), outcome)
    + case("near_ties", 1 + 1e-12 * random.integers(0, 5, n), np.ones(n), outcome)
    + case("dominant_weight", np.round(random.normal(0, 1, 20), 3), heavy, few)
    + case("reversed", np.round(-signal, 6), np.ones(n), outcome)
)

with open("input.csv", "w", newline="") as f:
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["case", "value", "weight", "outcome"])
    out.writerows((name, repr(float(v)), repr(float(w)), y) for name, v, w, y in rows)

with open("expected.csv", "w", newline="") as f:
    f.write(f"# tool: Python {platform.python_version()}, scikit-learn {sklearn.__version__}\n")
    f.write("# call: roc_auc_score(y, x, sample_weight=w); roc_curve(y, x, sample_weight=w, drop_intermediate=False)\n")
    f.write("# tolerance: 1e-12 absolute\n")
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["case", "quantity", "cutoff", "value"])
    for name in dict.fromkeys(row[0] for row in rows):
        _, x, w, y = zip(*(row for row in rows if row[0] == name))
        out.writerow([name, "auc", "", repr(float(roc_auc_score(y, x, sample_weight=w)))])
        false, true, cutoffs = roc_curve(y, x, sample_weight=w, drop_intermediate=False)
        for fp, tp, c in list(zip(false, true, cutoffs))[1:]:
            out.writerow([name, "sensitivity", repr(float(c)), repr(float(tp))])
            out.writerow([name, "specificity", repr(float(c)), repr(float(1 - fp))])
