"""Times a photograph's way to its measurement, here and in Python; started by bench/measure.

The peer is what a Python user would write for the same: OpenCV decodes, mediapipe's face mesh with irises finds the face, numpy
and colour-science make linear light and CIELAB of it. It averages the same areas (the under-eye band and the cheek disc of both
sides, filled by OpenCV), leaves out the same pixels, divides out the light on the smooth face by least squares (constant, normal
and lateral gradient at landmarks of skin) and draws 200 block bootstraps. It does less than this program does: no profile, no
card, no gates, no lids on the picture's edge, no thrown shadows, no shifted areas, no brown, blue-red and relief, no heights.

Whole processes: start, decoding a JPEG of 4000 x 3000, values, peak memory of the child as the kernel counted it. Warm: what one more
photograph costs with everything loaded; this program's from a folder less its start, on one core and on two. Plain decoding
is libjpeg-turbo through the faster of OpenCV and simplejpeg, on one core. Runs of both alternate; medians are judged.
"""

import argparse
import csv
import functools
import json
import os
import pathlib
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time

SPEED, MEMORY, DECODING, BOTH_CORES = 5.0, 3.0, 2.0, 1.6  # times faster, less, plain decoding at most, cores in use at least
WIDTH, HEIGHT = 4000, 3000
WARM = 40  # photographs of the folder that the warm time is taken from
LONGEST_S = 300  # the large folder takes smaller photographs if it would take longer
BUSY = 2.0  # load above which other work shows in the times
REAL = "glasses.jpg"  # the largest real photograph
KINDS = 12  # different photographs in the large folder
ROOT = pathlib.Path(__file__).resolve().parents[1]

# Own left, outer to inner; as crates/face/src/region.rs has them. The own right has the mirror landmarks.
LID = {"left": [263, 249, 390, 373, 374, 380, 381, 382, 362], "right": [33, 7, 163, 144, 145, 153, 154, 155, 133]}
ROW = {"left": [(448, 346), (449, 347), (450, 348), (451, 349), (452, 350), (453, 357)],
       "right": [(228, 117), (229, 118), (230, 119), (231, 120), (232, 121), (233, 128)]}
CHEEK = {"left": (280, 330), "right": (50, 101)}
BELOW_LID_MM, CHEEK_MM, IRIS_MM, SPOT_MM, BLOCK_MM, DRAWS, MOST = 2.0, 8.0, 11.71, 1.6, 2.0, 200, 6000
# The nominal cheek of a relative measurement by the least angle (degrees) of its class, as this program has it.
NOMINAL = [(55, [65.8, 9.5, 9.9]), (41, [63.5, 10.2, 12.2]), (28, [60.2, 11.1, 14.9]), (10, [56.0, 11.9, 17.4]),
           (-30, [46.7, 12.9, 18.6]), (-181, [36.4, 12.5, 13.6])]


# The peer

@functools.cache
def libraries():
    """Everything the peer imports, so that this process itself can stay small."""
    import colour
    import cv2
    import mediapipe
    import numpy
    from scipy import interpolate

    return numpy, cv2, mediapipe, colour, interpolate


@functools.cache
def canonical():
    """The canonical face in millimetres, its normals, and which of its landmarks lie on plain skin."""
    np, _, mediapipe, _, _ = libraries()

    def table(name, kind):
        with (ROOT / "data/models" / name).open() as file:
            rows = [row for row in csv.reader(line for line in file if not line.startswith("#"))]
        return np.array(rows[1:], dtype=kind)

    points = table("canonical_vertices.csv", float)[:, :3] * 10
    faces = table("canonical_triangles.csv", int)
    flat = np.cross(points[faces[:, 1]] - points[faces[:, 0]], points[faces[:, 2]] - points[faces[:, 0]])
    normals = np.zeros_like(points)
    for corner in range(3):
        np.add.at(normals, faces[:, corner], flat)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    if normals[:, 2].mean() < 0:
        normals = -normals
    mesh = mediapipe.solutions.face_mesh
    parts = [mesh.FACEMESH_LEFT_EYE, mesh.FACEMESH_RIGHT_EYE, mesh.FACEMESH_LEFT_EYEBROW, mesh.FACEMESH_RIGHT_EYEBROW,
             mesh.FACEMESH_LIPS, mesh.FACEMESH_NOSE]
    away = points[sorted({n for part in parts for edge in part for n in edge})]
    near = np.linalg.norm(points[:, None] - away, axis=2).min(axis=1)
    return points, normals, np.flatnonzero((near > 9) & (normals[:, 2] > 0.3))


