"""Writes reference.json: statistics of generated data by SciPy and pingouin, independent of this project.

    python3 -m venv venv && venv/bin/pip install scipy==1.17.1 pingouin==0.7.0
    venv/bin/python reference.py > reference.json
"""
import json
import sys

import numpy as np
import pandas as pd
import pingouin
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


def reliability():
    cases = []
    for n, k in ((4, 2), (8, 2), (12, 3), (30, 2)):
        true = rng.normal(100, 20, n)
        rows = true[:, None] + rng.normal(0, 3, k)[None, :] + rng.normal(0, 8, (n, k))
        rows = np.round(rows, 1)
        table = pd.DataFrame([(i, j, rows[i, j]) for i in range(n) for j in range(k)], columns=["subject", "trial", "score"])
        icc = pingouin.intraclass_corr(table, targets="subject", raters="trial", ratings="score").set_index("Type")
        anova = pingouin.rm_anova(table, dv="score", within="trial", subject="subject", detailed=True)
        names = {"icc11": ("ICC1", "ICC(1,1)"), "icc21": ("ICC2", "ICC(A,1)"), "icc31": ("ICC3", "ICC(C,1)")}
        case = {"rows": rows.tolist(), "mserror": float(anova["MS"].iloc[-1])}
        interval = next(c for c in icc.columns if c.startswith("CI95"))
        for key, labels in names.items():
            row = icc.loc[next(l for l in labels if l in icc.index)]
            case[key] = [float(row["ICC"]), float(row[interval][0]), float(row[interval][1])]
        case["variation"] = float(100 * np.sqrt(np.mean(stats.variation(rows, axis=1, ddof=1) ** 2)))
        cases.append(case)
    return cases


json.dump({
    "scipy": scipy.__version__, "pingouin": pingouin.__version__,
    "theilSen": theil_sen(), "fieller": fieller(), "reliability": reliability(),
}, sys.stdout, indent=1)
