"""The page with the reference card, read by other programs than ours: PDFium draws it, ZXing reads its code, pypdf its tags.

    python tests/documents/card.py [--renew]

Everything is measured on the drawn page in millimetres and held against data/card/layout.csv, with the colours computed here.
TRAGION_BIN names another program. --renew writes the picture of the card that the finder's own test looks at.
"""

import csv
import os
import pathlib
import subprocess
import sys
import tempfile

import numpy
import pypdf
import pypdfium2
import zxingcpp
from PIL import Image

ROOT = pathlib.Path(__file__).resolve().parents[2]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
BINARY = pathlib.Path(os.environ.get("TRAGION_BIN", TARGET / "release" / "tragion")).resolve()
PRINTED = ROOT / "crates/vision/src/card/tests/printed.png"
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
# Where the page puts the card, and the rule below it, in millimetres.
LEFT, TOP, RULE = 22.0, 58.0, 100.0


def ensure(condition, message):
    if not condition:
        raise AssertionError(message)


def tragion(*args, code=0):
    done = subprocess.run([BINARY, *map(str, args)], capture_output=True, text=True, timeout=60, stdin=subprocess.DEVNULL)
    ensure(done.returncode == code, f"{args}: exit {done.returncode}, not {code}: {done.stderr[:300]}")
    return done


def layout():
    lines = [line for line in (ROOT / "data/card/layout.csv").read_text().splitlines() if not line.startswith("#")]
    return [{k: v if k in ("kind", "name", "grey") else float(v) for k, v in row.items()} for row in csv.DictReader(lines)]


def srgb(row):
    """CIELAB (D65, 2 degree) as 8-bit sRGB: CIE 15 and IEC 61966-2-1."""
    fy = (row["L"] + 16) / 116
    f = numpy.array([fy + row["a"] / 500, fy, fy - row["b"] / 200])
    xyz = numpy.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * [0.95047, 1.0, 1.08883]
    to_rgb = numpy.array([[3.2404542, -1.5371385, -0.4985314], [-0.969266, 1.8760108, 0.041556], [0.0556434, -0.2040259, 1.0572252]])
    linear = to_rgb @ xyz
    return 255 * numpy.where(linear <= 0.0031308, 12.92 * linear, 1.055 * numpy.maximum(linear, 0) ** (1 / 2.4) - 0.055)


def drawn(file, dots):
    """The first page, `dots` pixels a millimetre."""
    page = pypdfium2.PdfDocument(file)[0]
    return numpy.asarray(page.render(scale=dots * 25.4 / 72).to_pil().convert("RGB")).astype(float)


def true_size(file, paper):
    reader = pypdf.PdfReader(file)
    ensure(len(reader.pages) == 1, f"{len(reader.pages)} pages")
    box = reader.pages[0].mediabox
    for got, true in zip((box.width, box.height), PAPERS[paper]):
        ensure(abs(float(got) * 25.4 / 72 - true) < 0.01, f"the page measures {float(got) * 25.4 / 72} mm, not {true}")
    dots = 20
    page = drawn(file, dots)
    grey = page.mean(axis=2)
    # The ends of the rule: the outermost dark columns of a row just below its line.
    rows = [y for y in range(dots * 115, dots * 150) if (grey[y, dots * 20 : dots * 130] < 128).sum() > 0.95 * RULE * dots]
    ensure(rows, "no rule was found")
    dark = numpy.flatnonzero(grey[rows[-1] + 4 * dots, dots * 15 : dots * 130] < 128)
    long = (dark[-1] - dark[0] + 1) / dots
    # Its two end marks are 0.2 mm wide, half of it outside.
    ensure(abs(long - RULE - 0.2) < 0.1, f"the rule is {long} mm long")


def patches(file, _paper):
    dots = 20
    page = drawn(file, dots)
    near = lambda x, y: page[round((TOP + y) * dots), round((LEFT + x) * dots)]
    rows = [row for row in layout() if row["kind"] == "patch"]
    ensure(len(rows) == 18, f"{len(rows)} patches")
    for row in rows:
        x, y, w, h, true = row["x_mm"], row["y_mm"], row["w_mm"], row["h_mm"], srgb(row)
        at = page[round((TOP + y + 1) * dots) : round((TOP + y + h - 1) * dots), round((LEFT + x + 1) * dots) : round((LEFT + x + w - 1) * dots)]
        off = abs(at - true).max()
        ensure(off <= 1.5, f"{row['name']}: {at.mean(axis=(0, 1))} is {off} of 255 off {true}")
        for inside, outside in [
            ((x + 0.1, y + h / 2), (x - 0.1, y + h / 2)),
            ((x + w - 0.1, y + h / 2), (x + w + 0.1, y + h / 2)),
            ((x + w / 2, y + 0.1), (x + w / 2, y - 0.1)),
            ((x + w / 2, y + h - 0.1), (x + w / 2, y + h + 0.1)),
        ]:
            ensure(abs(near(*inside) - true).max() <= 1.5, f"{row['name']} does not reach {inside}")
            ensure(near(*outside).min() >= 254, f"{row['name']} reaches beyond {outside}")


