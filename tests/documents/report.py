"""The printed report, read by other programs than ours: outloud holds it to PDF/UA-1, qpdf checks the file, PDFium draws it and takes its text;
the requirements of ISO 14289-1 are looked up one by one as for the guide (guide.py). The reports come from the desk, over HTTP, of a practice
in which weeks have run (`cargo build --release -p app --example report`).

    python tests/documents/report.py [PART OF A NAME]

TRAGION_BIN names another program, TRAGION_EXAMPLE another example; TRAGION_KEEP a folder in which the reports are kept.
"""

import io
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request

import numpy
import pikepdf
import pypdfium2
from PIL import Image

import guide
from guide import BINARY, ensure, elements, first, kind, on_first, said, set_in, tragion

EXAMPLE = pathlib.Path(os.environ.get("TRAGION_EXAMPLE", BINARY.parent / "examples" / "report")).resolve()
DAY = "2026-03-01"
PASSPHRASE = "horse lamp river seven"


class Desk:
    """The desk on a practice, as one browser inside it."""

    def __init__(self, folder):
        secret = folder / "passphrase.txt"
        secret.write_text(PASSPHRASE, encoding="utf-8")
        self.process = subprocess.Popen(
            [BINARY, "desk", "--no-open", "--today", DAY, "--cabinet", folder / "cabinet"],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
            env={**os.environ, "TRAGION_PASSPHRASE_FILE": str(secret)})
        printed = self.process.stdout.readline().strip()
        self.root = "/".join(printed.split("/")[:3])
        self.cookie = ""
        self.get(printed[len(self.root):])

    def get(self, path):
        request = urllib.request.Request(self.root + path, headers={"cookie": self.cookie})
        opener = urllib.request.build_opener(NoWayOn)
        try:
            answer = opener.open(request, timeout=120)
        except urllib.error.HTTPError as error:
            answer = error
        given = answer.headers.get("set-cookie")
        if given:
            self.cookie = given.split(";")[0]
        return answer.status, answer.headers, answer.read()

    def end(self):
        self.process.terminate()
        self.process.wait(10)


class NoWayOn(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_):
        return None


# -- What is asked of a report beside what is asked of the guide.


def images(pdf):
    return [x for page in pdf.pages for x in page.Resources.get("/XObject", {}).values() if x.get("/Subtype") == "/Image"]


def figures(wanted):
    def figures(pdf):
        """7.3: every figure has words in its place, and its bounds within the page."""
        count = 0
        for element, _ in elements(pdf):
            if kind(element) == "Figure":
                count += 1
                if len(str(element.get("/Alt", "")).strip()) < 40:
                    yield "a figure without words"
                attributes = element.get("/A", {})
                rows = attributes if isinstance(attributes, pikepdf.Array) else [attributes]
                boxes = [row.BBox for row in rows if isinstance(row, pikepdf.Dictionary) and "/BBox" in row]
                if not boxes:
                    yield "a figure without bounds"
        if count != wanted:
            yield f"{count} figures, not {wanted}"

    return figures


def pixels(wanted):
    def pixels(pdf):
        """The photographs are JPEG files in a stated colour space that hold nothing but their pixels."""
        found = images(pdf)
        if len(found) != wanted:
            yield f"{len(found)} pictures, not {wanted}"
        for picture in found:
            raw = picture.read_raw_bytes()
            if str(picture.Filter) not in ("/DCTDecode", "[ /DCTDecode ]", "pikepdf.Array([ \"/DCTDecode\" ])"):
                yield f"a picture as {picture.Filter}"
            if any(word in raw for word in (b"Exif", b"http://ns.adobe.com", b"Photoshop", b"GPS")):
                yield "a picture with metadata"
            if "ICCBased" not in str(picture.ColorSpace) and "/ICCBased" != str(picture.ColorSpace[0] if isinstance(picture.ColorSpace, pikepdf.Array) else ""):
                yield f"a picture in {picture.ColorSpace}"
            if Image.open(io.BytesIO(raw)).size != (720, 960):
                yield "a picture of another size"
            if picture.get("/Interpolate", False):
                yield "a picture that the reader smooths"

    return pixels


