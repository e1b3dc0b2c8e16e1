"""Writes reference.json: the model of the course by NumPy and SciPy, independent of this project's code.

    python3 -m venv venv && venv/bin/pip install numpy==2.4.6 scipy==1.17.1
    venv/bin/python reference.py > reference.json

A visit is one joint update with full matrices (Harvey 1989, section 3.1): the day factors are correlated measurement
errors here and no part of the state. The grid is averaged in full. The joint probability is SciPy's.
"""
import json
import sys

import numpy as np
import scipy
from scipy import stats

rng = np.random.default_rng(20261128)

PAR = dict(plateau=90, plateauSpread=12, testSpread=4, gap=30, gapSpread=25, stableGap=2, fast=5, slow=16,
           comparisonDrift=2, plateauDrift=0.8, testDrift=0.7, gapDrift=2, bothSides=25, errorSpread=35)
UNKNOWN = 100.0


def f(name):
    return PAR[name] / 100


def episode(tests, visits):
    """Observations: day, test, comparison, log, own, shared."""
    ratio, gap, weeks = rng.uniform(0.75, 1.05), rng.uniform(0, 0.4), rng.uniform(3, 15)
    day, out = 0, []
    for _ in range(visits):
        bad = rng.normal(0, 0.06, 2)
        for test in range(tests):
            for comparison in (True, False):
                if rng.random() < 0.15:
                    continue
                own, shared = rng.uniform(0.04, 0.1), rng.uniform(0.03, 0.08)
                level = np.log(100 + 20 * test)
                if not comparison:
                    level += np.log(ratio) - gap * np.exp(-day / 7 / weeks)
                out.append([day, test, comparison, level + bad[int(comparison)] + rng.normal(0, own), own, shared])
        day += int(rng.integers(5, 40))
    return out


def filtered(observations, tests, scale, part, shape):
    """The state: comparison levels, plateaus, gap, walk; its mean, covariance and the log density of the data."""
    gap, spread, weeks = shape
    n = 2 * tests + 2
    mean, cov = np.zeros(n), np.zeros((n, n))
    mean[tests:2 * tests], mean[2 * tests] = np.log(f("plateau")), gap
    level = UNKNOWN ** 2 * np.eye(tests)
    cov[:tests, :tests] = cov[:tests, tests:2 * tests] = cov[tests:2 * tests, :tests] = level
    cov[tests:2 * tests, tests:2 * tests] = level + f("plateauSpread") ** 2 + f("testSpread") ** 2 * np.eye(tests)
    cov[2 * tests, 2 * tests] = spread ** 2
    density, before = 0.0, None
    for day in sorted({o[0] for o in observations}):
        if before is not None:
            t = (day - before) / 7
            left = np.exp(-t / weeks)
            move = np.eye(n)
            move[2 * tests, 2 * tests] = left
            noise = np.zeros((n, n))
            noise[tests:2 * tests, tests:2 * tests] = t * (f("plateauDrift") ** 2 + f("testDrift") ** 2 * np.eye(tests))
            noise[2 * tests, 2 * tests] = f("gapDrift") ** 2 * weeks / 2 * (1 - left ** 2)
            noise[2 * tests + 1, 2 * tests + 1] = f("comparisonDrift") ** 2 * t
            mean, cov = move @ mean, move @ cov @ move.T + noise
        before = day
        today = [o for o in observations if o[0] == day]
        design, error = np.zeros((len(today), n)), np.zeros((len(today), len(today)))
        for i, (_, test, comparison, _, own, shared) in enumerate(today):
            if comparison:
                design[i, test] = design[i, 2 * tests + 1] = 1
            else:
                design[i, tests + test], design[i, 2 * tests] = 1, -1
            for j, other in enumerate(today):
                error[i, j] = (scale * part) ** 2 * shared * other[5] * (1 if comparison == other[2] else f("bothSides"))
            error[i, i] += scale ** 2 * (own ** 2 + shared ** 2 * (1 - part ** 2))
        data = design @ cov @ design.T + error
        surprise = np.array([o[3] for o in today]) - design @ mean
        gain = np.linalg.solve(data, design @ cov).T
        density -= (np.linalg.slogdet(data)[1] + surprise @ np.linalg.solve(data, surprise)) / 2
        mean, cov = mean + gain @ surprise, cov - gain @ design @ cov
    return mean, cov, density


def index_of(mean, cov, tests, initial=False):
    rows = np.zeros((tests, len(mean)))
    for k in range(tests):
        rows[k, tests + k], rows[k, 2 * tests], rows[k, k], rows[k, 2 * tests + 1] = 1, -1, -1, -1
        if initial:
            rows[k, 2 * tests + 1] = 0
    return rows @ mean, rows @ cov @ rows.T


def case(tests, visits):
    observations = episode(tests, visits)
    shapes = [(0, f("stableGap"), PAR["slow"]), (f("gap"), f("gapSpread"), PAR["fast"]), (f("gap"), f("gapSpread"), PAR["slow"])]
    points = []
    for i in (-2, -1, 0, 1, 2):
        for part in (0.3, 1):
            for shape in shapes:
                mean, cov, density = filtered(observations, tests, np.exp(i * f("errorSpread")), part, shape)
                points.append((density - i * i / 2, mean, cov))
    weights = np.array([p[0] for p in points])
    weights = np.exp(weights - weights.max())
    weights /= weights.sum()
    even, all_even, level, square = np.zeros(tests), 0.0, np.zeros(tests), np.zeros(tests)
    initial = sum(w * p[1][2 * tests + 1] for w, p in zip(weights, points)) < 0
    for w, (_, mean, cov) in zip(weights, points):
        m, c = index_of(mean, cov, tests)
        even += w * stats.norm.sf((np.log(0.9) - m) / np.sqrt(np.diag(c)))
        level, square = level + w * m, square + w * (np.diag(c) + m ** 2)
        m, c = index_of(mean, cov, tests, initial)
        if w > 1e-6:
            all_even += w * stats.multivariate_normal.cdf(m - np.log(0.9), np.zeros(tests), c, abseps=1e-6, releps=1e-6)
    m, c, _ = filtered(observations, tests, 1.0, 1.0, shapes[1])
    one, covariance = index_of(m, c, tests)
    return dict(tests=tests, observations=[[float(x) for x in o] for o in observations], index=list(100 * np.exp(level)),
                spread=list(np.sqrt(square - level ** 2)), even=list(even), allEven=float(all_even),
                one=list(one), covariance=[list(r) for r in covariance])


def both_below():
    """P(X < z, Y < z) - P(X < z)^2 of standard normal quantities of a correlation."""
    out = []
    for z in (-2, -0.5, 0, 1, 2.5):
        for r in (0.1, 0.5, 0.9, 0.99):
            p = stats.multivariate_normal.cdf([z, z], [0, 0], [[1, r], [r, 1]], abseps=1e-10, releps=1e-10)
            out.append(dict(z=z, correlation=r, more=float(p - stats.norm.cdf(z) ** 2)))
    return out


cases = [case(tests, visits) for tests in (1, 2, 4, 6, 6, 6, 6) for visits in (1, 2, 4, 8)]
json.dump(dict(numpy=np.__version__, scipy=scipy.__version__, cases=cases, bothBelow=both_below()), sys.stdout)
