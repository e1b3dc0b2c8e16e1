"""Writes reference.json: statistics of generated data by pingouin and statsmodels, independent of this project.

    python3 -m venv venv && venv/bin/pip install scipy==1.17.1 pingouin==0.7.0 statsmodels==0.15.0
    venv/bin/python reference.py > reference.json
"""
import json
import sys

import numpy as np
import pandas as pd
import pingouin
import statsmodels
import statsmodels.formula.api as smf
from statsmodels.stats.anova import anova_lm

rng = np.random.default_rng(20261128)


def two_way():
    """One score a subject and occasion: pingouin's coefficients, and its mean square of error."""
    cases = []
    for n, k in ((4, 2), (8, 2), (12, 3), (30, 2)):
        true = rng.normal(100, 20, n)
        rows = true[:, None] + rng.normal(0, 3, k)[None, :] + rng.normal(0, 8, (n, k))
        rows = np.round(rows, 1)
        table = pd.DataFrame([(i, j, rows[i, j]) for i in range(n) for j in range(k)], columns=["subject", "trial", "score"])
        icc = pingouin.intraclass_corr(table, targets="subject", raters="trial", ratings="score").set_index("Type")
        error = pingouin.rm_anova(table, dv="score", within="trial", subject="subject", detailed=True)["MS"].iloc[-1]
        within = pingouin.anova(table, dv="score", between="subject", detailed=True)["MS"].iloc[-1]
        case = {"rows": rows.tolist(), "mserror": float(error), "mswithin": float(within)}
        interval = next(c for c in icc.columns if c.startswith("CI95"))
        for key, labels in {"icc11": ("ICC1", "ICC(1,1)"), "icc21": ("ICC2", "ICC(A,1)"), "icc31": ("ICC3", "ICC(C,1)")}.items():
            row = icc.loc[next(l for l in labels if l in icc.index)]
            case[key] = [float(row["ICC"]), float(row[interval][0]), float(row[interval][1])]
        cases.append(case)
    return cases


def mean_squares(formula, table, names):
    """The sequential mean squares of an analysis of variance by statsmodels."""
    found = anova_lm(smf.ols(formula, table).fit())["mean_sq"]
    return [float(found[name]) for name in names]


def study(n, sessions, trials):
    """Both sides of each subject, sessions with a shift of their own, trials that tire.

    The variances follow from the mean squares as their expectations say: both sides share a part of the day, and so do all
    trials of a subject. The restricted maximum likelihood of a mixed model is a second reference.
    """
    rows = []
    shifts, tiring = rng.normal(0, 0.04, sessions), -0.02 * np.arange(trials)
    for i in range(n):
        subject = rng.normal(np.log(100), 0.25)
        person = rng.normal(0, 0.06, sessions)
        for side in ("left", "right"):
            arm = subject + rng.normal(0, 0.08)
            day = rng.normal(0, 0.06, sessions)
            for j in range(sessions):
                for k in range(trials):
                    log = arm + shifts[j] + person[j] + day[j] + tiring[k] + rng.normal(0, 0.05)
                    rows.append((f"{i:02}", side, f"{j}", f"{k}", round(float(np.exp(log)), 2)))
    table = pd.DataFrame(rows, columns=["subject", "side", "session", "trial", "score"])
    table["log"] = np.log(table["score"])
    means = table.groupby(["subject", "side", "session"], as_index=False)["log"].mean()
    session, person, side = mean_squares(
        "log ~ C(subject) * C(side) + C(session) + C(subject):C(session)", means, ["C(session)", "C(subject):C(session)", "Residual"])
    consistency = (person + side) / 2
    table["set"] = table["side"] + table["session"]
    by_subject, rest = mean_squares(
        "log ~ C(subject) * C(trial) + C(subject):C(set)", table, ["C(subject):C(trial)", "Residual"])
    sets = 2 * sessions
    model = smf.mixedlm(
        "log ~ C(session) + C(trial)", table, groups="subject",
        vc_formula={"side": "0 + C(side)", "day": "0 + C(session)", "sideday": "0 + C(side):C(session)"}).fit(reml=True)
    components = dict(zip(model.model.exog_vc.names, map(float, model.vcomp)))
    return {
        "scores": rows,
        "agreement": consistency + (session - person) / (2 * n),
        "consistency": consistency,
        "trial": (by_subject + (sets - 1) * rest) / sets,
        "mixedConsistency": components["day"] + components["sideday"] + float(model.scale) / trials,
        "mixedTrial": float(model.scale),
    }


json.dump({
    "pingouin": pingouin.__version__, "statsmodels": statsmodels.__version__,
    "twoWay": two_way(), "studies": [study(12, 2, 3), study(24, 3, 2)],
}, sys.stdout, indent=1)
