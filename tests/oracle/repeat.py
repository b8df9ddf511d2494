"""Values of real faces must not move when only the photograph does: brighter or darker, under another white, saved harder, larger
or smaller, cropped, rolled.

    python tests/oracle/repeat.py TRAGION FACES_DIR [--also PHOTO...]

`FACES_DIR` is what faces.py writes; photographs named with `--also` are treated alike, but do not count as real faces. Each face
is measured as it is (in sRGB, at most 2400 pixels wide or high) and after each change, with the skin class of the first answer
told to all. Every change is made here, by Pillow and numpy in linear light, and none by the program.

No photograph that packages ship was taken for a measurement, and none passes every gate. So the values are asked for past the
gates (`--past-gates`); which gates each face fails is printed. Gates of how a person was taken (turned, lit from a side, not
quite sharp) say that a value may be wrong, not that it may move when only the file does: such faces are judged. Gates of what
the pixels hold (the iris too small, blown out, no skin to be seen) say that there is nothing to measure: such faces are
compared and shown in a table of their own, and not judged.

One check for each judged face and change: it holds if the five values of the shadow and brown, blue-red and relief of both
sides each differ by at most the larger of the two photographs' U95, and no gate fails that did not before. That is the stricter
reading: two independent photographs might differ by the root of the sum of both squares. White balance is changed with a card in
the picture: patches of known colour stand in a strip below it before the change, and both photographs are measured by that card.

As a control that values do move when the skin does, the left band is made a quarter darker: dE00 must differ by more than the
larger U95 there, and by less on the other side.

Brighter by a fifth blows out the skin of most of these photographs, which is no fault of the measurement; they count then by
what is 0.8 times as bright, from which the photograph itself is a quarter brighter. A gate that could be looked at only after a
change (the white of an eye of too few pixels) is listed, since a photograph may be refused by it, and does not count.

A face that fails a gate only after a change fails, unless the change itself takes it beyond the gate, which is worked out from
the unchanged answer or from the pixels, and listed. Three judged photographs of real faces are needed.

Sources: sRGB, IEC 61966-2-1:1999; CIELAB, CIE 15:2004; Planck's law with the 2 degree observer of data/colour, checked below
against the tabled chromaticity of illuminant A (from memory).
"""

import argparse
import io
import json
import math
import pathlib
import subprocess
import sys
import tempfile

import numpy as np
from PIL import Image, ImageCms, ImageDraw, ImageFilter, ImageOps

LARGEST = 2400
FEWEST = 3
SHADOW = ("dL", "da", "db", "dE00", "dITA")
PARTS = ("brown", "blue_red", "relief")
# Gates of how the person was taken. The others are of what the pixels hold.
BLOWN = {"clipped", "evenness", "left_out", "skin", "no values"}  # what blown out skin brings down with it
TAKEN = {"yaw", "pitch", "roll", "sharpness", "evenness", "eyes_open", "mouth", "cast"}
SIDES = ("left", "right")
DARKER = 0.75
# Our own invention, sRGB levels: six greys, skin from pale to deep, and colours around them.
CARD = {
    "grey 1": (232, 232, 232), "grey 2": (196, 196, 196), "grey 3": (158, 158, 158), "grey 4": (120, 120, 120),
    "grey 5": (84, 84, 84), "grey 6": (52, 52, 52),
    "skin 1": (232, 198, 180), "skin 2": (214, 172, 150), "skin 3": (190, 142, 116), "skin 4": (158, 110, 86),
    "skin 5": (118, 78, 60), "skin 6": (82, 56, 46),
    "red": (170, 60, 62), "rose": (206, 122, 130), "yellow": (222, 190, 78), "green": (92, 146, 82), "blue": (66, 92, 160),
    "violet": (112, 78, 130),
}
COLUMNS = 6
OBSERVER = pathlib.Path(__file__).resolve().parents[2] / "data/colour/observer_2_degree.csv"

