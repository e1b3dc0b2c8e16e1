"""Writes reference.json: statistics of generated data by SciPy, independent of this project.

    python3 -m venv venv && venv/bin/pip install scipy==1.17.1
    venv/bin/python reference.py > reference.json
"""
import json
import sys

import numpy as np
import scipy
from scipy import optimize, stats

rng = np.random.default_rng(20260302)


def theil_sen():
    cases = []
    for n in (3, 4, 5, 8, 12, 20):
        for ties in (False, True):
            x = np.cumsum(rng.integers(0 if ties else 1, 5, n)).astype(float)
            y = np.round(60 + 1.5 * x + rng.normal(0, 6, n), 0 if ties else 3)
            if len(set(x)) < 2:
                continue
            r = stats.theilslopes(y, x, alpha=0.9, method="separate")
            cases.append({"x": list(x), "y": list(y), "slope": r.slope, "intercept": r.intercept, "low": r.low_slope, "high": r.high_slope})
    return cases


def fieller():
    """The limits are where the pivot's two-sided probability is 10 per cent, found by root search."""
    cases = []
    for _ in range(40):
        a, b = rng.uniform(20, 200, 2)
        sa, sb = a * rng.uniform(0.03, 0.15), b * rng.uniform(0.03, 0.15)

        def tail(ratio):
            return 2 * stats.norm.sf(abs(a - ratio * b) / np.hypot(sa, ratio * sb)) - 0.10

        ratio = a / b
        cases.append({
            "a": a, "sa": sa, "b": b, "sb": sb,
            "low": optimize.brentq(tail, 0, ratio, xtol=1e-14),
            "high": optimize.brentq(tail, ratio, 50 * ratio, xtol=1e-14),
            "t": 0.9, "probability": stats.norm.sf((0.9 * b - a) / np.hypot(sa, 0.9 * sb)),
        })
    return cases


json.dump({
    "scipy": scipy.__version__,
    "theilSen": theil_sen(), "fieller": fieller(),
}, sys.stdout, indent=1)
