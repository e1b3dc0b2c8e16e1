"""Writes reference.json: what NumPy, SciPy and lifelines make of invented numbers.

    pip install numpy scipy lifelines
    python reference.py > reference.json

The numbers are drawn here, from a fixed seed. lifelines and SciPy are only run, not copied.
"""
import json
import warnings

import lifelines
import numpy as np
import scipy
from lifelines import KaplanMeierFitter
from scipy import stats

warnings.simplefilter("ignore")
rng = np.random.default_rng(20261128)
out = {"numpy": np.__version__, "scipy": scipy.__version__, "lifelines": lifelines.__version__}

values = np.sort(np.round(rng.lognormal(4.5, 0.2, 37), 3))
out["percentiles"] = {
    "values": values.tolist(),
    "fractions": [0, 0.1, 0.5, 0.9, 1],
    "want": np.percentile(values, [0, 10, 50, 90, 100]).tolist(),
}

# Times in whole weeks, so that many fall together.
happens, leaves = rng.weibull(1.4, 120) * 20, rng.exponential(25, 120)
times, happened = np.ceil(np.minimum(happens, leaves)), happens <= leaves
km = KaplanMeierFitter().fit(times, happened, alpha=0.05)
table, band = km.event_table, km.confidence_interval_
at = [t for t in km.survival_function_.index if t > 0]
out["kaplanMeier"] = {
    "times": times.tolist(),
    "happened": happened.tolist(),
    "confidence": 0.95,
    "want": [
        {
            "time": t,
            "atRisk": int(table.loc[t, "at_risk"]),
            "happened": int(table.loc[t, "observed"]),
            "left": int(table.loc[t, "censored"]),
            "share": float(km.survival_function_.loc[t].iloc[0]),
            "low": float(band.loc[t].iloc[0]),
            "high": float(band.loc[t].iloc[1]),
        }
        for t in at
    ],
}

# Visits at random times, so that no two ends are the same.
lefts, rights = [], []
for happens in rng.weibull(1.3, 60) * 15:
    visits = np.cumsum(rng.uniform(2, 6, rng.integers(2, 7)))
    before, after = visits[visits < happens], visits[visits >= happens]
    lefts.append(float(before[-1]) if len(before) else 0.0)
    rights.append(float(after[0]) if len(after) else float("inf"))
npmle = KaplanMeierFitter().fit_interval_censoring(lefts, rights, tol=1e-10)
share = npmle.survival_function_
grid = sorted({x for x in lefts + rights if np.isfinite(x)})


def between(t):
    """The share at t, where the estimate is the same on both sides; None inside a mass."""
    low, high = np.interp(t, share.index, share.iloc[:, 0]), np.interp(t, share.index, share.iloc[:, 1])
    return float(low) if abs(low - high) < 1e-9 else None


out["turnbull"] = {
    "left": lefts,
    "right": [x if np.isfinite(x) else None for x in rights],
    "want": [{"time": t, "share": between(t)} for t in grid if between(t) is not None],
}

differences = rng.normal(0, 0.1, 23)
square, n = float(np.sum(differences**2)) / 2, len(differences)
out["deviation"] = {
    "differences": differences.tolist(),
    "confidence": 0.95,
    "value": float(np.sqrt(square / n)),
    "low": float(np.sqrt(square / stats.chi2.ppf(0.975, n))),
    "high": float(np.sqrt(square / stats.chi2.ppf(0.025, n))),
}
print(json.dumps(out, indent=1))
