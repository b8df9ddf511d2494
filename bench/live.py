"""Times frames of a film at the desk and in LiteRT, in turn; see bench/live."""

import http.client
import io
import os
import pathlib
import re
import statistics
import subprocess
import sys
import tempfile
import time

import numpy as np
from ai_edge_litert.interpreter import Interpreter
from PIL import Image

program, frames = sys.argv[1], int(sys.argv[2])
ROOT = pathlib.Path(__file__).resolve().parents[1]
PASSPHRASE = "horse lamp river seven"
SIZE = (480, 360)
WITHIN = 33.0  # milliseconds


def film(folder):
    """Frames as a page sends them: JPEG, 480 by 360, quality 85."""
    file = pathlib.Path(folder, "film.mjpeg")
    count = min(frames, 60)
    subprocess.run([program, "phantom", file, "--seed", "4", "--film", str(count)], check=True, stdout=subprocess.DEVNULL)
    pictures = [b"\xff\xd8\xff" + part for part in file.read_bytes().split(b"\xff\xd8\xff")[1:]]
    if len(pictures) != count:
        raise SystemExit(f"the film has {len(pictures)} pictures of {count}")
    small = []
    for picture in pictures:
        out = io.BytesIO()
        Image.open(io.BytesIO(picture)).convert("RGB").resize(SIZE, Image.Resampling.BILINEAR).save(out, "JPEG", quality=85)
        small.append(out.getvalue())
    # Forth and back, so that no frame jumps.
    round_trip = small + small[-2:0:-1]
    return [round_trip[i % len(round_trip)] for i in range(frames)]


class Peer:
    """The landmark network around where it found the face before."""

    def __init__(self):
        weights = (ROOT / "data/models/face_landmarks_478.tflite").read_bytes()
        self.run = Interpreter(model_content=weights, num_threads=1)
        self.run.allocate_tensors()
        (self.input,) = [d["index"] for d in self.run.get_input_details()]
        self.outputs = [d["index"] for d in self.run.get_output_details()]
        self.centre, self.side, self.turn = (SIZE[0] / 2, SIZE[1] / 2), 0.85 * SIZE[1], 0.0

    def __call__(self, jpeg):
        picture = Image.open(io.BytesIO(jpeg)).convert("RGB")
        sin, cos = np.sin(self.turn), np.cos(self.turn)
        k = self.side / 256
        x0 = self.centre[0] - self.side / 2 * (cos - sin)
        y0 = self.centre[1] - self.side / 2 * (sin + cos)
        part = picture.transform((256, 256), Image.Transform.AFFINE, (k * cos, -k * sin, x0, k * sin, k * cos, y0), Image.Resampling.BILINEAR)
        self.run.set_tensor(self.input, np.asarray(part, np.float32)[None] / 255)
        self.run.invoke()
        outputs = [self.run.get_tensor(i).ravel() for i in self.outputs]
        raw = next(o for o in outputs if o.size == 3 * 478).reshape(478, 3)[:, :2] * k
        presence = 1 / (1 + np.exp(-next(o for o in outputs if o.size == 1)[0]))
        at = np.array([x0, y0]) + raw @ np.array([[cos, sin], [-sin, cos]])
        eyes = at[263] - at[33]
        self.turn = float(np.arctan2(eyes[1], eyes[0]))
        turned = np.array([[np.cos(self.turn), -np.sin(self.turn)], [np.sin(self.turn), np.cos(self.turn)]])
        upright = at @ turned
        low, high = upright.min(axis=0), upright.max(axis=0)
        self.centre, self.side = tuple(turned @ ((low + high) / 2)), 1.5 * float((high - low).max())
        if presence < 0.5:
            raise SystemExit("the peer lost the face: nothing was compared")
        return at


def told(name, times):
    ordered = sorted(times)
    worst = ordered[int(0.95 * len(ordered))]
    print(f"{name:<46} middle {statistics.median(times):6.1f} ms, 19 of 20 below {worst:6.1f} ms, least {ordered[0]:6.1f} ms")
    return statistics.median(times), worst


with tempfile.TemporaryDirectory() as folder:
    pictures = film(folder)
    file = pathlib.Path(folder, "passphrase.txt")
    file.write_text(PASSPHRASE + "\n")
    env = {**os.environ, "TRAGION_PASSPHRASE_FILE": str(file)}
    arguments = [program, "desk", "--no-open", "--port", "0", "--cabinet", str(pathlib.Path(folder, "cabinet"))]
    desk = subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True, env=env)
    try:
        port, path = re.match(r"http://127\.0\.0\.1:(\d+)(/.*)", desk.stdout.readline().strip()).groups()
        line = http.client.HTTPConnection("127.0.0.1", int(port))

        def asked(method, path, body=None, headers=None):
            line.request(method, path, body, headers or {})
            answer = line.getresponse()
            return answer, answer.read()

        answer, _ = asked("GET", path)
        cookie = answer.getheader("set-cookie").split(";")[0]
        _, page = asked("GET", "/live", headers={"cookie": cookie})
        token = re.search(rb'name="token" content="([0-9a-f]+)"', page).group(1).decode()
        ours = {"cookie": cookie, "x-token": token, "content-type": "image/jpeg", "origin": f"http://127.0.0.1:{port}"}
        peer = Peer()
        for _ in range(3):
            peer(pictures[0])
        steps = ["target=LI20&side=left&next_target=ST3&next_side=left", "target=orbit_ring&side=left&next_target=LI20&next_side=left"]
        times = {step: [] for step in steps}
        theirs = []
        for step in steps:
            for i, picture in enumerate(pictures):
                begun = time.perf_counter()
                answer, body = asked("POST", f"/live/frame?{step}", picture, ours)
                times[step].append(1000 * (time.perf_counter() - begun))
                if answer.status != 200 or b'"now":{' not in body:
                    raise SystemExit(f"frame {i} was not drawn: {answer.status} {body[:200]}")
                begun = time.perf_counter()
                peer(picture)
                theirs.append(1000 * (time.perf_counter() - begun))
    finally:
        desk.terminate()
        desk.wait()

print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.2f}; {frames} frames of {SIZE[0]} x {SIZE[1]}, {statistics.fmean(map(len, pictures)) / 1000:.1f} KB")
point = told("desk, a point now and a point next", times[steps[0]])
spread = told("desk, a line now and a point next", times[steps[1]])
peer = told("LiteRT, Pillow, landmarks alone", theirs)
bars = [
    ("19 of 20 answers, ms", max(point[1], spread[1]), WITHIN, max(point[1], spread[1]) <= WITHIN),
    ("middle, times the peer's", point[0] / peer[0], 1.0, point[0] <= peer[0]),
]
for name, value, bar, fine in bars:
    print(f"{'fine  ' if fine else 'MISSED'} {name}: {value:.2f}; bar at most {bar:g}")
failed = sum(not bar[3] for bar in bars)
print(f"{len(bars) - failed} passed, {failed} failed")
sys.exit(1 if failed else 0)
