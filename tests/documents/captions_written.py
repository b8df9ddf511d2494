"""What `tragion captions` writes, read by other hands: captions by webvtt-py and srt, the cue track by Python's wave, the lists by csv; every
bound measured again here, on the files alone.

    python tests/documents/captions_written.py [PART OF A NAME]

TRAGION_BIN names another program. The bounds (42 characters, 2 lines, 17 characters a second, 1 to 7 seconds, gaps of two frames) are those
of broadcasters' house rules, those of chapters what large video hosts ask for; both from memory.
"""

import csv
import json
import math
import os
import pathlib
import re
import struct
import subprocess
import sys
import tempfile
import wave

import srt
import webvtt

ROOT = pathlib.Path(__file__).resolve().parents[2]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
BINARY = pathlib.Path(os.environ.get("TRAGION_BIN", TARGET / "release" / "tragion")).resolve()
NAMES = ["", "Ruhe & <b>Kiefer</b> --> {x}", "Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichen 👩🏽‍⚕️ am Abend"]
# Of what videos are made: an example, or a request to draft from, with further words of the command.
ROUTINES = [
    ("sleep", "routine_audience.toml", []),
    ("sleep-de", "routine_audience.toml", ["--language", "de", "--on", "own"]),
    ("sleep-count", "routine_audience.toml", ["--count", "--quiet", "--pace", "12.5"]),
    ("jaw", "routine_audience_jaw.toml", ["--pace", "17", "--on", "model"]),
    ("jaw-de-count", "routine_audience_jaw.toml", ["--language", "de", "--count"]),
    ("eyes", {"minutes": 12, "concerns": ["tired_eyes", "puffy_lids"], "both": True}, []),
    ("shoulders-de", {"minutes": 15, "concerns": ["neck_shoulder_tension"]}, ["--language", "de"]),
    ("tools", {"minutes": 10, "concerns": ["heavy_lower_face"], "tools": ["roller", "edge_stone"]}, ["--on", "model-mirrored"]),
]


# What was measured of all captions together.
MEASURED = {"captions": 0, "fastest": 0.0, "longest": 0}


def ensure(condition, message):
    if not condition:
        raise AssertionError(message)


def run(*args):
    done = subprocess.run([BINARY, *map(str, args)], capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL)
    ensure("panicked" not in done.stderr, done.stderr[:300])
    return done


def made(folder, routine, name, more):
    """The folder of a kit, and what the command said of it."""
    if isinstance(routine, dict):
        path, request = folder / "routine.toml", folder / "request.toml"
        rows = [f"{key} = {json.dumps(value)}" for key, value in routine.items()]
        request.write_text("\n".join(rows) + "\naudience = true\n", encoding="utf-8")
        done = run("draft", request, "--toml", path)
        ensure(done.returncode == 0, done.stderr)
    else:
        path = ROOT / "examples" / routine
    out = folder / "kit"
    done = run("captions", path, "--out", out, "--json", *(["--name", name] if name else []), *more)
    ensure(done.returncode == 0, f"exit {done.returncode}: {done.stderr[:300]}")
    return out, json.loads(done.stdout), path


def ms(stamp):
    return ((stamp.hours * 60 + stamp.minutes) * 60 + stamp.seconds) * 1000 + stamp.milliseconds


