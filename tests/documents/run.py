"""The examples and every command line of the documents, run with the built program.

    python tests/documents/run.py [PART OF A NAME]

What is checked of an answer is what docs/json.md promises, in words of our own here: the program's types are not read.
TRAGION_BIN names another program.
"""

import json
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
import xml.etree.ElementTree as ElementTree

ROOT = pathlib.Path(__file__).resolve().parents[2]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
BINARY = pathlib.Path(os.environ.get("TRAGION_BIN", TARGET / "release" / "tragion")).resolve()
sys.path.insert(0, str(ROOT / "tests" / "oracle"))

from instance import BadInstance, load  # noqa: E402
from peer import solve  # noqa: E402

CLASSES = ["stop", "leave_out", "ask_first", "gently", "go"]
MOVEMENTS = ["open", "prepare", "work", "close"]
SIDES = ["left", "right", "both", "midline"]
PRESSURES = ["featherlight", "light", "firm"]


def ensure(condition, message):
    if not condition:
        raise AssertionError(message)


def tragion(*args, cwd=ROOT):
    begun = time.monotonic()
    done = subprocess.run([BINARY, *map(str, args)], cwd=cwd, capture_output=True, text=True, timeout=60,
                          stdin=subprocess.DEVNULL)
    done.took = time.monotonic() - begun
    ensure("panicked" not in done.stderr, f"{args}: it panicked: {done.stderr[:300]}")
    return done


def answer(*args, code=0):
    done = tragion(*args)
    ensure(done.returncode == code, f"{args}: exit {done.returncode}, not {code}: {done.stderr[:300]}")
    return json.loads(done.stdout), done


PICTURES = pathlib.Path()


def screen(path):
    said, _ = answer("screen", path, "--json")
    ensure(said["clearance"], "no clearance")
    for row in said["clearance"]:
        ensure(row["class"] in CLASSES and row["side"] in SIDES, f"odd row {row}")
        ensure(isinstance(row["rules"], list) and (row["class"] == "go" or row["rules"]), f"no rule named: {row}")
    ensure(isinstance(said["warning_signs"], list) and isinstance(said["unanswered"], list), "lists are missing")
    ensure(tragion("screen", path).stdout.strip(), "nothing in words")


def draft(path):
    request = tomllib.loads(path.read_text(encoding="utf-8"))
    said, done = answer("draft", path, "--json")
    ensure(done.took < 1.0, f"{done.took:.2f} s from the start of the process")
    steps = said["steps"]
    ensure(steps and said["proven_best"] is True and said["bound"] == said["gain"], "not proven best")
    ensure(said["total_s"] <= request["minutes"] * 60 and steps[-1]["end_s"] == said["total_s"], "not within the minutes")
    order = [MOVEMENTS.index(step["movement"]) for step in steps]
    ensure(order == sorted(order), "movements out of order")
    now = 0
    for step in steps:
        ensure(step["side"] in SIDES and step["pressure"] in PRESSURES, f"odd step {step}")
        ensure(step["start_s"] >= now and step["end_s"] - step["start_s"] == step["seconds"], f"odd times {step}")
        now = step["end_s"]
        ensure(step["why"], f"no reason: {step}")
    minutes = [point["minutes"] for point in said["curve"]]
    gains = [point["gain"] for point in said["curve"]]
    ensure(minutes == sorted(set(minutes)) and gains == sorted(gains), "the curve does not rise")
    here = [p["gain"] for p in said["curve"] if p["minutes"] == request["minutes"]]
    ensure(here in ([], [said["gain"]]), "the curve and the draft differ")
    for out in said["left_out"]:
        ensure(out["reason"] and {"target", "side", "rule"} <= set(out), f"odd left_out {out}")
    for fallback in said["fallbacks"]:
        ensure(0 <= fallback["after_step"] < len(steps) and fallback["seconds_left"] >= 0, f"odd fallback {fallback}")
        ensure(all(f["movement"] in MOVEMENTS for f in fallback["steps"]), "odd fallback")
    again, _ = answer("draft", path, "--json")
    ensure(again == said, "the same request, another routine")
    ensure(tragion("draft", path).stdout.strip(), "nothing in words")