def code(file, _paper):
    dots = 10
    page = drawn(file, dots)
    found = zxingcpp.read_barcodes(Image.fromarray(page.astype("uint8")))
    ensure([f.text for f in found] == ["TRAGION-CARD 1"], f"the code says {[f.text for f in found]}")
    ensure(found[0].format == zxingcpp.BarcodeFormat.QRCode, f"it is {found[0].format}")
    row = next(row for row in layout() if row["kind"] == "qr")
    place = found[0].position
    for corner, (dx, dy) in zip((place.top_left, place.top_right, place.bottom_right, place.bottom_left), ((0, 0), (1, 0), (1, 1), (0, 1))):
        x, y = LEFT + row["x_mm"] + dx * row["w_mm"], TOP + row["y_mm"] + dy * row["h_mm"]
        off = max(abs(corner.x / dots - x), abs(corner.y / dots - y))
        ensure(off < 0.4, f"a corner of the code lies {off} mm off")
    # Quiet zone: four modules of nothing around it (ISO/IEC 18004).
    left, top, side = LEFT + row["x_mm"] - 4, TOP + row["y_mm"] - 4, row["w_mm"] + 8
    cut = lambda low, high: slice(round(low * dots) + 1, round(high * dots) - 1)
    zone = page[cut(top, top + side), cut(left, left + side)].copy()
    zone[4 * dots - 2 : -4 * dots + 2, 4 * dots - 2 : -4 * dots + 2] = 255
    ensure(zone.min() >= 254, "something lies in the quiet zone")


def accessible(file, _paper):
    reader = pypdf.PdfReader(file)
    root = reader.trailer["/Root"]
    ensure(root["/Lang"] == "en-GB", f"language {root.get('/Lang')}")
    ensure(root["/MarkInfo"]["/Marked"], "it is not tagged")
    ensure(root["/ViewerPreferences"]["/DisplayDocTitle"], "its title is not shown")
    ensure(reader.metadata.title == "Reference card", f"title {reader.metadata.title}")
    xmp = root["/Metadata"].get_data().decode()
    ensure("pdfuaid:part>1<" in xmp.replace(" ", ""), "it does not say that it is PDF/UA-1")
    kinds, described = [], []

    def walk(node):
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for child in node:
                walk(child)
        elif isinstance(node, dict):
            if "/S" in node and node.get("/Type", "/StructElem") == "/StructElem":
                kinds.append(str(node["/S"]))
                if node["/S"] == "/Figure":
                    described.append(str(node.get("/Alt", "")))
            if "/K" in node:
                walk(node["/K"])

    walk(root["/StructTreeRoot"]["/K"])
    ensure(kinds.count("/H1") == 1 and kinds.count("/H2") == 5, f"headings: {kinds}")
    ensure(len(described) == 2 and all(len(words) > 20 for words in described), f"figures: {described}")
    fonts = reader.pages[0]["/Resources"]["/Font"]
    for font in fonts.values():
        descriptor = font["/DescendantFonts"][0]["/FontDescriptor"]
        ensure("/FontFile2" in descriptor or "/FontFile3" in descriptor, f"{font['/BaseFont']} is not embedded")
    words = " ".join(reader.pages[0].extract_text().split())
    for said in ("Reference card", "Measure the rule below.", "no test of skin or health"):
        ensure(said in words, f"the page does not say {said!r}")


def same_bytes(file, paper):
    with tempfile.TemporaryDirectory() as folder:
        again = pathlib.Path(folder) / "again.PDF"
        tragion("card", again, "--paper", paper)
        ensure(again.read_bytes() == file.read_bytes(), "the same page twice is not the same bytes")


def printed(file, paper):
    """The finder's own test looks at this picture: it must be the page as it is now."""
    if paper != "a4":
        return
    now = drawn(file, 5)[round((TOP - 10) * 5) : round((TOP + 64) * 5), round((LEFT - 10) * 5) : round((LEFT + 95.6) * 5)]
    if "--renew" in sys.argv:
        Image.fromarray(now.astype("uint8")).save(PRINTED, optimize=True)
    kept = numpy.asarray(Image.open(PRINTED).convert("RGB")).astype(float)
    ensure(kept.shape == now.shape, f"{PRINTED.name} measures {kept.shape}, the page {now.shape}")
    ensure(abs(kept - now).mean() < 0.5, f"{PRINTED.name} is {abs(kept - now).mean()} of 255 off: run this with --renew")


def refused(_file, _paper):
    for args, said in [
        (("card", "card.png"), "must end in .pdf"),
        (("card", "card"), "must end in .pdf"),
        (("card", "card.pdf", "--paper", "a5"), "a4 or letter"),
        (("card", "nowhere/at/all/card.pdf"), "can't be written"),
        (("card",), "OUT.pdf"),
    ]:
        done = tragion(*args, code=2)
        ensure(said in done.stderr, f"{args}: {done.stderr}")
        ensure(not pathlib.Path(args[-1]).exists(), f"{args} wrote something")


def main():
    passed = failed = 0
    with tempfile.TemporaryDirectory() as folder:
        for paper in PAPERS:
            file = pathlib.Path(folder) / f"{paper}.pdf"
            done = tragion("card", file, "--paper", paper)
            for test in (true_size, patches, code, accessible, same_bytes, printed, refused):
                name = f"card {paper}: {test.__name__}"
                try:
                    ensure(str(file) in done.stdout, "the file is not named")
                    test(file, paper)
                    passed += 1
                    print(f"ok      {name}")
                except (AssertionError, OSError, ValueError, KeyError, TypeError, IndexError, subprocess.TimeoutExpired) as error:
                    failed += 1
                    print(f"FAILED  {name}\n        {type(error).__name__}: {error}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
