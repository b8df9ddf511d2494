"""Captions, read by other parsers than ours (webvtt-py, srt): number of cues, times and text of every sample in tests/words/samples, and
the places that `tragion words` tells, counted in Python's own characters.

    python tests/documents/captions.py [PART OF A NAME]

TRAGION_BIN names another program, TRAGION_EXAMPLE another example (`cargo build --release -p publish --example cues`).
"""

import html
import json
import os
import pathlib
import re
import subprocess
import sys

import srt
import webvtt

ROOT = pathlib.Path(__file__).resolve().parents[2]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
BINARY = pathlib.Path(os.environ.get("TRAGION_BIN", TARGET / "release" / "tragion")).resolve()
EXAMPLE = pathlib.Path(os.environ.get("TRAGION_EXAMPLE", BINARY.parent / "examples" / "cues")).resolve()
SAMPLES = ROOT / "tests" / "words" / "samples"
# What nobody sees: width nought, directions, soft hyphens.
UNSEEN = re.compile("[\u00ad\u200b\u200e\u200f\u202a-\u202e\u2060\u2066-\u2069\ufeff]")


def ensure(condition, message):
    if not condition:
        raise AssertionError(message)


def words_of(text):
    """As it is read out: entities decoded, what is unseen left out, blanks as one."""
    return " ".join(UNSEEN.sub("", html.unescape(text)).split())


def ours(path):
    done = subprocess.run([EXAMPLE, path], capture_output=True, text=True, timeout=60, check=True)
    said = json.loads(done.stdout)
    ensure("refused" not in said, f"refused: {said.get('refused')}")
    return said


def milliseconds(stamp):
    return ((stamp.hours * 60 + stamp.minutes) * 60 + stamp.seconds) * 1000 + stamp.milliseconds


def by_webvtt(path):
    read = webvtt.from_sbv if path.suffix == ".sbv" else webvtt.read
    return [(milliseconds(c.start_time), milliseconds(c.end_time), words_of(c.text)) for c in read(str(path), encoding="utf-8-sig")]


def by_srt(path):
    text = path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    tags = re.compile(r"</?[A-Za-z][^>]*>|\{\\[^}]*\}")
    milli = lambda t: round(t.total_seconds() * 1000)  # noqa: E731
    return [(milli(s.start), milli(s.end), words_of(tags.sub("", s.content))) for s in srt.parse(text)]


def same_cues(path):
    """Cues that hold words, one by one."""
    theirs = [cue for cue in (by_srt if path.suffix == ".srt" else by_webvtt)(path) if cue[2]]
    said = ours(path)
    mine = [(round(c["from"] * 1000), round(c["to"] * 1000), c["text"]) for c in said["cues"]]
    ensure(theirs, "the other parser reads nothing")
    ensure(len(mine) == len(theirs), f"{len(mine)} cues, the other parser has {len(theirs)}: {mine} {theirs}")
    for n, (a, b) in enumerate(zip(mine, theirs)):
        ensure(a == b, f"cue {n + 1}: {a}, the other parser has {b}")
    kind = {".vtt": "WebVtt", ".srt": "Srt", ".sbv": "PlainTimed"}[path.suffix]
    ensure(said["format"] == kind, f"read as {said['format']}")


def same_words(path):
    """Files that players show otherwise than they are meant: what is said in them, once, as the file beside them has it."""
    meant = path.with_suffix(".words").read_text(encoding="utf-8").strip()
    said = " ".join(cue["text"] for cue in ours(path)["cues"])
    ensure(said == meant, f"{said!r} is not {meant!r}")


def places(path):
    """Each character of cues and sentences stands in the file where it is said to stand."""
    text = path.read_bytes().decode("utf-8")
    said = ours(path)
    for what in said["cues"] + said["sentences"]:
        at = what["at"]
        ensure(len(at) == len(what["text"]) + 1 and at == sorted(set(at)) and at[-1] <= len(text), f"places {at}")
        for letter, begin in zip(what["text"], at):
            there = text[begin]
            ensure(letter == there or letter == " " or there == "&", f"{letter!r} is {there!r} at {begin}")
        whole = re.sub(r"<[^>]*>|\{\\[^}]*\}", "", text[at[0]:at[-1]]) if not re.search(r"[\r\n]", text[at[0]:at[-1]]) else None
        if whole is not None and "<" not in what["text"]:
            ensure(words_of(whole) == what["text"], f"{whole!r} is not {what['text']!r}")


def claims(path):
    """The words that `tragion words` tells stand at the places that it tells, in code points."""
    text = path.read_bytes().decode("utf-8")
    done = subprocess.run([BINARY, "words", path, "--json"], capture_output=True, text=True, timeout=60)
    ensure(done.returncode == 0, f"exit {done.returncode}: {done.stderr[:300]}")
    said = json.loads(done.stdout)
    ensure(said["format"] == {".vtt": "webvtt", ".srt": "srt", ".sbv": "plain_timed", ".txt": "text"}[path.suffix], said["format"])
    if path.stem.startswith("claims"):
        ensure(said["claims"], "nothing was found")
    for claim in said["claims"]:
        there = re.sub(r"<[^>]*>", "", text[claim["start"]:claim["end"]])
        there = re.sub(r"\d*\s*[\d:.,]+ --> [\d:.,]+", " ", there)
        ensure(words_of(there) == claim["text"], f"{claim['text']!r} is {there!r}")


def cases():
    """Name, check, file; checks of what `tragion captions` writes belong here as well."""
    samples = sorted(p for p in SAMPLES.iterdir() if p.suffix in (".vtt", ".srt", ".sbv", ".txt"))
    for path in samples:
        if path.with_suffix(".words").exists() and path.suffix == ".vtt":
            yield f"words of {path.name}", same_words, path
        elif path.suffix != ".txt":
            yield f"cues of {path.name}", same_cues, path
        yield f"places of {path.name}", places, path
        yield f"claims of {path.name}", claims, path


def main():
    only = sys.argv[1] if len(sys.argv) > 1 else ""
    passed = failed = 0
    for name, test, value in cases():
        if only not in name:
            continue
        try:
            test(value)
            passed += 1
            print(f"ok      {name}")
        except (AssertionError, OSError, ValueError, KeyError, TypeError, IndexError, subprocess.SubprocessError,
                srt.SRTParseError, webvtt.errors.MalformedFileError) as error:
            failed += 1
            print(f"FAILED  {name}\n        {type(error).__name__}: {error}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