def draft_files(path):
    """The drawing is a drawing, the routine written passes its own check, the instance means the same to the peer."""
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        svg, routine, instance = folder / "a.svg", folder / "routine.toml", folder / "instance.json"
        said, _ = answer("draft", path, "--json", "--svg", svg, "--toml", routine, "--instance", instance)
        drawing = ElementTree.parse(svg).getroot()
        ensure(drawing.tag.endswith("}svg"), "no drawing")
        words = " ".join(e.text or "" for e in drawing.iter() if e.tag.endswith(("}title", "}desc")))
        ensure(words.strip(), "the drawing has no title in words")
        asked = solve(load(instance))
        ensure((asked["gain"], asked["total_s"]) == (said["gain"], said["total_s"]),
               f"the peer finds {asked['gain']} in {asked['total_s']} s, not {said['gain']} in {said['total_s']} s")
        request = tomllib.loads(path.read_text(encoding="utf-8"))
        if "answers" not in request:
            checked, _ = answer("check", routine, "--json")
            ensure(checked["ok"] is True and checked["breaches"] == [], f"its own check finds {checked['breaches']}")


def routine(path):
    if path.name == "routine.toml":
        said, _ = answer("check", path, "--json")
        ensure(said["ok"] is True and said["breaches"] == [], f"breaches: {said['breaches']}")
        return
    done = tragion("check", path, "--json")
    said = json.loads(done.stdout)
    ensure(done.returncode == (0 if said["ok"] else 1), f"exit {done.returncode} with ok {said['ok']}")
    ensure(said["ok"] == (not said["breaches"]), "ok and breaches disagree")
    for breach in said["breaches"]:
        ensure(breach["rule"] and breach["message"] and "repair" in breach and "step" in breach, f"odd breach {breach}")


def refused(path):
    """What is refused lies in examples/refused: exit 2, and each finding with file, line and what to do."""
    kind = path.name.split("_")[0]
    command = {
        "request": ["draft", path], "routine": ["check", path], "answers": ["screen", path],
        "atlas": ["draft", ROOT / "examples" / "request.toml", "--atlas", path],
    }[kind]
    ensure(path.read_text(encoding="utf-8").startswith("# "), "its first line does not say why it is refused")
    done = tragion(*command)
    ensure(done.returncode == 2 and not done.stdout, f"exit {done.returncode}, not 2: {done.stderr[:200]}")
    for line in done.stderr.splitlines():
        found = re.match(re.escape(str(path)) + r":(\d+): (.{20,})", line)
        ensure(found, f"a finding without file, line or enough words: {line}")
        ensure(1 <= int(found[1]) <= len(path.read_text(encoding="utf-8").splitlines()) + 1, f"no such line: {line}")
    with_json = tragion(*command, "--json")
    ensure(with_json.returncode == 2, f"with --json exit {with_json.returncode}, not 2")


def own_points(path):
    """Own points, by rule and by a tap, are found on a face and drawn there."""
    codes = [row["id"] for row in tomllib.loads(path.read_text(encoding="utf-8"))["place"]]
    photo, drawn = PICTURES / "own.png", PICTURES / "own.svg"
    ensure(tragion("phantom", photo, "--seed", "8", "--plain").returncode == 0, "no picture")
    said, _ = answer("map", photo, "--atlas", path, "--svg", drawn, "--json")
    for code in codes:
        rows = [row for row in said["points"] if row["code"] == code]
        ensure({row["side"] for row in rows} == {"left", "right"}, f"{code}: {rows}")
        left, right = sorted(rows, key=lambda row: row["side"])
        ensure(left["x_px"] > right["x_px"] and 0 < left["uncertainty_mm"] < 10, f"{code}: {rows}")
        ensure(f'data-target="{code}"' in drawn.read_text(encoding="utf-8"), f"{code} is not drawn")


def completions(shell):
    ensure("tragion" in tragion("completions", shell).stdout, "no completions")


def command_line(line):
    """A line as the documents show it; files it writes go to a folder of their own."""
    words = shlex.split(line, comments=True)
    # Photographs that one line draws are read by the next.
    words = [str(PICTURES / word) if word.endswith((".png", ".jpg")) else word for word in words]
    # A folder of photographs holds those drawn so far.
    words = [folder_of_photographs(word) if word.endswith("/") else word for word in words]
    with tempfile.TemporaryDirectory() as folder:
        for i, word in enumerate(words[:-1]):
            if word in ("--svg", "--toml", "--instance", "--overlay", "--print", "--out"):
                words[i + 1] = str(pathlib.Path(folder) / words[i + 1])
        cut = words.index(">") if ">" in words else len(words)
        done = tragion(*words[1:cut])
    ensure(done.returncode == 0, f"exit {done.returncode}: {done.stderr[:300]}")