to_light = lambda v: np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
of_light = lambda v: np.where(v <= 0.0031308, v * 12.92, 1.055 * np.maximum(v, 0) ** (1 / 2.4) - 0.055)
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def lab(levels):
    """CIELAB, D65, 2 degrees, of sRGB levels."""
    ratio = TO_XYZ @ to_light(np.array(levels) / 255) / TO_XYZ.sum(axis=1)
    x, y, z = np.where(ratio > 216 / 24389, np.cbrt(ratio), (ratio * 24389 / 27 + 16) / 116)
    return [116 * y - 16, 500 * (x - y), 200 * (y - z)]


def planckian(kelvin):
    """The chromaticity x, y of a black body by Planck's law, second radiation constant 1.438776877e-2 m K (CODATA 2018)."""
    lines = [line for line in OBSERVER.read_text().splitlines() if not line.startswith("#")]
    nm, *observer = np.array([[float(v) for v in line.split(",")] for line in lines[1:]]).T
    power = nm ** -5 / np.expm1(1.438776877e7 / (nm * kelvin))
    x, y, z = np.array(observer) @ power
    return x / (x + y + z), y / (x + y + z)


def white(kelvin):
    """What a black body's light makes of white, each channel of sRGB, the largest 1: nothing is blown out by it."""
    x, y = planckian(kelvin)
    light = np.linalg.solve(TO_XYZ, [x / y, 1, (1 - x - y) / y])
    return light / light.max()


def changed(picture, by):
    """The picture after a change of its linear light."""
    light = by(to_light(np.asarray(picture, float) / 255))
    return Image.fromarray(np.round(np.clip(of_light(light), 0, 1) * 255).astype(np.uint8))


def jpeg(picture, quality):
    held = io.BytesIO()
    picture.save(held, "JPEG", quality=quality)
    return held.getvalue()


def scaled(picture, by):
    return picture.resize([round(s * by) for s in picture.size], Image.Resampling.LANCZOS)


def rolled(picture, degrees):
    return picture.rotate(degrees, Image.Resampling.BICUBIC, expand=True, fillcolor=(128, 128, 128))


def cropped(picture, answer):
    """Half of what lies about the face cut away. The face is taken to reach 1.3 times the width of both eyes up and down."""
    places = np.array([p for side in SIDES for p in answer["sides"][side]["outlines_px"]["band"]])
    (left, top), (right, bottom) = places.min(axis=0), places.max(axis=0)
    wide = right - left
    width, height = picture.size
    face = [left - 0.6 * wide, top - 1.3 * wide, right + 0.6 * wide, bottom + 1.5 * wide]
    return picture.crop((math.floor(max(face[0], 0) / 2), math.floor(max(face[1], 0) / 2),
                         math.ceil((min(face[2], width) + width) / 2), math.ceil((min(face[3], height) + height) / 2)))