def cues_of_vtt(path):
    return [(ms(c.start_time), ms(c.end_time), c.text.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&"))
            for c in webvtt.read(str(path))]


def cues_of_srt(path):
    milli = lambda t: round(t.total_seconds() * 1000)  # noqa: E731
    text = path.read_text(encoding="utf-8")
    return [(milli(s.start), milli(s.end), s.content) for s in srt.parse(text, ignore_errors=False)]


def bounds(cues):
    """Every bound of captions."""
    ensure(cues, "no captions")
    MEASURED["captions"] += len(cues)
    before = None
    for start, end, text in cues:
        lines = text.split("\n")
        seconds = (end - start) / 1000
        ensure(1 <= len(lines) <= 2 and all(line == line.strip() and line for line in lines), f"lines of {text!r}")
        ensure(all(len(line) <= 42 for line in lines), f"more than 42 characters: {text!r}")
        ensure(1 <= seconds <= 7, f"{seconds} s: {text!r}")
        rate = len(" ".join(lines)) / seconds
        ensure(rate <= 17 + 1e-9, f"{rate} characters a second: {text!r}")
        gap = 0 if before is None else start - before
        ensure(gap == 0 or gap >= 80 or before is None, f"a gap of {gap} ms before {text!r}")
        before = end
        MEASURED["fastest"] = max(MEASURED["fastest"], rate)
        MEASURED["longest"] = max(MEASURED["longest"], *map(len, lines))


def breaks(cues, language):
    """No line ends between an article and its noun, or a number and its unit: where a word of the script does not force it."""
    articles = {"en": {"a", "an", "the", "your"}, "de": {"der", "die", "das", "den", "dem", "ein", "eine", "einen", "ihre"}}[language]
    units = {"seconds", "minutes", "minute", "steps", "sekunden", "minuten", "s", "min", "days", "tagen"}
    ends = [line for _, _, text in cues for line in text.split("\n")]
    wrong = []
    for line, after in zip(ends, ends[1:]):
        last, first = line.split()[-1], after.split()[0].lower().strip(".,;:")
        # "That is the reason why, die ..." ends a clause: only a bare article counts.
        if last.lower() in articles or (last.isdigit() and first in units):
            wrong.append(f"{line} | {after}")
    ensure(not wrong, f"{len(wrong)} of {len(ends)} lines end within what belongs together: {wrong[:3]}")


def captions(folder, routine, name, more):
    out, said, _ = made(folder, routine, name, more)
    vtt, plain = cues_of_vtt(out / "captions.vtt"), cues_of_srt(out / "captions.srt")
    ensure((out / "captions.vtt").read_bytes().startswith(b"WEBVTT\n\n"), "the first line")
    swapped = [(a, b, t.replace("<", "‹").replace(">", "›")) for a, b, t in vtt]
    ensure(swapped == plain, "WebVTT and SRT differ")
    bounds(vtt)
    breaks(vtt, said["language"])
    # All that the script says is there, in order, and nothing else: held against script.md and against the JSON.
    script = (out / "script.md").read_text(encoding="utf-8")
    spoken = " ".join(m.group(1) for m in re.finditer(r"^\*\*\d+(?::\d\d)+\*\* (.*)$", script, re.M)).split()
    shown = " ".join(text for _, _, text in vtt).split()
    if max(map(len, spoken)) <= 42:
        ensure(spoken == shown, "the words of the captions are not those of the script")
    ensure("".join(spoken) == "".join(shown), "the letters of the captions are not those of the script")
    ensure(" ".join(line["says"] for line in said["script"]).split() == spoken, "script.md is not what the JSON says")
    # Where a line is said, its captions stand.
    ends = [round(line["to"] * 1000) for line in said["script"]]
    ensure(abs(ends[-1] - vtt[-1][1]) <= 10, f"the last words end at {ends[-1]}, their caption at {vtt[-1][1]}")
    # Who leaves it out, and when to stop, is in the captions.
    words = " ".join(shown)
    needed = {"en": ["not medical advice", "Do not join in today if", "Stop at once"],
              "de": ["kein medizinischer Rat", "Machen Sie heute nicht mit, wenn", "Hören Sie sofort auf"]}[said["language"]]
    ensure(all(part in words for part in needed), "a caution is missing")


def listed_chapters(rows, length):
    """A list of chapters: its form, from 0:00, three or more, ten seconds or more each."""
    ensure(all(re.fullmatch(r"(\d+:[0-5]\d:[0-5]\d|[0-5]?\d:[0-5]\d)", time) and title.strip() for time, title in rows), "form")
    seconds = [sum(int(part) * 60 ** i for i, part in enumerate(reversed(time.split(":")))) for time, _ in rows]
    ensure(len(rows) >= 3 and seconds[0] == 0, rows)
    ends = seconds[1:] + [int(length)]
    ensure(all(end - start >= 10 for start, end in zip(seconds, ends)), rows)


def chapters(folder, routine, name, more):
    out, said, _ = made(folder, routine, name, more)
    rows = [line.split(" ", 1) for line in (out / "chapters.txt").read_text(encoding="utf-8").splitlines()]
    listed_chapters(rows, said["length_s"])
    description = (out / "description.txt").read_text(encoding="utf-8")
    ensure(len(description) <= 5000, f"{len(description)} characters")
    # Those of the description: the same, or where it has no room for them those of the parts alone, or none; each is told.
    under = [line.split(" ", 1) for line in re.findall(r"^\d+:[\d:]+ .+$", description, re.M)]
    told = " ".join(said["told"])
    if not under:
        ensure("the chapters (chapters.txt has them all)" in told, "no chapters in the description, and it is not told")
        return
    listed_chapters(under, said["length_s"])
    ensure(under == rows or "chapters within a part" in told, "other chapters, and it is not told")


def samples(path):
    with wave.open(str(path)) as track:
        ensure((track.getnchannels(), track.getsampwidth(), track.getframerate()) == (1, 2, 24000), "not 16 bit mono 24 kHz")
        frames = track.getnframes()
        return frames, struct.unpack(f"<{frames}h", track.readframes(frames))


def cue_track(folder, routine, name, more):
    out, said, _ = made(folder, routine, name, more)
    frames, track = samples(out / "cues.wav")
    ensure(abs(frames / 24000 - said["length_s"]) <= 1 / 24000, f"{frames / 24000} s, not {said['length_s']} s")
    peak = max(map(abs, track))
    ensure(3000 < peak < 32000, f"peak {peak}")

    def loud(at, long=0.005):
        begin = max(0, round(at * 24000))
        part = track[begin:begin + round(long * 24000)]
        return math.sqrt(sum(s * s for s in part) / len(part)) if part else 0.0

    # At each step's start it grows louder within a hundredth of a second; in its last three seconds there are ticks; at the end a low tone.
    steps = said["steps"]
    for step in steps:
        start, end = step["starts"], step["ends"]
        ensure(loud(start + 0.01) > 3 * loud(start - 0.01) and loud(start + 0.01) > 1000, f"no chime at {start}")
        for before in (3, 2, 1):
            if end - before >= start + 1:
                at = end - before
                ensure(loud(at + 0.008) > 1.5 * loud(at - 0.008), f"no tick at {at}")
    last = steps[-1]["ends"]
    ensure(loud(last + 0.1, 0.2) > 1000, "no tone at the end")
    # Between the fading of a chime and the next sound there is silence.
    quiet = steps[0]["starts"] - 4
    ensure(max(map(abs, track[: round(quiet * 24000)])) == 0, "a sound before the count")


def shots(folder, routine, name, more):
    out, said, _ = made(folder, routine, name, more)
    with open(out / "shots.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    ensure(len(rows) == len(said["shots"]) >= 3, "shots")
    covered = [step for shot in said["shots"] for step in shot["steps"]]
    ensure(covered == list(range(1, len(said["steps"]) + 1)), "each step is in one shot")
    ensure(all(a["to"] <= b["from"] + 1e-9 for a, b in zip(said["shots"], said["shots"][1:])), "shots overlap")
    left, right = {"en": ("left", "right"), "de": ("links", "rechts")}[said["language"]]
    for shot, row in zip(said["shots"], rows):
        steps = [said["steps"][n - 1] for n in shot["steps"]]
        own = {("l" if re.search(r"\bleft|\blinke\b", s["side"]) else "r") for s in steps if re.search(r"left|right|linke|rechte", s["side"])}
        behind = re.search(r"behind|von hinten", row["angle"])
        if len(own) == 1 and row["side"]:
            # Own left is on the right of a picture that is not mirrored, but from behind on its left.
            here = (right if own == {"l"} else left) if not behind else (left if own == {"l"} else right)
            there = left if here == right else right
            # "both sides" and the middle stand beside neither.
            ensure(here in row["side"] and there in row["side_mirrored"], f"{row['steps']}: {row['side']}")


def times(folder, routine, name, more):
    """What is written is read again and changes nothing; edited by another program, it moves what it says."""
    out, said, path = made(folder, routine, name, more)
    again = folder / "again"
    more = [*(["--name", name] if name else []), *more]
    done = run("captions", path, "--out", again, "--json", "--times", out / "times.csv", *more)
    ensure(done.returncode == 0, done.stderr[:300])
    ensure([s["starts"] for s in json.loads(done.stdout)["steps"]] == [s["starts"] for s in said["steps"]], "other times")
    ensure("run over" not in done.stderr, done.stderr[:300])
    with open(out / "times.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    ensure(len(rows) == len(said["steps"]), "a row for each step")
    edited = folder / "edited.csv"
    with open(edited, "w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file, delimiter=";")
        writer.writerow(["Step", "Starts", "Name"])
        for n, row in enumerate(rows):
            writer.writerow([row["step"], str(round(float(row["starts"]) * 1.25, 2)).replace(".", ","), row["name"]])
    slow = folder / "slow"
    done = run("captions", path, "--out", slow, "--json", "--times", edited, *more)
    ensure(done.returncode == 0, done.stderr[:300])
    for before, after in zip(said["steps"], json.loads(done.stdout)["steps"]):
        ensure(abs(after["starts"] - before["starts"] * 1.25) <= 0.0051, "an edited time")
    bounds(cues_of_vtt(slow / "captions.vtt"))
    # Twice as fast as it can be said: the bounds hold, and the words that do not fit are told.
    rows = [f"{r['step']},{float(r['starts']) / 2:.2f}" for r in rows]
    (folder / "fast.csv").write_text("step,starts\n" + "\n".join(rows), encoding="utf-8")
    fast = folder / "fast"
    done = run("captions", path, "--out", fast, "--json", "--times", folder / "fast.csv", *more)
    ensure(done.returncode == 0 and "run over" in done.stderr, done.stderr[:300])
    bounds(cues_of_vtt(fast / "captions.vtt"))


def cases():
    """Name, check, its values."""
    for at, (label, routine, more) in enumerate(ROUTINES):
        name = NAMES[at % len(NAMES)]
        for check in (captions, chapters, cue_track, shots, times):
            yield f"{check.__name__} of {label}", check, (routine, name, more)


def main():
    only = sys.argv[1] if len(sys.argv) > 1 else ""
    passed = failed = 0
    for label, check, values in cases():
        if only not in label:
            continue
        try:
            with tempfile.TemporaryDirectory() as folder:
                check(pathlib.Path(folder), *values)
            passed += 1
            print(f"ok      {label}")
        except (AssertionError, OSError, ValueError, KeyError, TypeError, IndexError, subprocess.SubprocessError, wave.Error,
                srt.SRTParseError, webvtt.errors.MalformedFileError) as error:
            failed += 1
            print(f"FAILED  {label}\n        {type(error).__name__}: {error}")
    print(f"{MEASURED['captions']} captions: at most {MEASURED['longest']} characters a line, {MEASURED['fastest']:.2f} characters a second")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
