"""Times what other libraries compute from the fixtures that the core is timed on: areas by GEOS, the fit of a brow and a balance by scipy.

Run by `cargo xtask bench` with the outlines of the core's own balances as JSON lists of 34 numbers. Prints one line of JSON: microseconds
for a pair, a fit and a balance, the sum of all areas, mm2, and what is left to wish for (balance_slsqp.py) after each balance, mm2.
"""

import json
import pathlib
import statistics
import sys
import time

import numpy as np
import shapely

import balance_slsqp
import fit_scipy

FIXTURES = pathlib.Path(__file__).parent.parent / "fixtures"
ROUNDS = 9


def median_us(act):
    act()
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        act()
        times.append((time.perf_counter() - start) * 1e6)
    return statistics.median(times)


def main():
    cases = json.loads((FIXTURES / "shapes.json").read_text())["cases"]
    pairs = [(shapely.Polygon(case["a"]), shapely.Polygon(case["b"])) for case in cases]
    brow = np.array(json.loads((FIXTURES / "fit-scipy.json").read_text())["brow_mm"])

    def areas():
        return sum(one.intersection(other).area + one.difference(other).area + other.difference(one).area for one, other in pairs)

    start = time.perf_counter()
    fit_scipy.fitted(brow)
    fit_us = (time.perf_counter() - start) * 1e6
    invented = json.loads((FIXTURES / "balance-slsqp.json").read_text())["pairs"][0]
    pair = balance_slsqp.Pair(np.array(invented["right"]), np.array(invented["left"]))
    start = time.perf_counter()
    wish, _, _ = pair.solve(*balance_slsqp.LIMITS[1])
    balance_us = (time.perf_counter() - start) * 1e6
    others = [float(pair.all((np.array(json.loads(text)) - pair.home) / pair.scale)[0]) for text in sys.argv[1:]]
    print(json.dumps({
        "areas_us": median_us(areas) / len(pairs), "areas_mm2": areas(), "fit_us": fit_us,
        "balance_us": balance_us, "wish_mm2": float(wish), "wishes_mm2": others,
    }))


if __name__ == "__main__":
    main()
