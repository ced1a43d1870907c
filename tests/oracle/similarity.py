"""Writes tests/fixtures/similarity.json: point pairs and their least-squares similarity by scikit-image.

Run in a Python with numpy and scikit-image: python tests/oracle/similarity.py
"""

import json
import pathlib

import numpy as np
import skimage
from skimage.transform import SimilarityTransform


def main():
    rng = np.random.default_rng(4)
    cases = []
    for count in (3, 4, 6, 8, 10):
        for _ in range(6):
            source = rng.normal(size=(count, 2)) * rng.uniform(5, 400)
            true = SimilarityTransform(scale=rng.uniform(.02, 5), rotation=rng.uniform(-3.1, 3.1), translation=rng.normal(size=2) * 300)
            target = true(source) + rng.normal(size=(count, 2)) * rng.uniform(0, 20)
            found = SimilarityTransform.from_estimate(source, target)
            cases.append({"from": source.tolist(), "to": target.tolist(), "scale": float(found.scale),
                          "turn": float(found.rotation), "shift": found.translation.tolist()})
    out = {"made_by": "tests/oracle/similarity.py",
           "versions": {"numpy": np.__version__, "scikit-image": skimage.__version__}, "cases": cases}
    path = pathlib.Path(__file__).parent.parent / "fixtures" / "similarity.json"
    path.write_text(json.dumps(out) + "\n")
    print(path, len(cases))


if __name__ == "__main__":
    main()
