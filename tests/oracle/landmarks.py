"""The landmarks of real faces against the same networks in their own runtime (LiteRT), like for like: one pass, the same
sampling, written again in numpy from words.

    python tests/oracle/landmarks.py PHOTO... --tragion PROGRAM [--report OUT.json]
    python tests/oracle/landmarks.py PHOTO... --show        this side's landmarks alone, as JSON

Compares what `PROGRAM map PHOTO --json --passes 1` says. Bar: no landmark is further off, in the picture's plane, than 0.5 %
of the distance of the outer corners of the eyes (landmarks 33 and 263). Both sides open the photograph themselves, so the
difference of two JPEG decoders is in the figures too.
"""

import argparse
import json
import pathlib
import subprocess
import sys
import tempfile

import numpy as np
from ai_edge_litert.interpreter import Interpreter
from PIL import Image, ImageOps

from faces import ONE_KIND, download, genuine, member

ROOT = pathlib.Path(__file__).resolve().parents[2]
BAR = 0.5  # % of the distance 33-263
OUTER_EYES = (33, 263)

# The original files that data/models/*.onnx were made from (data/models/NOTICE.md). The detector is taken out of the
# package of its makers; no package of theirs carries the landmark network, so it lies in the repository.
PACKAGE = "mediapipe==0.10.21"
DETECTOR = ("mediapipe/modules/face_detection/face_detection_short_range.tflite",
            "bbff11cebd1eb27a1e004cae0b0e63ec8c551cbf34a4451148b4908b8db3eca8")
SURFACE = (ROOT / "data/models/face_landmarks_478.tflite",
           "c7d54204ce0448474c7f3fa9af494787c0965cbdd6f20fc72867e43046bd43d5")


class Network:
    """A network in its own runtime, one thread."""

    def __init__(self, weights):
        self.run = Interpreter(model_content=weights, num_threads=1)
        self.run.allocate_tensors()
        (self.input,) = [d["index"] for d in self.run.get_input_details()]
        self.outputs = [d["index"] for d in self.run.get_output_details()]

    def __call__(self, picture):
        self.run.set_tensor(self.input, picture[None].astype(np.float32))
        self.run.invoke()
        return [self.run.get_tensor(index).ravel().astype(np.float64) for index in self.outputs]


def networks():
    """Detector and landmark network, checked to be the pinned files."""
    with tempfile.TemporaryDirectory() as scratch:
        wheel = download(PACKAGE, scratch, ONE_KIND)
        detector = genuine(member(wheel, DETECTOR[0]), DETECTOR[1], DETECTOR[0])
    return Network(detector), Network(genuine(SURFACE[0].read_bytes(), SURFACE[1], SURFACE[0].name))


def upright(path):
    """The picture as a person sees it, rows x columns x RGB, 0 to 255."""
    with Image.open(path) as picture:
        return np.asarray(ImageOps.exif_transpose(picture).convert("RGB"))


def sampled(picture, centre, side, turn, n, black):
    """n x n samples of a turned square, 0 to 1. Sample i lies at (i + 0.5) / n of the side, a pixel's centre at its index and
    a half. Where a sample covers more than 1.5 pixels it is the mean of ceil(that), at most 4, places along each axis.
    Beyond the picture: black, or the edge repeated."""
    fine = side / n
    k = min(4, int(np.ceil(fine))) if fine > 1.5 else 1
    across = ((np.arange(n * k) + 0.5) / (n * k) - 0.5) * side
    gx, gy = np.meshgrid(across, across)
    x = centre[0] + gx * np.cos(turn) - gy * np.sin(turn) - 0.5
    y = centre[1] + gx * np.sin(turn) + gy * np.cos(turn) - 0.5
    height, width = picture.shape[:2]
    x0, y0 = np.floor(x).astype(int), np.floor(y).astype(int)
    value = np.zeros((n * k, n * k, 3))
    for dy in (0, 1):
        for dx in (0, 1):
            weight = np.where(dx, x - x0, 1 - (x - x0)) * np.where(dy, y - y0, 1 - (y - y0))
            cx, cy = x0 + dx, y0 + dy
            if black:
                weight = weight * ((cx >= 0) & (cx < width) & (cy >= 0) & (cy < height))
            value += weight[..., None] * picture[np.clip(cy, 0, height - 1), np.clip(cx, 0, width - 1)]
    return value.reshape(n, k, n, k, 3).mean(axis=(1, 3)) / 255.0


def anchors():
    """The 896 anchor centres, as shares of the input: a grid of 16 with two each, then one of 8 with six each."""
    rows = []
    for grid, each in ((16, 2), (8, 6)):
        middles = (np.arange(grid) + 0.5) / grid
        rows += [(x, y) for y in middles for x in middles for _ in range(each)]
    return np.array(rows)


ANCHORS = anchors()


def boxes(detector, picture, centre, side):
    """Boxes in an upright square of the picture at a score of 0.5 or more, not yet merged: rows of score, left, top, right,
    bottom and two eyes, in pixels."""
    outputs = detector(sampled(picture, centre, side, 0.0, 128, black=True) * 2 - 1)
    (raw,) = [o.reshape(896, 16) for o in outputs if o.size == 896 * 16]
    (logit,) = [o for o in outputs if o.size == 896]
    score = 1 / (1 + np.exp(-np.clip(logit, -100, 100)))
    middle, size = ANCHORS + raw[:, 0:2] / 128, raw[:, 2:4] / 128
    share = np.hstack([middle - size / 2, middle + size / 2, ANCHORS + raw[:, 4:6] / 128, ANCHORS + raw[:, 6:8] / 128])
    pixels = (share - 0.5) * side + np.tile(centre, 4)
    return np.column_stack([score, pixels])[score >= 0.5]