def nothing_more(pdf):
    """No links, forms, scripts or attachments."""
    names = pdf.Root.get("/Names", {})
    if "/AcroForm" in pdf.Root or "/JavaScript" in names or "/EmbeddedFiles" in names or "/OpenAction" in pdf.Root:
        yield "it holds a form, a script or a file"
    if any(len(page.get("/Annots", [])) for page in pdf.pages):
        yield "it holds a link"


def bookmarks(pdf):
    """Every heading of the first two levels has its bookmark, in order."""
    with pdf.open_outline() as outline:
        marks = [str(item.title) for item in outline.root]
    titles = [str(e.get("/T", "")) for e, _ in elements(pdf) if kind(e) in ("H1", "H2")]
    if marks != titles:
        yield f"bookmarks {marks}, headings {titles}"


def without_alt_of_last(pdf):
    last = [e for e, _ in elements(pdf) if kind(e) == "Figure"][-1]
    del last["/Alt"]


def without_picture(pdf):
    for page in pdf.pages:
        for name, x in list(page.Resources.get("/XObject", {}).items()):
            if x.get("/Subtype") == "/Image":
                del page.Resources.XObject[name]
                return


def with_exif(pdf):
    picture = images(pdf)[0]
    raw = picture.read_raw_bytes()
    picture.write(raw[:2] + b"\xff\xe1\x00\x10Exif\0\0" + b"\0" * 8 + raw[2:], filter=pikepdf.Name.DCTDecode)


def without_bookmark(pdf):
    with pdf.open_outline() as outline:
        del outline.root[-1]


def checks(photographs):
    """Each check, and copies that it must find fault with."""
    kept = [(c, ways) for c, ways in guide.CHECKS if c not in (guide.figures, guide.no_more_than_said)]
    kept.append((figures(1 + photographs), [on_first("Figure", "/Alt", None), on_first("Figure", "/A", pikepdf.Array()), without_alt_of_last]))
    kept.append((pixels(photographs), [without_picture, with_exif] if photographs else []))
    kept.append((nothing_more, [guide.linked, set_in([], "/OpenAction", pikepdf.Dictionary())]))
    kept.append((bookmarks, [without_bookmark]))
    return kept


def accessible(file, given):
    with pikepdf.open(file) as pdf:
        for check, _ in checks(given["photographs"]):
            wrong = list(check(pdf))
            ensure(not wrong, f"{check.__name__}: {wrong[:3]}")


def each_check_can_fail(file, given):
    for check, ways in checks(given["photographs"]):
        found = 0
        for broken in ways:
            with pikepdf.open(file) as pdf:
                broken(pdf)
                try:
                    found += bool(list(check(pdf)))
                except (KeyError, AttributeError, IndexError, pikepdf.PdfError):
                    found += 1
        wanted = len(ways) - 1 if check is guide.fonts else len(ways)
        ensure(found >= wanted, f"{check.__name__} found {found} of {len(ways)} faults")


def read_in_order(file, given):
    """Headings and their matter come one after another; every word stands that has to, and none that must not."""
    guide.read_in_order(file, given)


def verdict_stands(file, given):
    """The verdict's sentence stands there: once, and once more under photographs; and it is the one of the desk's page."""
    text = " ".join(said(file))
    ensure(len(given["verdict"]) > 40, f"no verdict on the page: {given['verdict']!r}")
    count = text.count(given["verdict"])
    wanted = 2 if given["photographs"] else 1
    ensure(count == wanted, f"the verdict stands {count} times, not {wanted}: {given['verdict']}")


def nothing_cut_off(file, _given):
    """No ink within 8 mm of an edge, and no two pieces of text on one another."""
    guide.within_the_page(file, _given)
    for number, page in enumerate(pypdfium2.PdfDocument(file), 1):
        text = page.get_textpage()
        boxes = [text.get_rect(i) for i in range(text.count_rects())]
        for i, (l, b, r, t) in enumerate(boxes):
            for l2, b2, r2, t2 in boxes[i + 1:]:
                wide, high = min(r, r2) - max(l, l2), min(t, t2) - max(b, b2)
                small = min(t - b, t2 - b2)
                ensure(wide < 1.0 or high < 0.5 * small, f"page {number}: words on words at {l:.0f}, {b:.0f}")


