"""Two-component normal mixture: parameters, BIC and where the weighted densities cross."""
import platform
import numpy as np
import scipy
import sklearn
from scipy.optimize import brentq
from scipy.stats import norm
from sklearn.mixture import GaussianMixture

rng = np.random.default_rng(20240613)
x = np.round(np.concatenate([rng.normal(0.4, 0.45, 280), rng.normal(1.6, 0.5, 120)]), 4)
np.savetxt("input.csv", x, fmt="%.4f", header="value", comments="")

z = ((x - x.mean()) / x.std()).reshape(-1, 1)
model = GaussianMixture(2, tol=1e-12, max_iter=20000, random_state=1).fit(z)
assert model.converged_
order = np.argsort(model.means_[:, 0])
share = model.weights_[order]
mean = x.mean() + x.std() * model.means_[order, 0]
sd = x.std() * np.sqrt(model.covariances_[order, 0, 0])
cut = brentq(lambda c: share[0] * norm.pdf(c, mean[0], sd[0]) - share[1] * norm.pdf(c, mean[1], sd[1]),
             mean[0], mean[1], xtol=1e-13)
gain = GaussianMixture(1).fit(z).bic(z) - model.bic(z)
with open("expected.csv", "w") as out:
    out.write(f"# tool: Python {platform.python_version()}, scikit-learn {sklearn.__version__}, scipy {scipy.__version__}\n")
    out.write("# call: GaussianMixture(2, tol=1e-12).fit(standard units), brentq on the crossing\n")
    out.write("# tolerance: 1e-3\n")
    out.write("cutoff,lower_share,lower_mean,lower_sd,upper_mean,upper_sd,bic_gain\n")
    out.write("%.10f,%.10f,%.10f,%.10f,%.10f,%.10f,%.10f\n" % (cut, share[0], mean[0], sd[0], mean[1], sd[1], gain))