def overlap(box, others):
    """Common area by joint area."""
    low, high = np.maximum(box[1:3], others[:, 1:3]), np.minimum(box[3:5], others[:, 3:5])
    common = np.prod(np.maximum(high - low, 0), axis=1)
    area = np.prod(others[:, 3:5] - others[:, 1:3], axis=1)
    return common / np.maximum(np.prod(box[3:5] - box[1:3]) + area - common, 1e-12)


def merged(found):
    """Weighted suppression: the surest box and all that overlap it by more than 0.3 become their mean, weighted by score."""
    faces, left = [], found[np.argsort(-found[:, 0], kind="stable")]
    while len(left):
        same = overlap(left[0], left) > 0.3
        same[0] = True
        faces.append(np.average(left[same], axis=0, weights=left[same, 0]))
        left = left[~same]
    return faces


def detected(detector, picture):
    """The largest face; if the whole picture shows none, of windows of a half and then a quarter of its long side, each over
    half of its neighbour."""
    size = np.array([picture.shape[1], picture.shape[0]], float)
    for parts in (1, 2, 4):
        side = size.max() / parts
        if parts > 1 and side < 64:
            break
        middles = []
        for length in size:
            steps = int(np.ceil((length - side) / (side / 2))) if length > side else 0
            middles.append(np.linspace(side / 2, length - side / 2, steps + 1) if steps else np.array([length / 2]))
        rows = [boxes(detector, picture, np.array([x, y]), side) for y in middles[1] for x in middles[0]]
        # Windows merge their own boxes first; then one face seen in two windows becomes one.
        rows = [row for found in rows for row in merged(found)]
        faces = merged(np.array(rows)) if parts > 1 and rows else rows
        if faces:
            return max(faces, key=lambda f: (f[3] - f[1]) * (f[4] - f[2]))
    return None


def found(detector, surface, picture):
    """The 478 landmarks in pixels, one pass, and how sure the network is; None without a face."""
    face = detected(detector, picture)
    if face is None:
        return None
    centre, side = (face[1:3] + face[3:5]) / 2, 1.5 * max(face[3] - face[1], face[4] - face[2])
    eyes = face[7:9] - face[5:7]
    turn = np.arctan2(eyes[1], eyes[0])
    outputs = surface(sampled(picture, centre, side, turn, 256, black=False))
    (points,) = [o.reshape(478, 3) for o in outputs if o.size == 478 * 3]
    # Two single numbers come out; the first is the presence.
    presence = 1 / (1 + np.exp(-next(o[0] for o in outputs if o.size == 1)))
    scale = side / 256
    flat = (points[:, :2] - 128) * scale
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return np.column_stack([flat @ rotation.T + centre, points[:, 2] * scale]), presence


def asked(program, photo):
    """What the program says of the photograph, one pass."""
    answer = subprocess.run([program, "map", str(photo), "--json", "--passes", "1"], capture_output=True, text=True,
                            stdin=subprocess.DEVNULL, timeout=120)
    if answer.returncode:
        raise SystemExit(f"{program} map {photo} --json --passes 1 failed: {answer.stderr.strip()}")
    return np.array(json.loads(answer.stdout)["landmarks"], float)


def compared(ours, theirs):
    """Distances of the landmarks in % of the distance of the outer eye corners: in the plane, and in depth."""
    between = np.linalg.norm(theirs[OUTER_EYES[0], :2] - theirs[OUTER_EYES[1], :2])
    flat = 100 * np.linalg.norm(ours[:, :2] - theirs[:, :2], axis=1) / between
    depth = 100 * np.abs(ours[:, 2] - theirs[:, 2]) / between
    return {"max": flat.max(), "mean": flat.mean(), "worst": int(flat.argmax()), "depth_max": depth.max(),
            "outer_eyes_px": between}


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("photos", nargs="+", type=pathlib.Path)
    parser.add_argument("--tragion", help="the program")
    parser.add_argument("--report", type=pathlib.Path)
    parser.add_argument("--show", action="store_true", help="print this side's landmarks and compare nothing")
    options = parser.parse_args()
    if not options.tragion and not options.show:
        parser.error("name the program with --tragion, or ask for --show")
    detector, surface = networks()
    passed, failed, report, shown = 0, 0, [], {}
    for photo in options.photos:
        result = found(detector, surface, upright(photo))
        if result is None:
            failed += 1
            print(f"FAILED {photo.name}: no face found by the peer")
            continue
        peer, presence = result
        if options.show:
            shown[photo.name] = {"presence": round(presence, 4), "landmarks": peer.round(3).tolist()}
            continue
        ours = asked(options.tragion, photo)
        if ours.shape != peer.shape:
            failed += 1
            print(f"FAILED {photo.name}: {ours.shape} landmarks, the peer has {peer.shape}")
            continue
        row = compared(ours, peer)
        fine = bool(row["max"] <= BAR)  # not a number is a failure
        passed, failed = passed + fine, failed + (not fine)
        report.append({"photo": photo.name, "fine": fine, "presence": presence, **row})
        print(f"{'fine  ' if fine else 'FAILED'} {photo.name}: max {row['max']:.4f} % (landmark {row['worst']}), mean "
              f"{row['mean']:.4f} %, depth max {row['depth_max']:.4f} %; 100 % is {row['outer_eyes_px']:.1f} px; bar {BAR} %")
    if options.show:
        print(json.dumps(shown))
        return 0 if not failed else 1
    if options.report:
        options.report.parent.mkdir(parents=True, exist_ok=True)
        options.report.write_text(json.dumps({"bar": BAR, "photos": report}, indent=1) + "\n")
    print(f"{passed} passed, {failed} failed")
    return 0 if passed and not failed else 1


if __name__ == "__main__":
    sys.exit(main())