def photographs_are_drawn(file, given):
    """What lies where the photographs are is a picture, not a flat area, and the two are not the same."""
    if not given["photographs"]:
        return
    with pikepdf.open(file) as pdf:
        order = {page.objgen: n for n, page in enumerate(pdf.pages)}
        places = []
        for element, _ in elements(pdf):
            if kind(element) == "Figure" and "/Pg" in element or kind(element) == "Figure":
                attributes = element.A
                rows = attributes if isinstance(attributes, pikepdf.Array) else [attributes]
                box = [float(v) for v in next(row for row in rows if "/BBox" in row).BBox]
                child = element.K[0] if isinstance(element.K, pikepdf.Array) else element.K
                page = element.get("/Pg") or child.Pg
                places.append((order[page.objgen], box))
    document = pypdfium2.PdfDocument(file)
    drawn = []
    for number, (x0, y0, x1, y1) in places[-2:]:
        scale = 2.0
        page = document[number]
        high = page.get_size()[1]
        picture = page.render(scale=scale).to_pil().convert("L")
        part = picture.crop([round(v * scale) for v in (x0, high - y1, x1, high - y0)])
        drawn.append(numpy.asarray(part.resize((90, 120))).astype(float))
    ensure(all(d.std() > 15 for d in drawn), f"a flat picture: {[d.std() for d in drawn]}")
    ensure(numpy.abs(drawn[0] - drawn[1]).mean() > 1, "the two are one picture")
    # The eyes lie on the same places: the band with them agrees better as it lies than moved by a thirtieth of the width.
    band = [d[40:64, 15:75] - d[40:64, 15:75].mean() for d in drawn]
    agree = lambda a, b: float((a * b).sum() / numpy.sqrt((a * a).sum() * (b * b).sum()))
    still = agree(*band)
    moved = max(agree(band[0], numpy.roll(band[1], step, axis=1)) for step in (-3, 3))
    given["measured"].append(f"eyes agree {still:.3f}, moved {moved:.3f}")
    ensure(still > 0.6 and still > moved, f"the eyes agree {still:.3f} as they lie, {moved:.3f} moved")


def own_words(file, given):
    """As of the guide: what we print passes our own check of claims."""
    if given["order"][0] not in GERMAN:
        guide.own_words(file, given)


TESTS = [accessible, each_check_can_fail, guide.outloud, guide.sound, guide.sizes, read_in_order, verdict_stands, guide.large_enough,
         nothing_cut_off, guide.black_alone, photographs_are_drawn, own_words]
ENGLISH = ["Report:", "What was asked beforehand", "How it felt", "The run of the weeks", "The verdict", "Sessions", "What happened beside it"]
AFTER = ["What is known from trials", "What cannot be said", "Who made this report", "diagnoses nothing"]
GERMAN = ["Bericht:", "Was vorher gefragt war", "Wie es sich anfühlte", "Der Verlauf der Wochen", "Das Urteil", "Sitzungen", "Was daneben geschah"]
DANACH = ["Was aus Studien bekannt ist", "Was sich nicht sagen lässt", "Wer diesen Bericht gemacht hat", "keine Diagnose"]
# Who, language, paper, photographs, pages at most.
CASES = [
    ("clear", "Ada Winter", "en", "a4", 2, 2),
    ("clear letter", "Ada Winter", "en", "letter", 2, 2),
    ("clear german", "Ada Winter", "de", "a4", 2, 2),
    ("noise", "Ben Sommer", "en", "a4", 0, 2),
    ("noise german", "Ben Sommer", "de", "letter", 0, 2),
    ("one side", "Dan Lenz", "en", "letter", 0, 2),
    ("sleep", "Mia Sand", "en", "a4", 0, 2),
    ("long", "Maximiliane", "de", "letter", 2, 3),
    ("long english", "Maximiliane", "en", "a4", 2, 3),
]


