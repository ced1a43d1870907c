"""Writes tests/fixtures/face-192.png and face-network.json: an invented face as the network sees it, and what the reference runtime says.

Run in a Python with mediapipe 0.10.14 (with its face_landmark_with_attention.tflite), numpy and pillow, on demo/face.svg drawn by any
browser as a square picture: python tests/oracle/face_network.py face.png
The graph is the package's own, with the whole picture as its region, so that nothing is cropped or resized on the way.
"""

import json
import pathlib
import sys
from unittest.mock import MagicMock

# Parts of the package that draw on screens; nothing of them is used here.
for name in ("cv2", "matplotlib", "matplotlib.pyplot", "jax", "jax.numpy", "sounddevice"):
    sys.modules[name] = MagicMock()

import mediapipe
import numpy as np
from google.protobuf import text_format
from mediapipe.framework import calculator_pb2
from mediapipe.framework.formats import rect_pb2
from mediapipe.python import packet_creator, packet_getter
from mediapipe.python._framework_bindings import calculator_graph, image_frame, resource_util
from PIL import Image

GRAPH = """
input_stream: "image" input_stream: "roi" output_stream: "landmarks" input_side_packet: "with_attention"
node { calculator: "FaceLandmarkCpu" input_stream: "IMAGE:image" input_stream: "ROI:roi"
  input_side_packet: "WITH_ATTENTION:with_attention" output_stream: "LANDMARKS:landmarks" }
"""
SIDE = 192
# Pupils of the demo face, of 2400 px (demo/first.counterpoise.json).
PUPILS = np.array([[916.47, 1093.44], [1483.34, 1081.56]]) / 2400


def square(picture):
    """The level square around the face that the network looks at."""
    left, right = PUPILS * picture.width
    across = right - left
    down = np.array([-across[1], across[0]])
    scale = 3.2 / SIDE
    origin = (left + right) / 2 + 0.5 * down - 0.5 * 3.2 * (across + down)
    a, b = across * scale, down * scale
    return picture.transform((SIDE, SIDE), Image.AFFINE, (a[0], b[0], origin[0], a[1], b[1], origin[1]), Image.BICUBIC)


def run(pixels):
    resource_util.set_resource_dir(str(pathlib.Path(mediapipe.__file__).parent.parent))
    graph = calculator_graph.CalculatorGraph(graph_config=text_format.Parse(GRAPH, calculator_pb2.CalculatorGraphConfig()))
    found = []
    graph.observe_output_stream("landmarks", lambda _, packet: found.append(packet_getter.get_proto(packet)))
    graph.start_run({"with_attention": packet_creator.create_bool(True)})
    whole = rect_pb2.NormalizedRect(x_center=0.5, y_center=0.5, width=1, height=1)
    frame = packet_creator.create_image_frame(image_format=image_frame.ImageFormat.SRGB, data=pixels)
    graph.add_packet_to_input_stream("image", frame.at(0))
    graph.add_packet_to_input_stream("roi", packet_creator.create_proto(whole).at(0))
    graph.close_all_packet_sources()
    graph.wait_until_done()
    return [[round(point.x * SIDE, 6), round(point.y * SIDE, 6)] for point in found[0].landmark]


def main():
    fixtures = pathlib.Path(__file__).parent.parent / "fixtures"
    face = square(Image.open(sys.argv[1]).convert("RGB"))
    face.save(fixtures / "face-192.png", optimize=True)
    points = run(np.ascontiguousarray(np.asarray(face)))
    lines = ",\n".join(json.dumps(point) for point in points)
    (fixtures / "face-network.json").write_text(f'{{"by": "mediapipe {mediapipe.__version__}", "points_px": [\n{lines}\n]}}\n')
    print(len(points), points[468], points[473])


main()
