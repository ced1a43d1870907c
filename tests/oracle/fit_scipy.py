"""Writes tests/fixtures/fit-scipy.json: outline points and areas, and one brow fitted by scipy.

Run in a Python with numpy, scipy and shapely: python tests/oracle/fit_scipy.py
The brow is invented: a bowed band of uneven thickness with a wavy edge, outside the outline's family.
"""

import json
import pathlib

import numpy as np
import scipy
import shapely
from scipy.optimize import least_squares

import outline_model as model

SAMPLES = 104
# Pulls of the fit, mm per typical change: positions, character, slant, tensions and fullness.
PULL = np.full(17, .02)
PULL[[4, 8, 13, 15]] = .05
PULL[3] = .1
PULL[[12, 14, 16]] = .7


def brow():
    """The invented natural brow, 120 points."""
    t = np.linspace(0, 1, 61)[:-1]
    x = 12 + 44 * t
    mid = 17 + 13 * np.sin(2.35 * t) - 6.5 * t ** 2 + .25 * np.sin(19 * t)
    half = (3.1 + .9 * np.sin(5 * t)) * np.sqrt(np.clip(1.04 - t, 0, 1)) * np.minimum(1, .62 + 6 * t)
    upper, lower = np.c_[x, mid + half], np.c_[x, mid - half]
    return np.concatenate([lower, upper[::-1]])


def even(ring, n):
    line = shapely.LinearRing(ring)
    return np.array([line.interpolate(i * line.length / n).coords[0] for i in range(n)])


def ring_distance(points, ring):
    line = shapely.LinearRing(ring)
    return shapely.distance(shapely.points(points), line)


def residuals(p, target, samples):
    q = model.points(p)
    edges = np.hypot(*(np.roll(q, -1, 0) - q).T)
    weight = (edges + np.roll(edges, 1)) / 2 / edges.sum() * len(q)
    there = np.sqrt(weight) * ring_distance(q, target)
    back = ring_distance(samples, q)
    return np.concatenate([there, back, PULL * (p - model.MEDIAN) / model.SCALE])


def mean_and_hausdorff(p, target):
    curve = model.dense(p)
    there = ring_distance(even(curve, 4000), target)
    back = ring_distance(even(target, 4000), curve)
    return (there.mean() + back.mean()) / 2, max(there.max(), back.max())


def fitted(target):
    """scipy's fit of an outline to a brow, from three places of the arch."""
    samples = even(target, SAMPLES)
    lo, hi = model.RANGES.T.copy()
    lo[4] = .05
    start = model.MEDIAN.copy()
    start[[0, 1, 2, 5, 6, 7, 9, 10, 11]] = [12, 15, 5, 38, 26.5, 7, 56, 17, 2]
    best = None
    for arch in (33, 38, 43):
        start[5] = arch
        fit = least_squares(residuals, start, bounds=(lo, hi), x_scale=model.SCALE, args=(target, samples),
                            xtol=1e-12, ftol=1e-12, gtol=1e-12, max_nfev=2000)
        if best is None or fit.cost < best.cost:
            best = fit
    return best


def main():
    target = np.round(brow(), 3)
    best = fitted(target)
    mean, hausdorff = mean_and_hausdorff(best.x, target)
    rng = np.random.default_rng(20)
    outlines = []
    while len(outlines) < 12:
        p = model.MEDIAN + rng.normal(size=17) * model.SCALE * np.where(np.arange(17) == 3, 1, .8)
        p = np.clip(p, *model.RANGES.T)
        p[11] = rng.uniform(.8, 4)
        if shapely.Polygon(model.dense(p)).is_valid:
            outlines.append({"params": p.tolist(), "points": model.points(p).tolist(), "area_mm2": model.area(p)})
    out = {
        "made_by": "tests/oracle/fit_scipy.py",
        "versions": {"numpy": np.__version__, "scipy": scipy.__version__, "shapely": shapely.__version__},
        "outlines": outlines,
        "brow_mm": target.tolist(),
        "fit": {"params": best.x.tolist(), "sum_of_squares": 2 * best.cost, "mean_mm": mean, "hausdorff_mm": hausdorff},
    }
    path = pathlib.Path(__file__).parent.parent / "fixtures" / "fit-scipy.json"
    path.write_text(json.dumps(out) + "\n")
    print(path, best.x.round(3), 2 * best.cost, mean, hausdorff)


if __name__ == "__main__":
    main()
