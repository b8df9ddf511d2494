#!/usr/bin/env python3
"""A course of thousands at the desk: the group page cold, and a folder of home notes taken in.

    cargo build --release -p app && cargo build --release -p cabinet --example course
    python3 bench/courses.py [--people 5000] [--bin target/release/tragion] [--fill target/release/examples/course]

Fills a practice of its own (a course of four weeks: 15 visits and 33 noted days a person, one in ten stops half way), starts the desk on it,
asks for the group page as the first thing after it was unlocked, and sends a file of 28 days for each person in one form, as a browser without
script does. Bars: the page under 1 s, the notes under 30 s. Prints what was measured and exits 1 where a bar is not met (of the three cold pages the middle one)."""

import argparse
import http.client
import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PASSPHRASE = "horse lamp river seven"


class Desk:
    def __init__(self, binary, folder):
        secret = folder / "passphrase.txt"
        secret.write_text(PASSPHRASE + "\n")
        env = dict(os.environ, TRAGION_PASSPHRASE_FILE=str(secret))
        command = [binary, "desk", "--no-open", "--port", "0", "--today", "2026-03-24", "--cabinet", str(folder / "cabinet")]
        self.child = subprocess.Popen(command, env=env, stdout=subprocess.PIPE, text=True)
        printed = self.child.stdout.readline().strip()
        self.port = int(re.match(r"http://127\.0\.0\.1:(\d+)/", printed).group(1))
        self.cookie = ""
        self.ask("GET", "/" + printed.split("/", 3)[3])

    def ask(self, method, path, body=None, headers=None):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=600)
        own = {"host": f"127.0.0.1:{self.port}", "origin": f"http://127.0.0.1:{self.port}"}
        if self.cookie:
            own["cookie"] = self.cookie
        begun = time.perf_counter()
        connection.request(method, path, body, {**own, **(headers or {})})
        answer = connection.getresponse()
        text = answer.read().decode()
        took = time.perf_counter() - begun
        for cookie in answer.headers.get_all("set-cookie") or []:
            self.cookie = cookie.split(";")[0]
        return answer.status, text, took

    def cpu(self):
        """Seconds on the processor so far, all threads."""
        fields = Path(f"/proc/{self.child.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def token(self, text):
        return re.search(r'name="token" content="([^"]+)"', text).group(1)

    def end(self):
        self.child.terminate()
        self.child.wait()


def form(token, notes):
    parts = [f'--edge\r\ncontent-disposition: form-data; name="token"\r\n\r\n{token}\r\n'.encode()]
    for note in notes:
        head = f'--edge\r\ncontent-disposition: form-data; name="note"; filename="notes/{note.name}"\r\ncontent-type: application/json\r\n\r\n'
        parts += [head.encode(), note.read_bytes(), b"\r\n"]
    return b"".join(parts) + b"--edge--\r\n"


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("--people", type=int, default=5000)
    asked.add_argument("--bin", default="target/release/tragion")
    asked.add_argument("--fill", default="target/release/examples/course")
    asked.add_argument("--folder", help="a practice that was filled before, with its notes beside it")
    args = asked.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = Path(args.folder or made)
        if not args.folder:
            begun = time.perf_counter()
            subprocess.run([args.fill, str(folder / "cabinet"), str(args.people), str(folder / "notes")], check=True)
            print(f"filled in {time.perf_counter() - begun:.1f} s")
        colds, busy = [], []
        for _ in range(3):
            desk = Desk(args.bin, folder)
            before = desk.cpu()
            status, text, took = desk.ask("GET", "/courses/1")
            assert status == 200 and "joined" in text, status
            colds.append(took)
            busy.append(desk.cpu() - before)
            warm = [desk.ask("GET", "/courses/1")[2] for _ in range(5)]
            desk.end()
        desk = Desk(args.bin, folder)
        token = desk.token(desk.ask("GET", "/courses/1/in")[1])
        body = form(token, sorted((folder / "notes").iterdir()))
        kind = {"content-type": "multipart/form-data; boundary=edge"}
        results = []
        for what in ["new", "the same again"]:
            before = desk.cpu()
            status, text, took = desk.ask("POST", "/courses/1/in", body, kind)
            assert status == 303, (status, text[:500])
            results.append((what, took, desk.cpu() - before))
        said = re.search(r"Days that are new: (\d+)", desk.ask("GET", "/courses/1/in")[1]).group(1)
        desk.end()
        print(f"group page of {args.people}, first request after unlocking: " + ", ".join(f"{c:.2f}" for c in colds) + " s (on the processor, all threads: " + ", ".join(f"{c:.2f}" for c in busy) + "); bar 1 s")
        print("  again: " + ", ".join(f"{w:.2f}" for w in warm) + " s")
        for what, took, cpu in results:
            print(f"{args.people} files, {said} days, {what}: {took:.1f} s (on the processor {cpu:.1f}); bar 30 s")
        return 0 if sorted(colds)[1] < 1.0 and results[0][1] < 30.0 else 1


if __name__ == "__main__":
    sys.exit(main())
