"""Weighted logistic regression on one covariate."""
import platform
import numpy as np
import sklearn
from sklearn.linear_model import LogisticRegression

rng = np.random.default_rng(20240614)
n = 150
x = np.round(rng.normal(0.8, 0.7, n), 3)
y = (rng.random(n) < 1 / (1 + np.exp(1.5 - 1.8 * x))).astype(int)
w = np.round(rng.gamma(2.0, 500.0, n) + 50, 1)
with open("input.csv", "w") as out:
    out.write("value,weight,outcome\n")
    for row in zip(x, w, y):
        out.write("%.3f,%.1f,%d\n" % row)
model = LogisticRegression(C=np.inf, solver="newton-cholesky", tol=1e-14, max_iter=1000)
model.fit(x.reshape(-1, 1), y, sample_weight=w / w.mean())
with open("expected.csv", "w") as out:
    out.write(f"# tool: Python {platform.python_version()}, scikit-learn {sklearn.__version__}\n")
    out.write("# call: LogisticRegression(C=inf, solver='newton-cholesky', tol=1e-14).fit(x, y, sample_weight=w)\n")
    out.write("# tolerance: 1e-8\nintercept,slope\n%.14f,%.14f\n" % (model.intercept_[0], model.coef_[0, 0]))
