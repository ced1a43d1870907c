"""Times what other libraries compute from the fixtures that the core is timed on: areas by GEOS, the fit of a brow by scipy.

Run by `cargo xtask bench`. Prints one line of JSON: microseconds for a pair and for a fit, and the sum of all areas, mm2.
"""

import json
import pathlib
import statistics
import time

import numpy as np
import shapely

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
    print(json.dumps({"areas_us": median_us(areas) / len(pairs), "areas_mm2": areas(), "fit_us": fit_us}))


if __name__ == "__main__":
    main()
