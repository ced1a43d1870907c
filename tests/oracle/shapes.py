"""Reference values for areas and distances of polygons, computed without this project's code.

Run:  python3 tests/oracle/shapes.py > tests/fixtures/shapes.json
Needs numpy, scipy and shapely (GEOS); their versions are written into the file.

Areas, perimeters, intersections and differences come from shapely. The shrunk polygon is the polygon minus, for every
edge, the rectangle within the distance and, for every reflex corner, a fine fan of the disc: not shapely's buffer,
which first simplifies its input by a hundredth of the distance. Hausdorff distances are found on a 0.02 mm grid along
the edges and polished by scipy's bounded minimization; mean distances follow their definition point by point.
"""
import json
import math
import sys

import numpy as np
import scipy
import shapely
from scipy.optimize import minimize_scalar
from shapely.geometry import LinearRing, Point, Polygon
from shapely.ops import unary_union

ERODE_MM = 0.25
SAMPLES = 240
rng = np.random.default_rng(20240607)


def rounded(points):
    """Six decimals, so that the file and both readers hold the same numbers."""
    return [(round(float(x), 6), round(float(y), 6)) for x, y in points]


def brow(n, wobble):
    """An invented brow: a bent band with a blunt front, a thin tail and a smooth random edge."""
    length = rng.uniform(38, 52)
    start = rng.uniform(8, 18)
    height = rng.uniform(14, 20)
    arch = rng.uniform(0.5, 0.75)
    rise = rng.uniform(3, 9)
    thick = rng.uniform(4, 9)
    tip = rng.uniform(0.5, 2.5)
    phases = rng.uniform(0, 2 * math.pi, 6)

    def middle(t):
        if t < arch:
            return height + rise * math.sin(0.5 * math.pi * t / arch)
        return height + rise - (rise + 4) * ((t - arch) / (1 - arch)) ** 1.7

    def half(t):
        return 0.5 * (tip + (thick - tip) * (1 - t ** 3) * (1 - 0.25 * math.exp(-8 * t)))

    upper = [(start + length * t, middle(t) + half(t)) for t in np.linspace(1, 0, n // 2)]
    lower = [(start + length * t, middle(t) - half(t)) for t in np.linspace(0, 1, n - n // 2)]
    ring = lower + upper
    m = len(ring)
    wave = lambda i, k: wobble * math.sin((k + 2) * 2 * math.pi * i / m + phases[k])
    return rounded((x, y + sum(wave(i, k) for k in range(6)) / 6) for i, (x, y) in enumerate(ring))


def star(n, low, high, at):
    """A polygon that is seen whole from its middle, with deep reflex corners."""
    radii = rng.uniform(low, high, n)
    return rounded(
        (at[0] + r * math.cos(2 * math.pi * i / n), at[1] + r * math.sin(2 * math.pi * i / n))
        for i, r in enumerate(radii)
    )


def box(x0, y0, x1, y1, per_side=3):
    side = lambda a, b: [(a[0] + (b[0] - a[0]) * i / per_side, a[1] + (b[1] - a[1]) * i / per_side) for i in range(per_side)]
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return rounded(p for i in range(4) for p in side(corners[i], corners[(i + 1) % 4]))


def circle(x, y, r, n=720):
    return rounded((x + r * math.cos(2 * math.pi * i / n), y + r * math.sin(2 * math.pi * i / n)) for i in range(n))


def pairs():
    for k in range(24):
        yield f"brow {k}", brow(int(rng.integers(60, 170)), 0.4), brow(int(rng.integers(60, 170)), 0.4)
    for k in range(8):
        a = brow(160, 0.3)
        dx, dy = rng.uniform(-1.5, 1.5, 2)
        yield f"shifted brow {k}", a, rounded((x + dx, y + dy) for x, y in a)
    for k in range(8):
        yield f"star {k}", star(31, 6, 14, (30, 20)), star(24, 5, 13, (33, 22))
    yield "same brow", *(2 * [brow(120, 0.4)])
    yield "boxes one up", box(10, 0, 60, 8), box(10, 1, 60, 9)
    yield "boxes sharing an edge", box(10, 0, 30, 8), box(30, 0, 60, 8)
    yield "boxes apart", box(10, 0, 30, 8), box(40, 0, 60, 8)
    yield "box in box", box(10, 0, 60, 20), box(20, 5, 40, 15)
    yield "concentric circles", circle(30, 20, 10), circle(30, 20, 8)
    yield "circles two apart", circle(30, 20, 10), circle(32, 20, 10)


def inward_turns(points, i):
    """Inward normals before and after corner i, and the turn between them."""
    a, b, c = (np.array(points[(i + k) % len(points)]) for k in (-1, 0, 1))
    normal = lambda v: np.array([-v[1], v[0]]) / np.hypot(*v)
    before, after = normal(b - a), normal(c - b)
    turn = math.atan2(before[0] * after[1] - before[1] * after[0], before @ after)
    return b, before, turn


def shrunk(points, distance):
    whole = Polygon(points)
    assert whole.exterior.is_ccw
    taken = []
    for i in range(len(points)):
        b, before, turn = inward_turns(points, i)
        c = np.array(points[(i + 1) % len(points)])
        along = c - b
        inward = np.array([-along[1], along[0]]) / np.hypot(*along) * distance
        taken.append(Polygon([b, c, c + inward, b + inward]))
        if turn < -1e-9:
            steps = max(2, math.ceil(-turn / 5e-4))
            angles = np.linspace(0, turn, steps + 1)
            rotate = lambda t: np.array([before[0] * math.cos(t) - before[1] * math.sin(t), before[0] * math.sin(t) + before[1] * math.cos(t)])
            taken.append(Polygon([b] + [b + distance * rotate(t) for t in angles]))
    return whole.difference(unary_union(taken))


def directed_hausdorff(a, b):
    ring, other = LinearRing(a), LinearRing(b)
    count = int(ring.length / 0.02)
    along = np.linspace(0, ring.length, count, endpoint=False)
    # Corners belong to the candidates as well.
    corners = np.cumsum([0.0] + [math.dist(p, q) for p, q in zip(a, a[1:])])
    along = np.sort(np.concatenate([along, corners]))
    distances = shapely.distance(shapely.line_interpolate_point(ring, along), other)
    best = float(distances.max())
    for i in np.argsort(distances)[-40:]:
        low, high = along[max(i - 1, 0)], along[min(i + 1, len(along) - 1)]
        if high > low:
            found = minimize_scalar(lambda s: -ring.interpolate(s).distance(other), bounds=(low, high), method="bounded", options={"xatol": 1e-11})
            best = max(best, -float(found.fun))
    return best


def mean_one_way(a, b):
    ring, other = LinearRing(a), LinearRing(b)
    along = ring.length * np.arange(SAMPLES) / SAMPLES
    return float(np.mean([ring.interpolate(s).distance(other) for s in along]))


def mean_distance(a, b):
    return 0.5 * (mean_one_way(a, b) + mean_one_way(b, a))


def turned(points, angle):
    c, s = math.cos(angle), math.sin(angle)
    return [(c * x - s * y, s * x + c * y) for x, y in points]


def case(name, a, b):
    pa, pb = Polygon(a), Polygon(b)
    assert pa.is_valid and pb.is_valid, name
    small = shrunk(a, ERODE_MM)
    degree = math.radians(1)
    return {
        "name": name,
        "a": a,
        "b": b,
        "area_a": pa.area,
        "perimeter_a": pa.length,
        "intersection": pa.intersection(pb).area,
        "a_minus_b": pa.difference(pb).area,
        "b_minus_a": pb.difference(pa).area,
        "shrunk_a": small.area,
        "shrunk_a_minus_b": small.difference(pb).area,
        "hausdorff": max(directed_hausdorff(a, b), directed_hausdorff(b, a)),
        "mean_distance": mean_distance(a, b),
        "mean_distance_rolled": [mean_distance(turned(a, r), turned(b, -r)) for r in (-degree, degree)],
    }


def main():
    out = {
        "made_by": "tests/oracle/shapes.py",
        "versions": {"python": sys.version.split()[0], "numpy": np.__version__, "scipy": scipy.__version__, "shapely": shapely.__version__, "geos": shapely.geos_version_string},
        "units": "mm, mm2",
        "erode_mm": ERODE_MM,
        "samples": SAMPLES,
        "cases": [],
    }
    for name, a, b in pairs():
        if not (Polygon(a).is_valid and Polygon(b).is_valid):
            continue
        out["cases"].append(case(name, a, b))
    json.dump(out, sys.stdout, separators=(",", ":"))
    print(f"{len(out['cases'])} cases", file=sys.stderr)


main()