def with_card(picture):
    """The picture with a card in a strip below it, and the card's description."""
    width, height = picture.size
    patch = max(24, min(width // (COLUMNS + 1), height // 12))
    gap, rows = patch // 5, math.ceil(len(CARD) / COLUMNS)
    strip = rows * (patch + gap) + 2 * gap
    whole = Image.new("RGB", (width, height + strip), (36, 36, 36))
    whole.paste(picture, (0, 0))
    draw, patches = ImageDraw.Draw(whole), []
    for i, (name, levels) in enumerate(CARD.items()):
        x, y = gap + (i % COLUMNS) * (patch + gap), height + gap + (i // COLUMNS) * (patch + gap)
        draw.rectangle((x, y, x + patch - 1, y + patch - 1), fill=levels)
        corners = [[x, y], [x + patch, y], [x + patch, y + patch], [x, y + patch]]
        patches.append({"name": name, "corners_px": corners, "lab_d65": lab(levels), "grey": name.startswith("grey")})
    return whole, {"patches": patches}


def darker_band(picture, answer):
    """The own left band darker by a quarter in linear light, fading out at its edge."""
    side = answer["sides"]["left"]["outlines_px"]["band"]
    mask = Image.new("L", picture.size)
    ImageDraw.Draw(mask).polygon([tuple(p) for p in side], fill=255)
    edge = 0.5 / answer["scale"]["mm_per_px"]
    # Grown by twice the edge first, so that the whole band lies within the full change.
    grown = mask.filter(ImageFilter.GaussianBlur(2 * edge)).point(lambda v: 255 if v > 20 else 0)
    soft = np.asarray(grown.filter(ImageFilter.GaussianBlur(edge)), float)[..., None] / 255
    return changed(picture, lambda light: light * (1 - (1 - DARKER) * soft))


def opened(path):
    """An upright picture in sRGB, not too large."""
    with Image.open(path) as picture:
        profile = picture.info.get("icc_profile")
        picture = ImageOps.exif_transpose(picture).convert("RGB")
    if profile:
        own, srgb = ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("sRGB")
        picture = ImageCms.profileToProfile(picture, own, srgb)
        picture.info.pop("icc_profile", None)
    picture.thumbnail((LARGEST, LARGEST), Image.Resampling.LANCZOS)
    return picture


class Program:
    """The program, asked for many photographs at once."""

    def __init__(self, path, folder):
        self.path, self.folder = path, pathlib.Path(folder)

    def measure(self, pictures, *options):
        """One answer for each picture, a name to an image or to a file's bytes."""
        files = []
        for i, (name, picture) in enumerate(pictures.items()):
            file = self.folder / f"{i:02}.{'jpg' if isinstance(picture, bytes) else 'png'}"
            if isinstance(picture, bytes):
                file.write_bytes(picture)
            else:
                picture.save(file, compress_level=1)
            files.append(file)
        command = [self.path, "measure", *files, *options, "--past-gates", "--json"]
        run = subprocess.run([str(c) for c in command], capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=600)
        try:
            photos = json.loads(run.stdout)["photos"]
        except (ValueError, KeyError) as error:
            raise SystemExit(f"no answer to {' '.join(map(str, command))}: {error}; {run.stderr[-1000:]}") from error
        if len(photos) != len(files):
            raise SystemExit(f"{len(files)} photographs asked, {len(photos)} answered")
        return dict(zip(pictures, photos))


def failed_gates(answer):
    return {g["name"]: g for g in answer["gates"] if not g["passed"]}


def listed(answer, names=None):
    gates = failed_gates(answer).values()
    return ", ".join(f"{g['name']} {g['value']} against {g['limit']}" for g in gates if names is None or g["name"] in names)


def why_refused(answer):
    return listed(answer) or answer.get("error") or "no values"


def gate(answer, name):
    return next((g for g in answer["gates"] if g["name"] == name), None)


def beyond(name, base, picture, gate_name):
    """Whether a change by itself takes a good photograph beyond a gate."""
    kind, _, by = name.partition(" ")
    if kind == "scale" and gate_name == "iris_px":
        known = gate(base, "iris_px")
        return known["value"] * float(by) < 1.05 * known["limit"]
    if kind == "roll" and gate_name == "roll":
        known = gate(base, "roll")
        return known["value"] + abs(float(by)) > known["limit"]
    if kind == "brightness" and gate_name in BLOWN:
        # Counted here, in the areas of the unchanged answer.
        blown = (np.asarray(picture).max(axis=2) >= 250) | (np.asarray(picture).min(axis=2) <= 2)
        shares = []
        for side in SIDES:
            for area in ("band", "cheek"):
                mask = Image.new("1", picture.size)
                ImageDraw.Draw(mask).polygon([tuple(p) for p in base["sides"][side]["outlines_px"][area]], fill=1)
                shares.append(blown[np.asarray(mask)].mean())
        return max(shares) > 0.9 * gate(base, "clipped")["limit"]
    return False


def values(answer, side):
    """Each judged value of a side with its U95; none where it cannot be told."""
    s = answer["sides"][side]
    told = {k: (s["shadow"][k], s["u95"][k]) for k in SHADOW}
    told.update({k: (s[k]["value"], s[k]["u95"]) if s[k] else (None, None) for k in PARTS})
    return told


def moved(base, other):
    """By how much each value of each side moved, over the larger U95; and in words."""
    for side in SIDES:
        before, after = values(base, side), values(other, side)
        for key, (a, ua) in before.items():
            b, ub = after[key]
            if a is None:
                continue  # it could not be told before; nothing to repeat
            if b is None:
                yield side, key, math.inf, f"{side} {key}: {a:.4g} became untold"
                continue
            u95 = max(ua, ub)
            ratio = abs(a - b) / u95 if u95 > 0 else math.inf
            yield side, key, ratio, f"{side} {key}: {a:.4g} became {b:.4g}, U95 {u95:.3g}"


class Table:
    """What became of each change."""

    def __init__(self):
        self.rows = {True: {}, False: {}}
        self.passed, self.failed, self.notes, self.unseen = 0, 0, [], []

    def count(self, fine, note):
        self.passed, self.failed = self.passed + bool(fine), self.failed + (not fine)
        if not fine:
            self.notes.append(note)
        return fine

    def compare(self, judged, face, name, base, other):
        wrong = []
        for side, key, ratio, words in moved(base, other):
            self.rows[judged].setdefault(name, {}).setdefault(key, []).append((ratio, f"{face} {side} {key}"))
            if ratio > 1:
                wrong.append(words)
        if judged:
            self.count(not wrong, f"{face}, {name}: " + "; ".join(wrong))

    def print(self, judged):
        rows, keys = self.rows[judged], SHADOW + PARTS
        head = "judged" if judged else "not judged"
        print(f"\n{head:<16}" + "".join(f"{k:>12}" for k in keys) + "      all   worst")
        for name, row in rows.items():
            cells = "".join(f"{self.cell(row.get(key)):>12}" for key in keys)
            every = [r for ratios in row.values() for r in ratios]
            top, where = max(every)
            print(f"{name:<16}{cells}  {sum(r <= 1 for r, _ in every):>3}/{len(every):<3}  {top:.2f} {where}")
        print("(within U95 / compared, and the largest difference over U95)")

    @staticmethod
    def cell(ratios):
        return f"{sum(r <= 1 for r, _ in ratios)}/{len(ratios)} {max(ratios)[0]:.2f}" if ratios else "-"


CHANGES = {
    **{f"brightness {by}": (lambda p, _, by=by: changed(p, lambda light: light * by)) for by in (0.8, 1.2)},
    **{f"jpeg {quality}": (lambda p, _, quality=quality: jpeg(p, quality)) for quality in (70, 80, 90, 95)},
    **{f"scale {by}": (lambda p, _, by=by: scaled(p, by)) for by in (0.5, 0.75, 1.5, 2.0)},
    "crop": cropped,
    **{f"roll {by}": (lambda p, _, by=by: rolled(p, by)) for by in (10, -10)},
    "darker band": darker_band,
}
KELVIN = (3000, 4000, 5000, 6500, 8000)


def look(program, table, face, picture, real):
    """All changes of one face; whether it was judged."""
    base = program.measure({"unchanged": picture})["unchanged"]
    if not base.get("sides"):
        print(f"no values unchanged: {face} ({why_refused(base)})")
        return False
    judged = set(failed_gates(base)) <= TAKEN
    shown = [f"{side} dE00 {s['shadow']['dE00']} +- {s['u95']['dE00']}" for side, s in base["sides"].items()]
    fails = f"fails {listed(base)}" if failed_gates(base) else "passes every gate"
    size = f"{picture.width} x {picture.height}, iris {gate(base, 'iris_px')['value']} px"
    head = "judged" if judged else "not judged"
    print(f"{head}: {face}, {size}, {base['tone']['class']}; {'; '.join(shown)}; {fails}")
    tone = ("--tone", base["tone"]["class"])
    pictures = {"unchanged": picture}
    for name, change in CHANGES.items():
        if name.startswith("scale") and beyond(name, base, picture, "iris_px"):
            print(f"    {name}: the iris would be too small, not asked")
        else:
            pictures[name] = change(picture, base)
    answers = program.measure(pictures, "--card", "none", *tone)

    carded, card = with_card(picture)
    described = program.folder / "card.json"
    described.write_text(json.dumps(card))
    whites = {"card": carded}
    for kelvin in KELVIN:
        gains = white(kelvin)
        whites[f"white {kelvin} K"] = changed(carded, lambda light, gains=gains: light * gains)
    by_card = program.measure(whites, "--card", described, *tone)

    for name, answer in {**answers, **by_card}.items():
        if name in ("unchanged", "card"):
            continue
        by = by_card["card"] if name.startswith("white") else answers["unchanged"]
        if by is by_card["card"] and "referenced" != answer.get("mode"):
            if judged:
                table.count(False, f"{face}, {name}: the card was not used: {'; '.join(answer['warnings'])}")
            continue
        new = set(failed_gates(answer)) - set(failed_gates(by)) if answer.get("sides") else {"no values"}
        unseen = {g for g in new if g != "no values" and gate(by, g) is None}
        if unseen:
            table.unseen.append(f"{face}, {name}: {listed(answer, unseen)}")
        new -= unseen
        if new:
            why = listed(answer, new) or why_refused(answer)
            if all(beyond(name, answers["unchanged"], pictures.get(name), g) for g in new):
                print(f"    {name}: beyond the gate by the change itself, not counted ({why})")
            elif judged:
                table.count(False, f"{face}, {name}: refused after the change: {why}")
            else:
                print(f"    {name}: refused after the change ({why})")
            continue
        if name == "darker band":
            if judged:
                darker_moves(table, face, by, answer)
            continue
        table.compare(judged, face, name, by, answer)
    return judged and real


def darker_moves(table, face, base, answer):
    """The control: the left value moves, the right one does not."""
    wrong = []
    for side in SIDES:
        (a, ua), (b, ub) = (values(v, side)["dE00"] for v in (base, answer))
        allowed = max(ua, ub)
        if (abs(a - b) > allowed) != (side == "left"):
            wrong.append(f"{side} dE00 {a:.3g} became {b:.3g}, U95 {allowed:.3g}")
    table.count(not wrong, f"{face}, darker band: " + "; ".join(wrong))


def checked():
    """The formulas here against published values."""
    x, y = planckian(2856)
    # CIE 15:2004: illuminant A, x 0.44758, y 0.40745.
    if abs(x - 0.44758) > 2e-4 or abs(y - 0.40745) > 2e-4:
        raise SystemExit(f"the black body at 2856 K is {x:.5f}, {y:.5f}")
    if max(abs(a - b) for a, b in zip(lab((255, 255, 255)), (100, 0, 0))) > 1e-9:
        raise SystemExit("white is not white")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("tragion")
    parser.add_argument("faces", type=pathlib.Path)
    parser.add_argument("--also", nargs="*", type=pathlib.Path, default=[], metavar="PHOTO")
    options = parser.parse_args()
    checked()
    real = [options.faces / row["name"] for row in json.loads((options.faces / "faces.json").read_text())]
    table, kept = Table(), set()
    with tempfile.TemporaryDirectory() as folder:
        program = Program(options.tragion, folder)
        for path in real + options.also:
            if look(program, table, path.stem, opened(path), path in real):
                kept.add(path.stem.removesuffix("_small"))  # the same photograph, small
    table.print(True)
    table.print(False)
    print(f"{len(kept)} photographs of real faces are judged, of {len({p.stem.removesuffix('_small') for p in real})}")
    table.count(len(kept) >= FEWEST, f"{len(kept)} photographs of real faces hold something to measure; {FEWEST} are needed")
    for note in table.unseen:
        print(f"looked at only after the change: {note}")
    for note in table.notes:
        print(f"FAILED {note}")
    print(f"{table.passed} passed, {table.failed} failed")
    return 1 if table.failed else 0


if __name__ == "__main__":
    sys.exit(main())