@functools.cache
def to_linear():
    """Linear light of the 256 levels of sRGB."""
    np, _, _, colour, _ = libraries()
    return colour.cctf_decoding(np.arange(256) / 255, function="sRGB").astype(np.float32)


def mesh():
    _, _, mediapipe, _, _ = libraries()
    return mediapipe.solutions.face_mesh.FaceMesh(static_image_mode=True, max_num_faces=1, refine_landmarks=True)


def landmarks(net, picture):
    np = libraries()[0]
    found = net.process(picture).multi_face_landmarks
    if not found or len(found[0].landmark) != 478:
        raise SystemExit("the peer found no face: nothing was compared")
    height, width = picture.shape[:2]
    return np.array([[p.x * width, p.y * height, p.z * width] for p in found[0].landmark])


def laid(points, seen):
    """The rotation of the canonical face onto the landmarks, by least squares."""
    np = libraries()[0]
    a, b = points - points.mean(axis=0), seen - seen.mean(axis=0)
    u, _, vt = np.linalg.svd(b.T @ a)
    sign = np.diag([1, 1, np.sign(np.linalg.det(u @ vt))])
    return u @ sign @ vt


def luminance(rgb):
    return rgb @ libraries()[0].array([0.2126, 0.7152, 0.0722], dtype=rgb.dtype)


