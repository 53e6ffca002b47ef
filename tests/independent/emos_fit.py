#!/usr/bin/python3
"""Ensemble model output statistics fitted without any of Hakea's code, for tests/cases/scores.csv.

Gneiting et al. (2005), Mon. Wea. Rev. 133, 1098-1118: N(a + b x, c^2 + d^2 S^2) of least mean CRPS; of wind the same cut off
below zero (Thorarinsdottir & Gneiting 2010). CRPS is the integral of (F(t) - [t >= y])^2 that defines it, by Simpson's rule, and
the least is found by halving steps along each coordinate: slow, and nothing in common with the formulas and search of core/.

Prints rows of scores.csv. Call: emos_fit.py
"""
import math
import random

import numpy as np

_erf = np.vectorize(math.erf)


def share_below(z):
    return 0.5 * (1 + _erf(z / math.sqrt(2)))


def crps(location, deviation, y, cut):
    """One integral a case, from both sides of what was observed."""
    low = 0.0 if cut else min(location, y) - 12 * deviation
    high = max(location, y) + 12 * deviation

    def distribution(t):
        f = share_below((t - location) / deviation)
        if cut:
            f0 = share_below(np.array(-location / deviation))
            f = (f - f0) / (1 - f0)
        return f

    def simpson(a, b, g):
        t = np.linspace(a, b, 801)
        w = np.ones(801)
        w[1:-1:2], w[2:-1:2] = 4, 2
        return (b - a) / 800 / 3 * float(np.sum(w * g(t)))

    return simpson(low, y, lambda t: distribution(t) ** 2) + simpson(y, high, lambda t: (1 - distribution(t)) ** 2)


def fit(cases, cut, free):
    """(a at the mean forecast, b, c, d), those that are free."""
    middle = sum(x for x, _, _ in cases) / len(cases)

    def mean_crps(p):
        a, b, c, d = p
        return sum(crps(a + middle + b * (x - middle), math.sqrt(c * c + d * d * s + 1e-12), y, cut) for x, s, y in cases) / len(cases)

    at, step = [0.0, 1.0, 1.0, 1.0], [0.5] * 4
    best = mean_crps(at)
    while max(step[i] for i in free) > 2e-4:
        for i in free:
            for sign in (1, -1):
                trial = list(at)
                trial[i] += sign * step[i]
                if trial[1] < 0 or trial[2] < 0 or trial[3] < 0:
                    continue
                value = mean_crps(trial)
                if value < best:
                    best, at = value, trial
                    step[i] *= 1.6
                    break
            else:
                step[i] /= 2
    a, b, c, d = at
    return {"a": a + (1 - b) * middle, "b": b, "c": c, "d": d, "crps": best}


def row(formula, inputs, value, tolerance, source):
    print(f"{formula},{inputs},{value:.6g},{tolerance},{source},derived,tests/independent/emos_fit.py")


for mean, sd, y in ((5, 2, 3), (1, 2, 0), (0.5, 3, 4), (-1, 2, 1)):
    row("crps_cut_normal", f"mean={mean} sd={sd} observed={y}", crps(mean, sd, y, True), "1e-5", "Thorarinsdottir & Gneiting 2010: by its integral")

chance = random.Random(11)
for name, cut in (("normal", False), ("cut", True)):
    cases = []
    for _ in range(24):
        truth = chance.gauss(18, 5) if not cut else abs(chance.gauss(6, 4))
        spread = chance.uniform(0.3, 1.5)
        x = 1.5 + 0.9 * truth + chance.gauss(0, 0.6 + spread)
        cases.append((round(max(x, 0), 1), round(spread * spread, 2), round(max(truth, 0), 1)))
    lists = " ".join(f"{what}={'/'.join(f'{case[i]:g}' for case in cases)}" for i, what in enumerate(("means", "variances", "observed")))
    for form, free in (("two", (0, 2)), ("full", (0, 1, 2, 3))):
        found = fit(cases, cut, free)
        for what, tolerance in (("crps", "1e-5"), ("a", "0.01"), ("b", "0.002"), ("c", "0.01")):
            if what == "b" and 1 not in free:
                continue
            row(f"emos_{what}", f"kind={name} form={form} {lists}", found[what], tolerance, "Gneiting et al. 2005: least mean CRPS found coordinate by coordinate")
