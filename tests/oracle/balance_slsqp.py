"""Writes tests/fixtures/balance-slsqp.json: invented pairs of brows balanced by scipy's SLSQP.

Run in a Python with numpy, scipy and shapely: python tests/oracle/balance_slsqp.py
Same objective, boxes and limits as the Rust solver; areas by shapely (GEOS), all slopes by differences.
"""

import json
import pathlib

import numpy as np
import scipy
import shapely
from scipy.optimize import minimize

import outline_model as model

PULL_HOME = 5e-4
LEEWAY = np.array([4, 3, 4, 20, .6, 6, 3, 4, .6, 5, 3, 2.5, .8, 2, .8, 25, 1])
HEIGHTS = [1, 6, 10]
LIFT = LOWER = 3.0
MIN_THICKNESS, LEAST_TIP, LEAST_SOFT = 2.0, .8, .03
LIMITS = [(2.0, 15.0), (5.0, 10.0), (10.0, 5.0)]
PAIRS = 10
STEP = 1e-6


def fast_points(p):
    return np.concatenate([model.at(c, np.arange(n) / n) for c, n in zip(model.cubics(p, rounds=20), model.PIECES)])


def box(natural, other):
    leeway_low = np.maximum(LEEWAY, natural - other)
    leeway_high = np.maximum(LEEWAY, other - natural)
    leeway_low[HEIGHTS], leeway_high[HEIGHTS] = LOWER, LIFT
    low = np.maximum(natural - leeway_low, model.RANGES[:, 0])
    high = np.minimum(natural + leeway_high, model.RANGES[:, 1])
    for i, floor in ((2, MIN_THICKNESS), (7, MIN_THICKNESS), (11, LEAST_TIP), (4, LEAST_SOFT)):
        low[i] = min(max(low[i], floor), high[i])
    return low, high


def stretches(q):
    edge = np.hypot(*(np.roll(q, -1, 0) - q).T)
    return (edge + np.roll(edge, 1)) / 2


class Pair:
    def __init__(self, right, left):
        self.home = np.concatenate([right, left])
        q = [fast_points(right), fast_points(left)]
        self.natural = [shapely.Polygon(points) for points in q]
        w = stretches(q[0]) + stretches(q[1])
        self.w = w / w.sum()
        self.scale = np.tile(model.SCALE, 2)
        boxes = [box(right, left), box(left, right)]
        self.last = None
        self.low, self.high = (np.concatenate([b[k] for b in boxes]) for k in (0, 1))

    def side(self, k, p):
        """Points, and removed and added per cent, of one side."""
        q = fast_points(p)
        plan, natural = shapely.Polygon(q), self.natural[k]
        kept = shapely.intersection(plan if plan.is_valid else plan.buffer(0), natural).area
        return q, 100 * np.array([natural.area - kept, plan.area - kept]) / natural.area

    def all(self, z):
        """Wish, areas and their slopes, all at once; forward differences, side by side."""
        if self.last is not None and np.array_equal(self.last[0], z):
            return self.last[1]
        p = self.home + z * self.scale
        base = [self.side(k, p[17 * k:17 * k + 17]) for k in (0, 1)]
        d = base[0][0] - base[1][0]
        wish = np.sum(self.w * np.sum(d * d, 1)) + PULL_HOME * np.sum(z * z)
        slope, area_slope = 2 * PULL_HOME * z, np.zeros((4, 34))
        for v in range(34):
            k = v // 17
            moved = p[17 * k:17 * k + 17].copy()
            moved[v % 17] += STEP * self.scale[v]
            q, a = self.side(k, moved)
            by = (q - base[k][0]) / STEP
            slope[v] += (2 if k == 0 else -2) * np.sum(self.w * np.sum(d * by, 1))
            area_slope[2 * k:2 * k + 2, v] = (a - base[k][1]) / STEP
        self.last = z.copy(), (wish, slope, np.concatenate([base[0][1], base[1][1]]), area_slope)
        return self.last[1]

    def solve(self, removed, added):
        limits = np.array([removed, added, removed, added])
        mean = (self.home[:17] + self.home[17:]) / 2
        best = None
        for start in [np.clip(np.tile(mean, 2), self.low, self.high)]:
            z0 = (start - self.home) / self.scale
            fit = minimize(lambda z: self.all(z)[0], z0, jac=lambda z: self.all(z)[1], method="SLSQP",
                           bounds=list(zip((self.low - self.home) / self.scale, (self.high - self.home) / self.scale)),
                           constraints=[{"type": "ineq", "fun": lambda z: limits - self.all(z)[2],
                                         "jac": lambda z: -self.all(z)[3]}],
                           options={"maxiter": 100, "ftol": 1e-8})
            excess = (self.all(fit.x)[2] - limits).max()
            if excess < .05 and (best is None or fit.fun < best[0]):
                best = (fit.fun, excess, fit.x)
        return best


def main():
    rng = np.random.default_rng(7)
    spread = np.array([1.5, 1.2, .8, 6, .1, 2.5, 1.2, .8, .15, 1.5, 1.5, .5, .15, .3, .15, 4, .2])
    pairs = []
    while len(pairs) < PAIRS:
        middle = model.MEDIAN + rng.normal(size=17) * spread
        middle[11] = rng.uniform(1.2, 3)
        right, left = (np.clip(middle + rng.normal(size=17) * spread, *model.RANGES.T) for _ in range(2))
        right[4], left[4] = np.clip([right[4], left[4]], .3, .9)
        if not all(shapely.Polygon(model.dense(p)).is_valid for p in (right, left)):
            continue
        pair = Pair(right, left)
        answers = []
        for removed, added in LIMITS:
            best = pair.solve(removed, added)
            if best is None:
                print("no answer", removed, added)
                continue
            wish, excess, z = best
            answers.append({"removed_pct": removed, "added_pct": added, "wish_mm2": float(wish), "worst_excess_pct": float(excess)})
        print(len(pairs), [(a["removed_pct"], a["added_pct"], round(float(a["wish_mm2"]), 4)) for a in answers], flush=True)
        pairs.append({"right": right.tolist(), "left": left.tolist(), "answers": answers})
    out = {
        "made_by": "tests/oracle/balance_slsqp.py",
        "versions": {"numpy": np.__version__, "scipy": scipy.__version__, "shapely": shapely.__version__},
        "pairs": pairs,
    }
    path = pathlib.Path(__file__).parent.parent / "fixtures" / "balance-slsqp.json"
    path.write_text(json.dumps(out) + "\n")


if __name__ == "__main__":
    main()
