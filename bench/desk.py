"""Asks every page of a filled practice many times over one connection; see bench/desk."""

import http.client
import os
import re
import subprocess
import sys
import tempfile
import time

program, cabinet = sys.argv[1:3]
PASSPHRASE = "horse lamp river seven"


def start(folder):
    """The desk, its address, and the seconds until it printed it."""
    with tempfile.NamedTemporaryFile("w", suffix=".txt", delete=False) as file:
        file.write(PASSPHRASE + "\n")
    began = time.perf_counter()
    args = [program, "desk", "--no-open", "--cabinet", folder]
    env = {**os.environ, "TRAGION_PASSPHRASE_FILE": file.name}
    desk = subprocess.Popen(args, stdout=subprocess.PIPE, text=True, env=env)
    line = desk.stdout.readline().strip()
    took = time.perf_counter() - began
    os.unlink(file.name)
    return desk, line, took


def quantiles(times):
    times = sorted(times)
    at = lambda q: times[min(len(times) - 1, int(q * len(times)))]
    return at(0.5) * 1000, at(0.99) * 1000


starts = []
for _ in range(5):
    desk, line, took = start(cabinet)
    starts.append(took)
    desk.terminate()
    desk.wait()
empty = tempfile.mkdtemp()
# A practice of nobody under the key's standard cost: what is left of its start, less the floor, is the derivation.
os.rmdir(empty)
desk, _, _ = start(empty)
desk.terminate()
desk.wait()
standard = []
for _ in range(5):
    desk, _, took = start(empty)
    standard.append(took)
    desk.terminate()
    desk.wait()
starts.sort()
standard.sort()
print(f"start, key derivation at its least: median {starts[2] * 1000:.0f} ms (bar 300)")
print(f"start of an empty practice with the standard derivation: median {standard[2] * 1000:.0f} ms")

desk, line, _ = start(cabinet)
port, path = re.match(r"http://127\.0\.0\.1:(\d+)(/.*)", line).groups()
connection = http.client.HTTPConnection("127.0.0.1", int(port))


def ask(path, headers):
    began = time.perf_counter()
    connection.request("GET", path, headers=headers)
    answer = connection.getresponse()
    body = answer.read()
    return time.perf_counter() - began, answer, body


_, first, _ = ask(path, {})
cookie = {"Cookie": first.getheader("set-cookie").split(";")[0]}
part = {**cookie, "X-Part": "1"}
typed = [name[:n] for name in ["Katarzyna", "Giulia", "wander", "Éloïse", "mar", "zzz"] for n in range(1, len(name) + 1)]
quote = lambda text: "/clients?find=" + "".join(f"%{b:02X}" for b in text.encode())
# Those who consented to care: of others the intake is refused, which is no page.
able = [n for n in range(1, 9900, 97) if ask(f"/clients/{n}/intake", cookie)[1].status == 200]
pages = {
    "the floor: an asset that is not there": (None, ["/assets/none"], cookie),
    "due": (50, ["/due"], cookie),
    "clients, first page": (50, ["/clients"], cookie),
    "clients, a page further on": (50, [f"/clients?after={n}" for n in range(100, 9000, 450)], cookie),
    "search as one types": (20, [quote(t) for t in typed], part),
    "a client": (50, [f"/clients/{n}" for n in range(1, 9900, 97)], cookie),
    "a client's details": (50, [f"/clients/{n}/details" for n in range(1, 9900, 97)], cookie),
    "a client's intake": (50, [f"/clients/{n}/intake" for n in able], cookie),
    "a client's new routine": (50, [f"/routines/new?client={n}" for n in able], cookie),
    "a client's new visit": (50, [f"/clients/{n}/visits/new" for n in able], cookie),
    "a client's map": (50, [f"/clients/{n}/map/drawn" for n in able], cookie),
    "a client's erasure, asked": (50, [f"/clients/{n}/erase" for n in able], cookie),
    "routines": (50, ["/routines"], cookie),
    "the practice": (50, ["/practice"], cookie),
    "clients from a file": (50, ["/practice/import"], cookie),
    "the change log": (50, ["/practice/changes"], cookie),
    "a product": (50, ["/product"], cookie),
    "start": (50, ["/"], cookie),
}
failed = False
floor = None
print(f"{'milliseconds':<40} {'times':>6} {'p50':>8} {'p99':>8} {'bar':>6} {'to the floor':>13}  status")
for name, (bar, paths, headers) in pages.items():
    times, statuses = [], set()
    for path in paths[:5]:
        ask(path, headers)
    for n in range(300):
        took, answer, _ = ask(paths[n % len(paths)], headers)
        times.append(took)
        statuses.add(answer.status)
    p50, p99 = quantiles(times)
    floor = floor or p50
    # Anything but a page is no answer to be timed.
    failed |= bar is not None and (p99 > bar or statuses != {200})
    print(f"{name:<40} {len(times):>6} {p50:>8.2f} {p99:>8.2f} {bar or '':>6} {p50 / floor:>13.1f}  {sorted(statuses)}")
desk.terminate()
desk.wait()
sys.exit(failed or starts[2] > 0.3)