def demo_practice():
    """A folder with the demo's practice, as `tragion desk --demo` makes it; and a file with its passphrase, which its own page tells."""
    folder, said = PICTURES / "practice", PICTURES / "passphrase.txt"
    if not folder.exists():
        said.write_text("invented people only\n", encoding="utf-8")
        desk = subprocess.Popen([BINARY, "desk", "--demo", "--no-open", "--cabinet", folder], stdout=subprocess.PIPE, text=True)
        begun = time.monotonic()
        ensure(desk.stdout.readline().startswith("http://127.0.0.1:"), "the demo gives no address")
        took = time.monotonic() - begun
        desk.kill()
        desk.wait()
        ensure(took < 10, f"the demo took {took:.1f} s to give its address")
    return folder, said


def cabinet_line(line):
    """A line about a practice: its capitals stand for a practice, a backup of it, a folder, a client."""
    folder, said = demo_practice()
    words = shlex.split(line, comments=True)
    fresh = PICTURES / f"fresh-{words[1]}"
    path = fresh if words[1] == "restore" else folder
    places = {"PATH": path, "FILE": PICTURES / "practice.tragion", "DIR": fresh, "N": 1}
    words = [str(places.get(word, word)) for word in words]
    os.environ["TRAGION_PASSPHRASE_FILE"] = str(said)
    try:
        done = tragion(*words[1:])
    finally:
        del os.environ["TRAGION_PASSPHRASE_FILE"]
    ensure(done.returncode == 0, f"exit {done.returncode}: {done.stderr[:300]}")
    ensure(path.exists() and (words[1] != "export" or any(fresh.iterdir())), "it left nothing behind")


def folder_of_photographs(name):
    folder, drawn = PICTURES / name, sorted(PICTURES.glob("*.png"))
    ensure(drawn, "no photograph was drawn before this line")
    folder.mkdir(exist_ok=True)
    for picture in drawn:
        shutil.copy(picture, folder)
    return str(folder)


def shown_lines():
    """Lines of `sh` blocks that call the program, without those that serve until they are ended."""
    for path in [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]:
        if not path.exists():
            continue
        for block in re.findall(r"```sh\n(.*?)```", path.read_text(encoding="utf-8"), re.S):
            for line in block.splitlines():
                line = line.strip()
                if line.startswith("tragion ") and not line.startswith("tragion desk"):
                    yield path.relative_to(ROOT), line


def cases():
    examples = ROOT / "examples"
    for path in sorted(examples.glob("answers*.toml")):
        yield f"screen {path.name}", screen, path
    for path in sorted(examples.glob("request*.toml")):
        yield f"draft {path.name}", draft, path
        yield f"draft {path.name}: drawing, routine, instance", draft_files, path
    for path in sorted(examples.glob("routine*.toml")):
        yield f"check {path.name}", routine, path
    for path in sorted((examples / "refused").glob("*.toml")):
        yield f"refused {path.name}", refused, path
    for path in sorted(examples.glob("own_points*.toml")):
        yield f"map with {path.name}", own_points, path
    for shell in ("bash", "zsh", "fish"):
        yield f"completions {shell}", completions, shell
    for path, line in shown_lines():
        of_a_practice = line.split()[1] in ("backup", "restore", "export", "erase")
        yield f"{path}: {line}", cabinet_line if of_a_practice else command_line, line


def main():
    with tempfile.TemporaryDirectory() as folder:
        global PICTURES
        PICTURES = pathlib.Path(folder)
        return run()


def run():
    only = sys.argv[1] if len(sys.argv) > 1 else ""
    passed = failed = 0
    kinds = set()
    for name, test, value in cases():
        if only not in name:
            continue
        kinds.add(test.__name__)
        try:
            test(value)
            passed += 1
            print(f"ok      {name}")
        except (AssertionError, BadInstance, OSError, ValueError, KeyError, TypeError, subprocess.TimeoutExpired,
                ElementTree.ParseError) as error:
            failed += 1
            print(f"FAILED  {name}\n        {type(error).__name__}: {error}")
    if not only:
        for kind in ("screen", "draft", "routine", "refused", "command_line", "cabinet_line"):
            if kind not in kinds:
                failed += 1
                print(f"FAILED  no example or document has anything for `{kind}`")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