class Scene:
    """One photograph with its landmarks, scale, pose and the light on its smooth face."""

    def __init__(self, net, picture):
        np, cv2, _, _, interpolate = libraries()
        self.picture, self.marks = picture, landmarks(net, picture)
        flat = self.marks[:, :2]
        irises = [np.linalg.norm(flat[a] - flat[b]) for a, b in [(469, 471), (474, 476)]]
        self.px = np.mean(irises) / IRIS_MM  # pixels to a millimetre
        points, normals, skin = canonical()
        rotation = laid(points, self.marks[:468] * [1, -1, -1])
        self.down = (rotation @ [0, -1, 0])[:2] * [1, -1] * self.px
        # The light: constant, normal and lateral gradient, robust by leaving out what does not fit.
        light = np.log(np.maximum(luminance(self.spots(flat[skin])), 1e-4))
        terms = np.column_stack([np.ones(len(points)), normals, points[:, 0] / 100])
        kept = np.ones(len(skin), bool)
        for _ in range(4):
            fit = np.linalg.lstsq(terms[skin][kept], light[kept], rcond=None)[0]
            rest = light - terms[skin] @ fit
            kept = abs(rest) <= 3 * 1.4826 * np.median(abs(rest[kept]))
        facing = (rotation.T @ [0, 0, 1])
        log_shade = terms[:, 1:] @ fit[1:] - facing @ fit[1:4]
        self.shade = interpolate.LinearNDInterpolator(flat[:468], log_shade, fill_value=0.0)
        self.rotation, self.points, self.normals = rotation, points, normals

    def spots(self, places):
        """Mean linear light of 7 x 7 pixels in a small square about each place."""
        np = libraries()[0]
        step = np.linspace(-1, 1, 7) * SPOT_MM * self.px
        height, width = self.picture.shape[:2]
        x = np.clip(places[:, 0, None, None] + step[None, :], 0, width - 1).astype(int)
        y = np.clip(places[:, 1, None, None] + step[:, None], 0, height - 1).astype(int)
        return to_linear()[self.picture[y, x]].mean(axis=(1, 2))

    def band(self, side):
        """The outline of the under-eye band, and how far along the eye each place lies."""
        np = libraries()[0]
        flat = self.marks[:, :2]
        lid = flat[LID[side]]
        along = lid[8] - lid[0]
        row = np.array([(flat[a] + flat[b]) / 2 for a, b in ROW[side]])
        return np.vstack([lid + BELOW_LID_MM * self.down, row[::-1]]), (lid[0], along / (along @ along))

    def cheek(self, side):
        """The outline of the disc on the cheek, lying on the surface."""
        np = libraries()[0]
        flat, (a, b) = self.marks[:, :2], CHEEK[side]
        normal = self.normals[a] + self.normals[b]
        normal /= np.linalg.norm(normal)
        x = np.cross([0, 1, 0], normal)
        x /= np.linalg.norm(x)
        angle = np.linspace(0, 2 * np.pi, 32, endpoint=False)[:, None]
        ring = (np.cos(angle) * x + np.sin(angle) * np.cross(normal, x)) @ self.rotation.T
        return (flat[a] + flat[b]) / 2 + CHEEK_MM * self.px * ring[:, :2] * [1, -1], None

    def gathered(self, outline, between):
        """Sums of blocks of an area: as photographed and without the light on the smooth face; the share of pixels left out."""
        np, cv2, _, _, _ = libraries()
        low, high = np.floor(outline.min(axis=0)).astype(int), np.ceil(outline.max(axis=0)).astype(int) + 1
        levels = self.picture[low[1]:high[1], low[0]:high[0]]
        mask = np.zeros(levels.shape[:2], np.uint8)
        cv2.fillPoly(mask, [np.round((outline - low) * 256).astype(np.int32)], 1, shift=8)
        # An even grid of about so many pixels, as this program takes.
        stride = max(1, int(np.ceil(np.sqrt(cv2.countNonZero(mask) / MOST))))
        y, x = np.nonzero(mask[::stride, ::stride])
        x, y = x * stride, y * stride
        at = np.column_stack([x, y]) + low + 0.5
        if between is not None:
            share = (at - between[0]) @ between[1]
            inside = (share >= 0) & (share <= 1)
            x, y, at = x[inside], y[inside], at[inside]
        levels = levels[y, x]
        usable = (levels.max(axis=1) < 250) & (levels.min(axis=1) > 2)
        levels, at, all_of_them = levels[usable], at[usable], len(levels)
        plain = to_linear()[levels]
        skin = plain / np.exp(self.shade(at))[:, None]
        depth = np.log(np.maximum(luminance(skin), 1e-6))
        away = abs(depth - np.median(depth))
        kept = away <= 3 * max(1.4826 * np.median(away), 0.01)
        block = (at[kept] // (BLOCK_MM * self.px)).astype(int)
        _, block = np.unique(block[:, 0] * 100_000 + block[:, 1], return_inverse=True)
        sums = lambda v: np.column_stack([np.bincount(block, v[kept, k]) for k in range(3)])
        return sums(plain), sums(skin), np.bincount(block), 1 - kept.sum() / all_of_them


def lab(rgb):
    """CIELAB, D65, of linear sRGB."""
    np, _, _, colour, _ = libraries()
    space = colour.RGB_COLOURSPACES["sRGB"]
    return colour.XYZ_to_Lab(np.asarray(rgb) @ space.matrix_RGB_to_XYZ.T, space.whitepoint)


def of_lab(value):
    np, _, _, colour, _ = libraries()
    space = colour.RGB_COLOURSPACES["sRGB"]
    return colour.Lab_to_XYZ(np.asarray(value, float), space.whitepoint) @ space.matrix_XYZ_to_RGB.T


def measured(net, picture):
    """The peer's answer for one photograph."""
    np, _, _, colour, _ = libraries()
    scene = Scene(net, picture)
    outlines = {side: {"band": scene.band(side), "cheek": scene.cheek(side)} for side in LID}
    areas = {side: {name: scene.gathered(*o) for name, o in both.items()} for side, both in outlines.items()}
    mean = lambda area, which: area[which].sum(axis=0) / area[2].sum()
    seen = lab(np.mean([mean(areas[side]["cheek"], 0) for side in LID], axis=0))
    angle = np.degrees(np.arctan2(seen[0] - 50, seen[2]))
    nominal = np.array(next(cheek for least, cheek in NOMINAL if angle > least))
    base = of_lab(nominal)
    chance = np.random.default_rng(1)

    def differences(band, cheek):
        there = lab(base * band / np.maximum(cheek, 1e-9))
        return np.column_stack([np.atleast_2d(there - nominal),
                                np.atleast_1d(colour.delta_E(there, np.broadcast_to(nominal, there.shape), method="CIE 2000"))])

    def drawn(area, which):
        blocks = chance.integers(len(area[2]), size=(DRAWS, len(area[2])))
        return area[which][blocks].sum(axis=1) / area[2][blocks].sum(axis=1)[:, None]

    def shadow(band, cheek, which):
        value = differences(mean(band, which), mean(cheek, which))[0]
        spread = differences(drawn(band, which), drawn(cheek, which)).std(axis=0, ddof=1)
        keys = ("dL", "da", "db", "dE00")
        return {"shadow": dict(zip(keys, value.tolist())), "u95": dict(zip(keys, (1.96 * spread).tolist()))}

    sides = {}
    for side, both in areas.items():
        band, cheek = both["band"], both["cheek"]
        sides[side] = {**shadow(band, cheek, 1), "as_photographed": shadow(band, cheek, 0), "left_out": [band[3], cheek[3]],
                       "outlines_px": {name: o[0].tolist() for name, o in outlines[side].items()}}
    return {"sides": sides, "mm_per_px": 1 / scene.px}


def opened(path):
    _, cv2, _, _, _ = libraries()
    return cv2.cvtColor(cv2.imread(path), cv2.COLOR_BGR2RGB)


def peer_cold(path):
    print(json.dumps(measured(mesh(), opened(path))))


def timed(runs, work):
    """Milliseconds of each run, after two that are not counted."""
    took = []
    for i in range(runs + 2):
        begun = time.perf_counter()
        work()
        if i >= 2:
            took.append(1000 * (time.perf_counter() - begun))
    return took


def peer_warm(path, runs):
    net = mesh()
    photo = lambda: json.dumps(measured(net, opened(path)))
    wall = timed(runs, photo)
    begun = time.process_time()
    for _ in range(runs):
        photo()
    print(json.dumps({"photo_ms": wall, "cpu_ms": 1000 * (time.process_time() - begun) / runs}))


def decoding(path, runs):
    """Plain decoding of the bytes of a file, by libjpeg-turbo under two covers."""
    import cv2
    import numpy
    import simplejpeg

    cv2.setNumThreads(1)
    data = pathlib.Path(path).read_bytes()
    array = numpy.frombuffer(data, numpy.uint8)
    print(json.dumps({"OpenCV": timed(runs, lambda: cv2.imdecode(array, cv2.IMREAD_COLOR)),
                      "simplejpeg": timed(runs, lambda: simplejpeg.decode_jpeg(data))}))


# Photographs

def photograph(face, path, size=(WIDTH, HEIGHT), kind=0):
    """The face on 4000 x 3000 pixels, quality 92; other kinds are brighter or darker, and moved a little."""
    from PIL import Image, ImageOps

    with Image.open(face) as picture:
        picture = ImageOps.exif_transpose(picture).convert("RGB")
    width, height = picture.size
    wide, high = min(width, height * 4 // 3), min(height, width * 3 // 4)
    # Upright pictures keep their top, wide ones their left: there the faces are.
    left, top = (0, 0) if kind < 6 else (min(kind, width - wide), min(kind, height - high))
    kept = picture.crop((left, top, left + wide, top + high)).resize(size, Image.Resampling.LANCZOS)
    if kind:
        gain = 1 + 0.02 * (kind - KINDS / 2)
        kept = kept.point([min(255, round(v * gain)) for v in range(256)] * 3)
    kept.save(path, quality=92)


# Comparing

def mb(kept):
    """Kilobytes on Linux, bytes on macOS, to megabytes."""
    return kept / (1024 * 1024 if sys.platform == "darwin" else 1024)


class Child:
    """A process that was run: milliseconds, CPU milliseconds, peak memory in MB, what it wrote."""

    def __init__(self, command, cores=2, may_fail=False):
        allowed = sorted(os.sched_getaffinity(0))[:cores] if hasattr(os, "sched_setaffinity") else None
        with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
            begun = time.perf_counter()
            process = subprocess.Popen(
                [str(c) for c in command], stdin=subprocess.DEVNULL, stdout=out, stderr=err,
                preexec_fn=(lambda: os.sched_setaffinity(0, allowed)) if allowed and cores == 1 else None)
            _, status, usage = os.wait4(process.pid, 0)
            self.ms = 1000 * (time.perf_counter() - begun)
            self.code = process.returncode = os.waitstatus_to_exitcode(status)
            self.cpu_ms, self.mb = 1000 * (usage.ru_utime + usage.ru_stime), mb(usage.ru_maxrss)
            out.seek(0)
            err.seek(0)
            self.out = out.read()
            if self.code and not may_fail:
                raise SystemExit(f"{' '.join(map(str, command))} failed: {err.read().decode(errors='replace')[-2000:]}")

    def json(self):
        return json.loads(self.out)


def this(*arguments):
    return [sys.executable, __file__, *arguments]


def usable(tragion, photo):
    """Why a photograph is refused; nothing if it is measured."""
    child = Child([tragion, "measure", photo, "--json"], may_fail=True)
    try:
        answer = child.json()["photos"][0]
    except (ValueError, KeyError, IndexError):
        return [f"exit code {child.code}"]
    if answer["usable"]:
        return []
    return [g["name"] for g in answer["gates"] if not g["passed"]] or [answer.get("error") or "no values"]


def chosen(options, scratch):
    """The photograph that both measure: the first real face that passes every gate, since a refused one costs less; else an
    invented one."""
    photo, refused = scratch / "photo.jpg", {}
    faces = sorted(p for p in options.faces.iterdir() if p.suffix in (".jpg", ".png"))
    for face in faces:
        Child(this("--make", photo, "--face", face))
        why = usable(options.tragion, photo)
        if not why:
            return photo, face, f"a real face, {face.stem}", refused, faces
        refused[face.stem] = why
    drawn = scratch / "invented.png"
    for seed in range(1, 13):
        Child([options.tragion, "phantom", drawn, "--seed", seed, "--tone", "intermediate", "--light", "d65", "--json"])
        Child(this("--make", photo, "--face", drawn))
        if not usable(options.tragion, photo):
            return photo, drawn, f"an invented face (seed {seed}): no real face passes every gate", refused, faces
    raise SystemExit("neither a real nor an invented face passes the gates: nothing was compared")


def overlap(a, b):
    """How much of two outlines is common: the area of both over the area of either."""
    import numpy as np
    from PIL import Image, ImageDraw

    masks = []
    low = np.minimum(np.min(a, axis=0), np.min(b, axis=0))
    high = np.maximum(np.max(a, axis=0), np.max(b, axis=0))
    for outline in (a, b):
        picture = Image.new("1", tuple(int(v) + 2 for v in high - low))
        ImageDraw.Draw(picture).polygon([tuple(p) for p in np.asarray(outline) - low], fill=1)
        masks.append(np.asarray(picture))
    return float((masks[0] & masks[1]).sum() / (masks[0] | masks[1]).sum())


def same_things(ours, theirs):
    """Both must have averaged the same skin."""
    told = {}
    for side in LID:
        o, t = ours["sides"][side], theirs["sides"][side]
        told[side] = {"band_overlap": overlap(o["outlines_px"]["band"], t["outlines_px"]["band"]),
                      "cheek_overlap": overlap(o["outlines_px"]["cheek"], t["outlines_px"]["cheek"]),
                      "dE00_as_photographed": [o["as_photographed"]["dE00"], t["as_photographed"]["shadow"]["dE00"]],
                      "dE00": [o["shadow"]["dE00"], t["shadow"]["dE00"]]}
    print(json.dumps(told))


def compare_answers(scratch, ours, theirs):
    (scratch / "ours.json").write_text(json.dumps(ours))
    (scratch / "theirs.json").write_text(json.dumps(theirs))
    told = Child(this("--same", scratch / "ours.json", scratch / "theirs.json")).json()
    if min(min(s["band_overlap"], s["cheek_overlap"]) for s in told.values()) < 0.5:
        raise SystemExit(f"the two did not measure the same skin, nothing was compared: {told}")
    return told


def folder(scratch, name, sources, count):
    """Hard links to a few photographs under many names."""
    made = scratch / name
    made.mkdir(exist_ok=True)
    for old in made.iterdir():
        old.unlink()
    for i in range(count):
        os.link(sources[i % len(sources)], made / f"{i:04}.jpg")
    return made


def middle(values):
    return statistics.median(values)


def told(name, values, unit):
    values = list(values)
    print(f"    {name}: median {middle(values):.1f} {unit}, least {min(values):.1f}, of {len(values)}")


def compare(options):
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:2])  # children inherit it
    scratch = options.scratch
    scratch.mkdir(parents=True, exist_ok=True)
    load = os.getloadavg()[0]  # later it would be this program's own
    photo, source, what, refused, faces = chosen(options, scratch)
    here, there = [options.tragion, "measure", photo, "--json"], this("--peer-cold", photo)
    ours, theirs = [], []
    for _ in range(options.runs + 1):  # the first of each warms the file cache and is not counted
        ours.append(Child(here))
        theirs.append(Child(there))
    same = compare_answers(scratch, ours[0].json()["photos"][0], theirs[0].json())
    ours, theirs = ours[1:], theirs[1:]
    # A real face beside an invented one, though it is refused and costs a little less here: told, not judged.
    beside = []
    if what.startswith("an invented"):
        real = scratch / "real.jpg"
        Child(this("--make", real, "--face", options.faces / REAL))
        beside = [(Child([options.tragion, "measure", real, "--json"], may_fail=True), Child(this("--peer-cold", real)))
                  for _ in range(options.runs)]

    # What one more photograph costs, and of what.
    forty = folder(scratch, "forty", [photo], WARM)
    few = folder(scratch, "few", [photo], 2)
    rounds = max(3, options.runs // 3)

    def more(cores, *extra):
        """Milliseconds and CPU milliseconds of one more photograph."""
        each = []
        for _ in range(rounds):
            many, start = (Child([options.tragion, "measure", f, "--json", *extra], cores) for f in (forty, few))
            each.append(((many.ms - start.ms) / (WARM - 2), (many.cpu_ms - start.cpu_ms) / (WARM - 2)))
        return middle(e[0] for e in each), middle(e[1] for e in each)

    two, one, uncarded = more(2), more(1), more(1, "--card", "none")
    peer_two = Child(this("--peer-warm", photo, "--runs", options.runs)).json()
    peer_one = Child(this("--peer-warm", photo, "--runs", options.runs), 1).json()
    warm_two, warm_one = peer_two["photo_ms"], peer_one["photo_ms"]
    decoders = Child(this("--decode", photo, "--runs", 3 * options.runs), 1).json()
    decoder = min(decoders, key=lambda name: middle(decoders[name]))
    decode = middle(decoders[decoder])
    parts = Child([options.warm, photo], 1).json()

    # Many photographs.
    count, size = options.photographs, (WIDTH, HEIGHT)
    if count * two[0] > 1000 * LONGEST_S:
        size = (WIDTH // 2, HEIGHT // 2)
    kinds = [scratch / f"kind_{k:02}.jpg" for k in range(KINDS)]
    for k, path in enumerate(kinds):
        # Every other one is the photograph that passes the gates, so that most of the work is done for most of them.
        face = source if k % 2 == 0 else faces[k % len(faces)]
        Child(this("--make", path, "--face", face, "--kind", k, "--size", *map(str, size)))
    many = Child([options.tragion, "measure", folder(scratch, "many", kinds, count), "--json"], may_fail=True)
    answered, passed = many.out.count(b'"photo":'), many.out.count(b'"usable": true')
    if answered != count:
        raise SystemExit(f"of {count} photographs {answered} were answered (exit code {many.code})")
    cores = many.cpu_ms / many.ms

    own = mb(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
    if min(c.mb for c in ours + theirs) <= own:
        raise SystemExit(f"peak memory cannot be told: this process alone holds {own:.0f} MB")
    print(f"{platform.machine()}, {os.cpu_count()} cores, two used, load {load:.2f} at the beginning; {WIDTH} x {HEIGHT} JPEG, "
          f"{photo.stat().st_size / 1e6:.1f} MB; {what}")
    if load > BUSY:
        print(f"    BUSY: with a load above {BUSY:g} other work takes part of every time here; memory stands")
    for name, why in refused.items():
        print(f"    refused at 12 megapixels: {name} ({', '.join(why)})")
    for side, s in same.items():
        (a, b), (c, d) = s["dE00_as_photographed"], s["dE00"]
        print(f"    {side}: band {100 * s['band_overlap']:.0f} % and cheek {100 * s['cheek_overlap']:.0f} % in common; dE00 as "
              f"photographed {a:.2f} here, {b:.2f} there; without the light on the face {c:.2f}, {d:.2f}")
    print("whole process")
    told("tragion measure", [c.ms for c in ours], "ms")
    told("Python         ", [c.ms for c in theirs], "ms")
    told("tragion measure", [c.mb for c in ours], "MB")
    told("Python         ", [c.mb for c in theirs], "MB")
    if beside:
        print(f"whole process, {REAL}, a real face which is refused")
        told("tragion measure", [o.ms for o, _ in beside], "ms")
        told("Python         ", [t.ms for _, t in beside], "ms")
    print("one more photograph, everything loaded")
    print(f"    tragion measure: {two[0]:.1f} ms on two cores ({two[1]:.1f} ms of CPU), {one[0]:.1f} ms on one ({one[1]:.1f}); "
          f"without looking for a card {uncarded[0]:.1f} ms on one ({uncarded[1]:.1f})")
    told(f"Python on two cores ({peer_two['cpu_ms']:.1f} ms of CPU)", warm_two, "ms")
    told(f"Python on one ({peer_one['cpu_ms']:.1f} ms of CPU)", warm_one, "ms")
    for name, values in decoders.items():
        told(f"plain decoding by libjpeg-turbo, {name}, one core", values, "ms")
    found = parts["photo_ms"] - parts["decode_ms"]
    print(f"    of the {one[0]:.1f} ms here on one core: decoding {parts['decode_ms']:.1f}, landmarks {found:.1f} (with the map's "
          f"points), card {one[0] - uncarded[0]:.1f}, the rest (values, reading, writing) {uncarded[0] - parts['photo_ms']:.1f}")
    print(f"{count} photographs of {size[0]} x {size[1]}, {KINDS} different, {passed} of {count} pass the gates")
    print(f"    {many.ms / 1000:.1f} s, {many.ms / count:.1f} ms each, {cores:.2f} cores in use, at most {many.mb:.0f} MB")

    bars = [
        ("whole process, times faster", middle(c.ms for c in theirs) / middle(c.ms for c in ours), SPEED, True),
        ("whole process, times less memory", middle(c.mb for c in theirs) / middle(c.mb for c in ours), MEMORY, True),
        ("one more photograph on two cores, times faster", middle(warm_two) / two[0], SPEED, True),
        ("one more photograph on one core, times faster", middle(warm_one) / one[0], SPEED, True),
        ("one more photograph on one core, times plain decoding", one[0] / decode, DECODING, False),
        (f"{count} photographs, cores in use", cores, BOTH_CORES, True),
    ]
    rows = []
    for name, value, bar, least in bars:
        fine = value >= bar if least else value <= bar
        rows.append({"what": name, "value": round(value, 3), "bar": bar, "fine": fine})
        print(f"{'fine  ' if fine else 'MISSED'} {name}: {value:.2f}; bar at {'least' if least else 'most'} {bar:g}")
    refused_ms = {"photograph": REAL, "tragion": [o.ms for o, _ in beside], "python": [t.ms for _, t in beside]}
    report = {"bars": rows, "runs": options.runs, "load": load, "machine": platform.machine(), "photograph": what,
              "refused": refused, "same": same, "refused_real_ms": refused_ms,
              "cold_ms": {"tragion": [c.ms for c in ours], "python": [c.ms for c in theirs]},
              "peak_mb": {"tragion": [c.mb for c in ours], "python": [c.mb for c in theirs]},
              "warm_ms": {"tragion_two_cores": two, "tragion_one_core": one, "tragion_one_core_no_card": uncarded,
                          "python_two_cores": peer_two, "python_one_core": peer_one},
              "decode_ms": decoders, "parts": parts,
              "many": {"photographs": count, "size": size, "usable": passed, "wall_s": many.ms / 1000,
                       "cpu_s": many.cpu_ms / 1000, "cores": cores, "peak_mb": many.mb}}
    options.report.parent.mkdir(parents=True, exist_ok=True)
    options.report.write_text(json.dumps(report, indent=1) + "\n")
    missed = sum(not row["fine"] for row in rows)
    print(f"{len(rows) - missed} of {len(rows)} bars hold, {missed} missed")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--make", metavar="PHOTO")
    parser.add_argument("--peer-cold", metavar="PHOTO")
    parser.add_argument("--peer-warm", metavar="PHOTO")
    parser.add_argument("--decode", metavar="PHOTO")
    parser.add_argument("--same", nargs=2, metavar="ANSWER", type=pathlib.Path)
    parser.add_argument("--face", type=pathlib.Path)
    parser.add_argument("--kind", type=int, default=0)
    parser.add_argument("--size", type=int, nargs=2, default=(WIDTH, HEIGHT))
    parser.add_argument("--runs", type=int, default=9)
    parser.add_argument("--photographs", type=int, default=1000)
    parser.add_argument("--tragion", help="the program")
    parser.add_argument("--warm", help="the built example faces_bench")
    parser.add_argument("--faces", type=pathlib.Path, help="the folder of real faces")
    parser.add_argument("--scratch", type=pathlib.Path)
    parser.add_argument("--report", type=pathlib.Path)
    options = parser.parse_args()
    if options.make:
        return photograph(options.face, options.make, tuple(options.size), options.kind)
    if options.peer_cold:
        return peer_cold(options.peer_cold)
    if options.peer_warm:
        return peer_warm(options.peer_warm, options.runs)
    if options.decode:
        return decoding(options.decode, options.runs)
    if options.same:
        return same_things(*(json.loads(path.read_text()) for path in options.same))
    if options.runs < 9:
        parser.error("at least 9 runs")
    return compare(options)


if __name__ == "__main__":
    sys.exit(main())