def settled(desk, weeks):
    """Waits until what the visits say is no longer read anew, as it is once after the practice is opened."""
    before = None
    for _ in range(60):
        now = desk.get(f"{weeks}/report")[2]
        now = re.sub(rb'content="[^"]*"', b"", now)
        if now == before:
            return
        before = now
        time.sleep(0.5)
    raise AssertionError("the numbers of the page do not settle")


def main():
    only = sys.argv[1] if len(sys.argv) > 1 else ""
    passed = failed = 0
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        shots = []
        for name, more in (("first", ["--plain", "--severity", "3"]), ("latest", ["--light", "led", "--yaw", "3", "--pitch", "0", "--roll", "6", "--severity", "1"])):
            photo = folder / f"{name}.jpg"
            tragion("phantom", photo, "--seed", "8", "--card", *more)
            (folder / f"{name}.json").write_text(tragion("measure", photo, "--json").stdout, encoding="utf-8")
            shots += [photo, folder / f"{name}.json"]
        filled = subprocess.run([EXAMPLE, folder / "cabinet", PASSPHRASE, DAY, *shots], capture_output=True, text=True, timeout=120)
        ensure(filled.returncode == 0, f"the practice is not filled: {filled.stderr[-400:]}")
        people = [line.split(" ", 1) for line in filled.stdout.splitlines()]
        desk = Desk(folder)
        try:
            for name, who, tongue, paper, photographs, most in CASES:
                at, person = next((n, p) for n, p in enumerate(people) if p[1].startswith(who))
                weeks = f"/clients/{person[0]}/weeks/{at + 1}"
                settled(desk, weeks)
                asked = f"?language={tongue}&paper={paper}&photographs={'yes' if photographs else 'no'}"
                status, headers, body = desk.get(f"{weeks}/report.pdf{asked}")
                ensure(status == 200 and headers["cache-control"] == "no-store", f"{name}: {status} {body[:300]}")
                file = folder / f"{name.replace(' ', '-')}.pdf"
                file.write_bytes(body)
                again = desk.get(f"{weeks}/report.pdf{asked}")[2]
                if os.environ.get("TRAGION_KEEP"):
                    shutil.copy(file, os.environ["TRAGION_KEEP"])
                page = desk.get(f"{weeks}/report")[2].decode()
                verdict = re.search(r'<p class="verdict">(.*?)</p>', page, re.S)[1]
                text = " ".join(said(file))
                if tongue == "de":
                    # The desk speaks English: the German verdict is what stands in its panel.
                    verdict = re.search(r"Das Urteil (.*?[.](?= [A-ZÄÖÜ]))", text)[1]
                verdict = " ".join(verdict.replace("\xa0", " ").split())
                count = len(pypdfium2.PdfDocument(file))
                pair = ["First and latest" if tongue == "en" else "Das erste und das letzte Foto"] if photographs else []
                order = (ENGLISH + pair + AFTER) if tongue == "en" else (GERMAN + pair + DANACH)
                given = {"paper": paper, "pages": count, "order": order, "never": ["{", "report.", "follow.", "chart.", "secret"],
                         "photographs": photographs, "verdict": verdict, "measured": []}
                print(f"        {name}: {count} pages, {len(body) // 1024} KiB")
                outcomes = [("few pages", lambda f, g: ensure(count <= most, f"{count} pages"))]
                outcomes += [("same bytes", lambda f, g: ensure(again == body, "the same report twice is not the same bytes"))]
                outcomes += [(test.__name__, test) for test in TESTS]
                for label, test in outcomes:
                    label = f"report {name}: {label}"
                    if only not in label:
                        continue
                    try:
                        test(file, given)
                        passed += 1
                        print(f"ok      {label}", *given["measured"])
                    except (AssertionError, OSError, ValueError, KeyError, TypeError, IndexError, AttributeError, pikepdf.PdfError,
                            StopIteration, subprocess.TimeoutExpired) as error:
                        failed += 1
                        print(f"FAILED  {label}\n        {type(error).__name__}: {error}")
                    given["measured"].clear()
        finally:
            desk.end()
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
