"""Fits where a brow lies to what the face network says of it, and writes `crates/vision/src/seed_table.rs`.

    cargo run --release -p counterpoise -- find DATA/real-brows/photos --json > found.jsonl
    python tests/oracle/brow_seed.py found.jsonl DATA/real-brows/photos > crates/vision/src/seed_table.rs

Needs numpy. Photos and templates: Face Research Lab London Set (DeBruine & Jones 2017, doi 10.6084/m9.figshare.5047666, CC BY 4.0). Only the
faces of even place (by number, the first is 0) are used, so that the others can say how well it does.

A ridge regression from 11 inputs (middle line of both rows, and how far apart they are) to the eight corners that were placed by hand, all in mm in
the side's (out, up), both sides together.
"""

import json
import sys
from pathlib import Path

import numpy as np

PUPILS_MM = 61.8
RIDGE = 40.0
EYE = ("pupil", "inner_corner", "outer_corner")
# Upper edge from the tail to the front, lower edge back: the template's points.
CORNERS = {"right": [71, 72, 73, 74, 75, 76, 84, 83], "left": [82, 81, 80, 79, 78, 77, 85, 86]}


def to_mm(found):
    """A function from px to a side's (out, up), by the eyes that were found."""
    at = {point["id"]: np.array([point["x_px"], point["y_px"]]) for point in found["points"]}
    right, left = ({name: at[f"{name}.{side}"] for name in EYE} for side in ("right", "left"))
    along = sum(left[name] - right[name] for name in EYE)
    along /= np.hypot(*along)
    up = np.array([along[1], -along[0]])
    scale = np.hypot(*(left["pupil"] - right["pupil"])) / PUPILS_MM
    middle = {name: (left[name] + right[name]) / 2 for name in EYE}
    centre = middle["inner_corner"]
    centre = centre + np.mean([(middle[name] - centre) @ along for name in EYE]) * along

    def place(points, side):
        off = (np.asarray(points) - centre) / scale
        return np.stack([off @ along * (1 if side == "left" else -1), off @ up], -1)

    return place


def template(file):
    lines = file.read_text().split("\n")
    return np.array([[float(value) for value in line.split()] for line in lines[1 : 1 + int(lines[0])]])


def main(found, photos):
    faces = [json.loads(line) for line in Path(found).read_text().splitlines()]
    faces = sorted((face for face in faces if face["photo"].endswith("_03.jpg")), key=lambda face: face["photo"])
    inputs, outputs = [], []
    for face in faces[::2]:
        place = to_mm(face)
        points = template(Path(photos) / (Path(face["photo"]).stem + ".tem"))
        for side, corners in CORNERS.items():
            upper, lower = (place(row, side) for row in face["brow_rows_px"][side])
            inputs.append([*((upper + lower) / 2).ravel(), (upper - lower)[:, 1].mean()])
            outputs.append(place(points[corners], side).ravel())
    inputs, outputs = np.array(inputs), np.array(outputs)
    mean_inputs, mean_outputs = inputs.mean(0), outputs.mean(0)
    off = inputs - mean_inputs
    weights = np.linalg.solve(off.T @ off + RIDGE * np.eye(off.shape[1]), off.T @ (outputs - mean_outputs)).T
    row = lambda values: "[" + ", ".join(f"{value:.4f}" for value in values) + "]"
    print("//! Made by `tests/oracle/brow_seed.py` from the Face Research Lab London Set (DeBruine & Jones 2017, doi 10.6084/m9.figshare.5047666,")
    print("//! CC BY 4.0): see [`crate::seed`].\n")
    print("use crate::seed::{CORNERS, INPUTS};\n")
    print("/// Means of the inputs, mm.")
    print(f"pub(crate) const MEAN_INPUTS: [f64; INPUTS] = {row(mean_inputs)};")
    print("/// Means of the corners, out and up in turn, mm.")
    print(f"pub(crate) const MEAN_CORNERS: [f64; 2 * CORNERS] = {row(mean_outputs)};")
    print("/// What each input adds to each coordinate.")
    print("pub(crate) const WEIGHTS: [[f64; INPUTS]; 2 * CORNERS] = [")
    for values in weights:
        print(f"    {row(values)},")
    print("];")


if __name__ == "__main__":
    main(*sys.argv[1:])
