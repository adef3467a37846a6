"""Chances, bounds and shares of doubt by SciPy: scrambled Sobol points, exact binomial bounds, Sobol's indices."""

import numpy as np
from scipy import stats
from scipy.stats import qmc

DRAWS = 1 << 16


def joint_fails(demand, seed=7):
    """Share of joints that slip: two faces of friction 0.15 (sigma ln 0.2), clamp 20 kN (sigma ln 0.15), radius 9.4 mm."""
    z = stats.norm.ppf(qmc.Sobol(2, scramble=True, rng=np.random.default_rng(seed)).random(DRAWS))
    hold = 2 * 0.15 * np.exp(0.2 * z[:, 0]) * 20e3 * np.exp(0.15 * z[:, 1]) * 9.4e-3
    return np.mean(demand > hold)


def joint_exact(demand):
    """The same in closed form: the logarithm of the hold is normal."""
    return stats.norm.cdf((np.log(demand) - np.log(2 * 0.15 * 20e3 * 9.4e-3)) / np.hypot(0.2, 0.15))


def ishigami(x):
    return np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def rows():
    for demand in (25, 30, 35, 40, 50):
        inputs = f"demand {demand} N m; mu 0.15, sigma ln 0.2; clamp 20 kN, sigma ln 0.15; r 9.4 mm; 2^16 points"
        yield "chance of slip by Sobol points", inputs, joint_fails(demand), "one"
        yield "chance of slip in closed form", inputs, joint_exact(demand), "one"
    for failed, count in ((0, 65536), (1, 4096), (16, 16384), (300, 4096)):
        inputs = f"failed {failed}; count {count}"
        yield "upper 95 % bound of a chance", inputs, 1e6 * stats.beta.ppf(0.95, failed + 1, count - failed), "per million"
        if failed:
            yield "lower 95 % bound of a chance", inputs, 1e6 * stats.beta.ppf(0.05, failed, count - failed + 1), "per million"
    shares = stats.sobol_indices(
        func=ishigami, n=1 << 14, dists=[stats.uniform(-np.pi, 2 * np.pi)] * 3, rng=np.random.default_rng(7)
    )
    for k in range(3):
        yield "first-order index of Ishigami's function", f"input {k + 1}; a 7, b 0.1; 2^14 points", shares.first_order[k], "one"
        yield "total index of Ishigami's function", f"input {k + 1}; a 7, b 0.1; 2^14 points", shares.total_order[k], "one"
