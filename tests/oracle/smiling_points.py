"""Writes tests/fixtures/smiling-points.json: where the points of ten neutral faces are found again on the same faces smiling.

Run in a Python with numpy, scikit-image and pillow: python tests/oracle/smiling_points.py ../shared/data/real-brows/photos
Faces: Face Research Lab London Set (DeBruine & Jones 2017, doi 10.6084/m9.figshare.5047666, CC BY 4.0), which has points for
the neutral photos alone. Each point's surroundings are looked for on the smiling photo by normalized cross-correlation, a little
turned and scaled; what is found with a low correlation (a wing of the nose that the cheek covers, an eye squeezed shut) is left
out. All that is kept was looked at on the photos.
"""

import json
import pathlib
import sys

import numpy as np
import skimage
from PIL import Image
from skimage.feature import match_template
from skimage.transform import rescale, rotate

HALF = 34  # px of a point's surroundings on each side
REACH = 26  # px within which it is looked for
LEAST = 0.82  # correlation below which a point is left out
SCALES = (0.94, 0.97, 1, 1.03, 1.06)
TURNS = (-4, -2, 0, 2, 4)


def points(template):
    def outermost(first, last, pick):
        part = template[first:last + 1]
        return part[pick(part[:, 0])]
    middle = lambda a, b: (template[a] + template[b]) / 2
    return {
        "pupil.right": template[0], "pupil.left": template[1],
        "inner_corner.right": template[22], "inner_corner.left": template[23],
        "outer_corner.right": template[18], "outer_corner.left": template[27],
        "bridge_upper": middle(50, 56), "bridge_lower": middle(53, 59),
        "nostril.right": outermost(61, 65, np.argmin), "nostril.left": outermost(66, 70, np.argmax),
    }


def grey(path):
    return np.asarray(Image.open(path).convert("L"), float) / 255


def best(field, picture, scales, turns, inner=None):
    """The place in `field` that looks most like the picture: correlation, scale, turn, middle (x, y)."""
    found = (-1,)
    for scale in scales:
        for turn in turns:
            part = rotate(rescale(picture, scale, anti_aliasing=True), turn, mode="edge")
            if inner:
                cut = (part.shape[0] - inner) // 2
                part = part[cut:part.shape[0] - cut, cut:part.shape[1] - cut]
            if part.shape[0] > field.shape[0] or part.shape[1] > field.shape[1]:
                continue
            map_ = match_template(field, part)
            row, column = np.unravel_index(map_.argmax(), map_.shape)
            if map_[row, column] > found[0]:
                at = np.array([column + peak(map_[row], column), row + peak(map_[:, column], row)])
                found = (map_[row, column], scale, turn, at + (np.array(part.shape[::-1]) - 1) / 2)
    return found


def peak(line, at):
    """Where between its neighbours the top of a parabola lies."""
    if not 0 < at < len(line) - 1:
        return 0.0
    bend = line[at - 1] - 2 * line[at] + line[at + 1]
    return 0.0 if bend == 0 else 0.5 * (line[at - 1] - line[at + 1]) / bend


def smiling(folder, number):
    neutral, smile = grey(folder / f"{number}_03.jpg"), grey(folder / f"{number}_08.jpg")
    rows = (folder / f"{number}_03.tem").read_text().split("\n")[1:190]
    known = points(np.array([[float(word) for word in row.split()[:2]] for row in rows]))
    x, y = ((known["inner_corner.right"] + known["inner_corner.left"]) / 2).astype(int)
    # First the middle of the face at half size, which tells about where everything is.
    corner = np.array([max(0, x - 430), max(0, y - 330)])
    field = smile[corner[1]:y + 370:2, corner[0]:x + 430:2]
    _, scale, turn, middle = best(field, neutral[y - 90:y + 130:2, x - 230:x + 230:2], SCALES, TURNS)
    middle = corner + 2 * middle
    sin, cos = np.sin(-np.deg2rad(turn)), np.cos(-np.deg2rad(turn))
    found = {}
    for name, at in known.items():
        about = np.round(middle + scale * np.array([[cos, -sin], [sin, cos]]) @ (at - (x, y + 20))).astype(int)
        whole = HALF + REACH
        field = smile[about[1] - whole:about[1] + whole + 1, about[0] - whole:about[0] + whole + 1]
        px, py = np.round(at).astype(int)
        picture = neutral[py - HALF - 10:py + HALF + 11, px - HALF - 10:px + HALF + 11]
        near = [scale + step for step in (-.03, 0, .03)], [turn + step for step in (-2, 0, 2)]
        correlation, _, _, there = best(field, picture, *near, inner=2 * HALF - 7)
        if correlation >= LEAST:
            there = about - whole + there + (at - np.round(at))
            found[name] = [round(float(v), 1) for v in there]
    return found


def main():
    folder = pathlib.Path(sys.argv[1])
    numbers = sorted(path.name[:3] for path in folder.glob("*_08.jpg"))
    faces = {number: smiling(folder, number) for number in numbers}
    out = pathlib.Path(__file__).parent.parent / "fixtures" / "smiling-points.json"
    rows = ",\n".join(f"    {json.dumps(number)}: {json.dumps(found)}" for number, found in faces.items())
    versions = json.dumps({"numpy": np.__version__, "scikit-image": skimage.__version__})
    out.write_text(f'{{\n  "versions": {versions},\n  "faces": {{\n{rows}\n  }}\n}}\n')


main()
