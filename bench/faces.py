"""Times a photograph's way to its landmarks, here and in mediapipe; started by bench/faces.

Whole processes: start, decoding a JPEG of 4000 x 3000 and landmarks, peak memory of the child as the kernel counted it. Warm:
decoding and landmarks with everything loaded. The peer runs its face mesh with irises (478 points) on still pictures, and
decodes with the faster of OpenCV and Pillow. Runs of both alternate, so that a busy machine hurts both; medians are judged.
"""

import argparse
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

SPEED, MEMORY, FRAME_MS = 2.0, 3.0, 25.0  # times faster, times less, milliseconds


def photograph(face, path):
    """The face on 4000 x 3000 pixels, quality 92."""
    from PIL import Image

    with Image.open(face) as picture:
        width, height = picture.size
        # The face stands left of the middle: keep the left of the picture.
        kept = picture.convert("RGB").crop((0, 0, min(width, height * 4 // 3), height))
        kept.resize((4000, 3000), Image.Resampling.LANCZOS).save(path, quality=92)


def opened_by_opencv(path):
    import cv2

    return cv2.cvtColor(cv2.imread(path), cv2.COLOR_BGR2RGB)


def opened_by_pillow(path):
    import numpy
    from PIL import Image

    with Image.open(path) as picture:
        return numpy.asarray(picture.convert("RGB"))


def mesh(still=True):
    import mediapipe

    return mediapipe.solutions.face_mesh.FaceMesh(static_image_mode=still, max_num_faces=1, refine_landmarks=True)


def landmarks(net, picture):
    found = net.process(picture).multi_face_landmarks
    if not found or len(found[0].landmark) != 478:
        raise SystemExit("the peer found no face: nothing was compared")
    return [[p.x * picture.shape[1], p.y * picture.shape[0], p.z * picture.shape[1]] for p in found[0].landmark]


def peer_cold(path):
    """What a user of the peer would run: one process, one photograph."""
    print(json.dumps({"landmarks": landmarks(mesh(), opened_by_opencv(path))}))


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
    import cv2

    net, decoders = mesh(), {"OpenCV": opened_by_opencv, "Pillow": opened_by_pillow}
    decode = {name: statistics.median(timed(runs, lambda d=d: d(path))) for name, d in decoders.items()}
    faster = min(decode, key=decode.get)
    photo = timed(runs, lambda: landmarks(net, decoders[faster](path)))
    frame = cv2.resize(opened_by_opencv(path), (640, 480), interpolation=cv2.INTER_AREA)
    tracker = mesh(still=False)
    frames = timed(5 * runs, lambda: landmarks(tracker, frame))
    print(json.dumps({"decoder": faster, "decode_ms": decode, "photo_ms": photo, "frame_640_ms": frames}))


def child(command):
    """Milliseconds, peak memory in MB and what a process wrote. The peak is never less than this process holds itself."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        begun = time.perf_counter()
        process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=out, stderr=err)
        _, status, usage = os.wait4(process.pid, 0)
        took = 1000 * (time.perf_counter() - begun)
        process.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        err.seek(0)
        if process.returncode:
            raise SystemExit(f"{' '.join(command)} failed: {err.read().decode(errors='replace')[-2000:]}")
        # Kilobytes on Linux, bytes on macOS.
        return took, usage.ru_maxrss / (1024 * 1024 if sys.platform == "darwin" else 1024), json.loads(out.read())


def told(name, values, unit):
    print(f"    {name}: median {statistics.median(values):.1f} {unit}, least {min(values):.1f}, of {len(values)}")


def compare(options):
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:2])  # children inherit it
    options.scratch.mkdir(parents=True, exist_ok=True)
    photo = str(options.scratch / "face_12_megapixels.jpg")
    # In a process of its own: a child's peak starts at what its parent holds, so this one must stay small.
    subprocess.run([sys.executable, __file__, "--make", photo, "--face", str(options.face)], check=True)
    here = [options.tragion, "map", photo, "--json"]
    there = [sys.executable, __file__, "--peer-cold", photo]
    ours, theirs = [], []
    for _ in range(options.runs + 1):  # the first of each warms the file cache and is not counted
        ours.append(child(here))
        theirs.append(child(there))
    ours, theirs = ours[1:], theirs[1:]
    between = apart(ours[0][2]["landmarks"], theirs[0][2]["landmarks"])
    _, _, warm = child([options.warm, photo])
    _, _, peer = child([sys.executable, __file__, "--peer-warm", photo, "--runs", str(options.runs)])

    print(f"{platform.machine()}, {os.cpu_count()} cores, two used, load {os.getloadavg()[0]:.2f}; 4000 x 3000 JPEG, "
          f"{pathlib.Path(photo).stat().st_size / 1e6:.1f} MB; both found the face, {between:.2f} % of the eye distance apart on average")
    print("whole process")
    told("tragion map", [t for t, _, _ in ours], "ms")
    told("mediapipe  ", [t for t, _, _ in theirs], "ms")
    told("tragion map", [m for _, m, _ in ours], "MB")
    told("mediapipe  ", [m for _, m, _ in theirs], "MB")
    print("warm")
    print(f"    tragion: photograph {warm['photo_ms']:.1f} ms, frame {warm['frame_640_ms']:.1f} ms, load {warm['load_ms']:.1f} ms")
    told(f"mediapipe, decoded by {peer['decoder']}, photograph", peer["photo_ms"], "ms")
    told("mediapipe, frame of 640 x 480", peer["frame_640_ms"], "ms")

    middle = statistics.median
    bars = [
        ("whole process, times faster", middle(t for t, _, _ in theirs) / middle(t for t, _, _ in ours), SPEED, True),
        ("whole process, times less memory", middle(m for _, m, _ in theirs) / middle(m for _, m, _ in ours), MEMORY, True),
        ("warm photograph, times faster", middle(peer["photo_ms"]) / warm["photo_ms"], SPEED, True),
        ("warm frame of 640 x 480, ms", warm["frame_640_ms"], FRAME_MS, False),
        ("both found the same face, % of the eye distance", between, 5.0, False),
    ]
    rows = []
    for name, value, bar, least in bars:
        fine = value >= bar if least else value < bar
        rows.append({"what": name, "value": round(value, 3), "bar": bar, "fine": fine})
        print(f"{'fine  ' if fine else 'MISSED'} {name}: {value:.2f}; bar {'at least' if least else 'under'} {bar:g}")
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 * 1024 if sys.platform == "darwin" else 1024)
    if min(m for _, m, _ in ours + theirs) <= own:
        raise SystemExit(f"peak memory cannot be told: this process alone holds {own:.0f} MB")
    report = {"bars": rows, "runs": options.runs, "load": os.getloadavg()[0], "machine": platform.machine(),
              "cold_ms": {"tragion": [t for t, _, _ in ours], "mediapipe": [t for t, _, _ in theirs]},
              "peak_mb": {"tragion": [m for _, m, _ in ours], "mediapipe": [m for _, m, _ in theirs]},
              "warm": {"tragion": warm, "mediapipe": peer}}
    options.report.parent.mkdir(parents=True, exist_ok=True)
    options.report.write_text(json.dumps(report, indent=1) + "\n")
    failed = sum(not row["fine"] for row in rows)
    print(f"{len(rows) - failed} passed, {failed} failed")
    return 1 if failed else 0


def apart(a, b):
    """The mean distance of two sets of landmarks, in % of the distance of the outer corners of the eyes."""
    flat = lambda p, q: ((p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2) ** 0.5
    return 100 * statistics.fmean(flat(p, q) for p, q in zip(a, b, strict=True)) / flat(b[33], b[263])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--make", metavar="PHOTO")
    parser.add_argument("--peer-cold", metavar="PHOTO")
    parser.add_argument("--peer-warm", metavar="PHOTO")
    parser.add_argument("--runs", type=int, default=9)
    parser.add_argument("--tragion", help="the program")
    parser.add_argument("--warm", help="the built example faces_bench")
    parser.add_argument("--face", type=pathlib.Path)
    parser.add_argument("--scratch", type=pathlib.Path)
    parser.add_argument("--report", type=pathlib.Path)
    options = parser.parse_args()
    if options.runs < 7:
        parser.error("at least 7 runs")
    if options.make:
        return photograph(options.face, options.make)
    if options.peer_cold:
        return peer_cold(options.peer_cold)
    if options.peer_warm:
        return peer_warm(options.peer_warm, options.runs)
    return compare(options)


if __name__ == "__main__":
    sys.exit(main())
