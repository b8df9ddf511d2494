"""The printed guide, read by other programs than ours: outloud holds it to PDF/UA-1, qpdf checks the file, PDFium draws it and takes its
text, resvg draws its figure; and requirements of ISO 14289-1 are looked up one by one here, each on a broken copy as well.

    python tests/documents/guide.py [PART OF A NAME]

TRAGION_BIN names another program. Clauses are of ISO 14289-1:2014, as the Matterhorn Protocol 1.1 lists them for machines; from memory
where no library here has them.
"""

import io
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

import numpy
import pikepdf
import pypdfium2
import resvg
from PIL import Image

ROOT = pathlib.Path(__file__).resolve().parents[2]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
BINARY = pathlib.Path(os.environ.get("TRAGION_BIN", TARGET / "release" / "tragion")).resolve()
DAY = "2026-03-01"
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def ensure(condition, message):
    if not condition:
        raise AssertionError(message)


def tragion(*args, code=0):
    done = subprocess.run([BINARY, *map(str, args)], capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL)
    ensure(done.returncode == code, f"{args}: exit {done.returncode}, not {code}: {done.stderr[:300]}")
    return done


# -- What ISO 14289-1 asks, one by one. Each takes an open file and gives what is wrong.


def elements(pdf):
    """Structure elements with their parents, in the order in which they are read."""
    found = []

    def walk(node, parent):
        if isinstance(node, pikepdf.Array):
            for child in node:
                walk(child, parent)
        elif isinstance(node, pikepdf.Dictionary):
            if "/S" in node:
                found.append((node, parent))
                walk(node.get("/K", pikepdf.Array()), node)

    walk(pdf.Root.StructTreeRoot.K, None)
    return found


def kind(element):
    return str(element.S)[1:]


def tagged(pdf):
    """7.1: the file says that it is tagged, and nothing in it is suspect."""
    info = pdf.Root.get("/MarkInfo", {})
    if not info.get("/Marked", False) or info.get("/Suspects", False):
        yield "MarkInfo does not say that all of it is tagged"
    if "/StructTreeRoot" not in pdf.Root:
        yield "there is no structure tree"


def identified(pdf):
    """5, 6.2: XMP names part 1 of PDF/UA, and the title."""
    xmp = pdf.Root.Metadata.read_bytes().decode() if "/Metadata" in pdf.Root else ""
    if not re.search(r"pdfuaid:part(=\"1\"|>\s*1\s*<)", xmp):
        yield "XMP does not name PDF/UA-1"
    title = re.search(r"<dc:title>.*?<rdf:li[^>]*>(.*?)</rdf:li>", xmp, re.S)
    if not title or not title[1].strip():
        yield "XMP has no title"


def title_shown(pdf):
    """7.1: a reader shows the title, not the file's name."""
    if not pdf.Root.get("/ViewerPreferences", {}).get("/DisplayDocTitle", False):
        yield "DisplayDocTitle is not set"


def language(pdf):
    """7.2: the language of all of it."""
    if str(pdf.Root.get("/Lang", "")) not in ("en", "de"):
        yield f"language {pdf.Root.get('/Lang')}"


def marked_content(pdf):
    """7.1: every mark on a page is tagged or an artifact; neither lies within the other."""
    shows = {"Tj", "TJ", "'", '"', "f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "sh", "Do", "INLINE IMAGE"}
    for number, page in enumerate(pdf.pages, 1):
        open_marks = []
        for operands, operator in pikepdf.parse_content_stream(page):
            name = str(operator)
            if name in ("BDC", "BMC"):
                if any(mark != "/Span" or "MCID" in str(tag) for mark, tag in open_marks):
                    yield f"page {number}: marks within marks"
                open_marks.append((str(operands[0]), operands[1] if len(operands) > 1 else ""))
            elif name == "EMC":
                open_marks.pop()
            elif name in shows and not open_marks:
                yield f"page {number}: {name} outside of any mark"
        if open_marks:
            yield f"page {number}: a mark is not ended"


def parents(pdf):
    """7.1: every piece of content that is tagged has its place in the tree, once; and the tree of parents leads there."""
    claimed = {}
    for element, parent in elements(pdf):
        if "/P" not in element:
            yield f"{kind(element)} without parent"
        inside = element.get("/K", pikepdf.Array())
        for child in inside if isinstance(inside, pikepdf.Array) else [inside]:
            page = element.get("/Pg")
            if isinstance(child, pikepdf.Dictionary) and "/MCID" in child:
                page, child = child.get("/Pg", page), int(child.MCID)
            if isinstance(child, int):
                place = (page.objgen, child)
                if place in claimed:
                    yield f"{place} twice in the tree"
                claimed[place] = element
    tree = {}

    def numbers(node):
        values = list(node.get("/Nums", []))
        for key, value in zip(values[::2], values[1::2]):
            tree[int(key)] = value
        for kid in node.get("/Kids", []):
            numbers(kid)

    numbers(pdf.Root.StructTreeRoot.ParentTree)
    drawn = set()
    for page in pdf.pages:
        if "/StructParents" not in page:
            yield "a page without StructParents"
            continue
        row = tree.get(int(page.StructParents), [])
        for operands, operator in pikepdf.parse_content_stream(page):
            if str(operator) == "BDC" and isinstance(operands[1], pikepdf.Dictionary) and "/MCID" in operands[1]:
                number = int(operands[1].MCID)
                if (page.objgen, number) in drawn:
                    yield f"content {number} is on the page twice"
                drawn.add((page.objgen, number))
                if (page.objgen, number) not in claimed:
                    yield f"content {number} is not in the tree"
                elif number >= len(row) or row[number].objgen != claimed[(page.objgen, number)].objgen:
                    yield f"the tree of parents leads elsewhere from content {number}"
    if drawn != set(claimed):
        yield f"{len(claimed)} places in the tree, {len(drawn)} on the pages"


STANDARD = {"Document", "Part", "Sect", "Div", "H1", "H2", "H3", "H4", "H5", "H6", "P", "L", "LI", "Lbl", "LBody", "Span", "Figure", "Caption"}


def standard_kinds(pdf):
    """7.1: every kind of element is a standard one, or mapped to one."""
    roles = pdf.Root.StructTreeRoot.get("/RoleMap", {})
    for element, _ in elements(pdf):
        if kind(element) not in STANDARD and f"/{kind(element)}" not in roles:
            yield f"{kind(element)} is no standard kind"


def headings(pdf):
    """7.4.2: the first heading is of level 1, and none is left out on the way down."""
    level = 0
    for element, _ in elements(pdf):
        found = re.fullmatch(r"H(\d)", kind(element))
        if found:
            if int(found[1]) > level + 1:
                yield f"heading {found[1]} after {level}"
            level = int(found[1])
    if level == 0:
        yield "no heading"


def figures(pdf):
    """7.3: every figure has words in its place, and its bounds."""
    count = 0
    for element, _ in elements(pdf):
        if kind(element) == "Figure":
            count += 1
            if len(str(element.get("/Alt", "")).strip()) < 20:
                yield "a figure without words"
            attributes = element.get("/A", {})
            rows = attributes if isinstance(attributes, pikepdf.Array) else [attributes]
            if not any("/BBox" in row for row in rows if isinstance(row, pikepdf.Dictionary)):
                yield "a figure without bounds"
    if count != 1:
        yield f"{count} figures"


def lists(pdf):
    """7.6, ISO 32000-1 14.8.4.3.3: L of LI, LI of Lbl and LBody; and a list that is numbered says so."""
    for element, parent in elements(pdf):
        mother = kind(parent) if parent is not None else ""
        wanted = {"LI": "L", "Lbl": "LI", "LBody": "LI"}.get(kind(element))
        if wanted and mother != wanted:
            yield f"{kind(element)} in {mother or 'nothing'}"
        if kind(element) == "LI":
            inside = [kind(child) for child in element.K if isinstance(child, pikepdf.Dictionary) and "/S" in child]
            if inside != ["Lbl", "LBody"]:
                yield f"an entry of {inside}"
        if kind(element) == "L":
            attributes = element.get("/A", {})
            rows = attributes if isinstance(attributes, pikepdf.Array) else [attributes]
            if not any("/ListNumbering" in row for row in rows if isinstance(row, pikepdf.Dictionary)):
                yield "a list that does not say how it is numbered"


def fonts(pdf):
    """7.21.3, 7.21.7: every font is embedded, as a part of itself, and says which characters its glyphs are."""
    seen = 0
    for page in pdf.pages:
        for font in page.Resources.get("/Font", {}).values():
            seen += 1
            below = font.DescendantFonts[0] if "/DescendantFonts" in font else font
            descriptor = below.get("/FontDescriptor", {})
            if not any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3")):
                yield f"{font.BaseFont} is not embedded"
            if "/ToUnicode" not in font:
                yield f"{font.BaseFont} does not say its characters"
            if not re.match(r"/[A-Z]{6}\+", str(font.BaseFont)):
                yield f"{font.BaseFont} is embedded whole"
    if seen == 0:
        yield "no font at all"


def glyphs(pdf):
    """7.21.8: no text shows the glyph of what is missing (0)."""
    for number, page in enumerate(pdf.pages, 1):
        for operands, operator in pikepdf.parse_content_stream(page):
            if str(operator) in ("Tj", "TJ"):
                shown = operands[0] if str(operator) == "TJ" else [operands[0]]
                for part in shown:
                    raw = bytes(part) if isinstance(part, pikepdf.String) else b""
                    if any(raw[i : i + 2] == b"\0\0" for i in range(0, len(raw), 2)):
                        yield f"page {number}: a glyph that is missing"


def open_to_readers(pdf):
    """7.16: nothing keeps an assistive reader out."""
    if pdf.is_encrypted and not pdf.allow.accessibility:
        yield "it is locked against readers"


def no_more_than_said(pdf):
    """No links, forms, scripts, attachments or pictures of pixels: nothing that would need more of a reader."""
    names = pdf.Root.get("/Names", {})
    if "/AcroForm" in pdf.Root or "/JavaScript" in names or "/EmbeddedFiles" in names or "/OpenAction" in pdf.Root:
        yield "it holds a form, a script or a file"
    for page in pdf.pages:
        if len(page.get("/Annots", [])):
            yield "it holds a link"
        if any(x.get("/Subtype") == "/Image" for x in page.Resources.get("/XObject", {}).values()):
            yield "it holds pixels"


def first(pdf, wanted):
    return next(element for element, _ in elements(pdf) if kind(element) == wanted)


def content(change):
    """Breaks the first page's content."""

    def broken(pdf):
        page = pdf.pages[0]
        page.Contents = pdf.make_stream(change(pikepdf.unparse_content_stream(pikepdf.parse_content_stream(page))))

    return broken


def set_in(path, key, value):
    def broken(pdf):
        at = pdf.Root
        for step in path:
            at = at[step]
        if value is None:
            del at[key]
        else:
            at[key] = value

    return broken


def on_first(kind_, key, value):
    def broken(pdf):
        element = first(pdf, kind_)
        if value is None:
            del element[key]
        else:
            element[key] = value

    return broken


def without_xmp(part):
    def broken(pdf):
        data = pdf.Root.Metadata.read_bytes().replace(part, b"")
        pdf.Root.Metadata = pdf.make_stream(data, Type=pikepdf.Name.Metadata, Subtype=pikepdf.Name.XML)

    return broken


def font_without(key):
    def broken(pdf):
        for font in pdf.pages[0].Resources.Font.values():
            holder = font if key == "/ToUnicode" else font.DescendantFonts[0].FontDescriptor
            if key in holder:
                del holder[key]

    return broken


def numbered_twice(pdf):
    """The second piece of content says that it is the first."""
    page = pdf.pages[0]
    written = pikepdf.unparse_content_stream(pikepdf.parse_content_stream(page))
    broken = re.sub(rb"/MCID 1\b", b"/MCID 0", written, count=1)
    ensure(broken != written, "nothing was broken")
    page.Contents = pdf.make_stream(broken)


def linked(pdf):
    pdf.pages[0].Annots = pikepdf.Array([pikepdf.Dictionary(Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Link)])


# Each check, and copies that it must find fault with.
CHECKS = [
    (tagged, [set_in(["/MarkInfo"], "/Marked", False), set_in(["/MarkInfo"], "/Suspects", True)]),
    (identified, [without_xmp(b"pdfuaid:part"), without_xmp(b"dc:title")]),
    (title_shown, [set_in(["/ViewerPreferences"], "/DisplayDocTitle", False)]),
    (language, [set_in([], "/Lang", None)]),
    (marked_content, [content(lambda c: c + b"\n0 0 9 9 re f"), content(lambda c: c.replace(b"EMC", b"", 1))]),
    (parents, [on_first("P", "/P", None), numbered_twice]),
    (standard_kinds, [on_first("LBody", "/S", pikepdf.Name("/Step"))]),
    (headings, [on_first("H1", "/S", pikepdf.Name("/H2")), on_first("H2", "/S", pikepdf.Name("/H4"))]),
    (figures, [on_first("Figure", "/Alt", None), on_first("Figure", "/A", pikepdf.Array()), on_first("Figure", "/S", pikepdf.Name("/P"))]),
    (lists, [on_first("L", "/S", pikepdf.Name("/P")), on_first("Lbl", "/S", pikepdf.Name("/P")), on_first("L", "/A", pikepdf.Array())]),
    (fonts, [font_without("/FontFile2"), font_without("/FontFile3"), font_without("/ToUnicode")]),
    (glyphs, [content(lambda c: re.sub(rb"<[0-9a-fA-F]{4}", b"<0000", c, count=1) if b"<" in c else c)]),
    (open_to_readers, []),
    (no_more_than_said, [linked, set_in([], "/OpenAction", pikepdf.Dictionary())]),
]


def accessible(file, _given):
    with pikepdf.open(file) as pdf:
        for check, _ in CHECKS:
            wrong = list(check(pdf))
            ensure(not wrong, f"{check.__name__}: {wrong[:3]}")


def each_check_can_fail(file, _given):
    """Every check finds fault with a copy that is broken in its way; of some ways one must be found at least."""
    for check, ways in CHECKS:
        found = 0
        for broken in ways:
            with pikepdf.open(file) as pdf:
                broken(pdf)
                try:
                    found += bool(list(check(pdf)))
                except (KeyError, AttributeError, IndexError, pikepdf.PdfError):
                    found += 1
        # A file has one kind of embedded font of the two.
        wanted = len(ways) - 1 if check is fonts else len(ways)
        ensure(found >= wanted, f"{check.__name__} found {found} of {len(ways)} faults")


def outloud(file, _given):
    """A checker of PDF/UA-1 and WCAG 2.2 by others: no error, no warning; and it does find a broken copy."""
    run = lambda path: subprocess.run(
        [pathlib.Path(sys.executable).with_name("outloud"), "--json", "-", "--fail-on", "warning", path], capture_output=True, text=True, timeout=120
    )
    done = run(file)
    ensure(done.returncode == 0, f"outloud: {done.stdout[-600:]}{done.stderr[-300:]}")
    broken = file.with_name("broken.pdf")
    with pikepdf.open(file) as pdf:
        on_first("Figure", "/Alt", None)(pdf)
        pdf.save(broken)
    ensure(run(broken).returncode == 1, "outloud finds nothing wrong with a figure without words")


def sound(file, _given):
    """qpdf reads all of it without a word of complaint, and a cut file with one."""
    with pikepdf.open(file) as pdf:
        ensure(not pdf.check_pdf_syntax(), f"qpdf: {pdf.check_pdf_syntax()}")
    cut = file.with_name("cut.pdf")
    cut.write_bytes(file.read_bytes()[:-2000])
    try:
        with pikepdf.open(cut) as pdf:
            complaints = pdf.check_pdf_syntax() + [str(w) for w in pdf.get_warnings()]
    except pikepdf.PdfError as error:
        complaints = [str(error)]
    ensure(complaints, "qpdf says nothing of a cut file")


def sizes(file, given):
    document = pypdfium2.PdfDocument(file)
    ensure(len(document) == given["pages"], f"{len(document)} pages")
    for page in document:
        for got, true in zip(page.get_size(), PAPERS[given["paper"]]):
            ensure(abs(got * 25.4 / 72 - true) < 0.1, f"a page measures {got * 25.4 / 72} mm, not {true}")


def said(file):
    """The text in the order of the content, as PDFium takes it."""
    document = pypdfium2.PdfDocument(file)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def read_in_order(file, given):
    """Headings, cautions and steps come one after another, on paper as in the tree."""
    text = " ".join(said(file))
    at = 0
    for words in given["order"]:
        found = text.find(words, at)
        ensure(found >= 0, f"{words!r} is not there, or not after what stands before it")
        at = found + len(words)
    for words in given["never"]:
        ensure(words not in text, f"the guide says {words!r}")


def large_enough(file, _given):
    """No text outside of the drawing is smaller than 8.5 points."""
    with pikepdf.open(file) as pdf:
        for page in pdf.pages:
            size, tag, scale = 0.0, "", [1.0]
            for operands, operator in pikepdf.parse_content_stream(page):
                name = str(operator)
                if name == "BDC":
                    tag = str(operands[0])
                elif name == "q":
                    scale.append(scale[-1])
                elif name == "Q":
                    scale.pop()
                elif name == "cm":
                    scale[-1] *= abs(float(operands[0]))
                elif name == "Tf":
                    size = float(operands[1])
                elif name in ("Tj", "TJ") and tag == "/Span":
                    ensure(size * scale[-1] >= 8.49, f"text of {size * scale[-1]} points")


def within_the_page(file, _given):
    """No ink within 8 mm of an edge: what a printer may cut off."""
    for number, page in enumerate(pypdfium2.PdfDocument(file), 1):
        grey = numpy.asarray(page.render(scale=4 * 25.4 / 72).to_pil().convert("L"))
        edge = 32
        inner = grey.copy()
        inner[edge:-edge, edge:-edge] = 255
        ensure(inner.min() == 255, f"page {number}: ink at the edge")


def black_alone(file, _given):
    """In grey, what is drawn or written stands out: nothing rests on colour. Text is darker than 4.5:1 against white."""
    with pikepdf.open(file) as pdf:
        for page in pdf.pages:
            colour = (0.0, 0.0, 0.0)
            for operands, operator in pikepdf.parse_content_stream(page):
                name = str(operator)
                if name in ("scn", "sc"):
                    values = [float(v) for v in operands if not isinstance(v, pikepdf.Name)]
                    colour = tuple(values * 3)[:3] if len(values) == 1 else tuple(values)
                elif name in ("Tj", "TJ") and len(colour) == 3:
                    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in colour]
                    light = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
                    ensure(1.05 / (light + 0.05) >= 4.5, f"text of colour {colour}")


def drawing_is_the_sketch(file, given):
    """The drawing on paper is the SVG that it was made of, drawn by another program (resvg): of all points that either has ink at, all
    but 2 % lie within 0.25 mm of ink of the other, and the two are as dark as each other within 4 %. Words are left out: the fonts of
    the two are not the same."""
    svg = given["svg"].read_text(encoding="utf-8")
    left, top, width, height = map(float, re.search(r'viewBox="([^"]+)"', svg)[1].split())
    behind = re.search(r'<g class="sk-back" transform="translate\((\S+) (\S+)\) scale\((\S+)\)">', svg)
    words = []
    for text in re.finditer(r"<text.*?</text>", svg):
        x, y, size = (float(re.search(rf'\b{key}="([^"]+)"', text[0])[1]) for key in ("x", "y", "font-size"))
        if behind and text.start() > behind.start():
            across, down, scale = map(float, behind.groups())
            x, y, size = across + scale * x, down + scale * y, scale * size
        words.append((x, y, size, re.search(r'text-anchor="([^"]+)"', text[0])[1], re.sub(r"<[^>]+>", "", text[0])))
    with pikepdf.open(file) as pdf:
        attributes = first(pdf, "Figure").A
        rows = attributes if isinstance(attributes, pikepdf.Array) else [attributes]
        box = [float(v) for v in next(row for row in rows if "/BBox" in row).BBox]
    dots = 10 * 25.4 / 72  # pixels a point: 10 a millimetre
    page = pypdfium2.PdfDocument(file)[0]
    high = page.get_size()[1]
    paper = numpy.asarray(page.render(scale=dots).to_pil().convert("L")).astype(float)
    x0, y0 = round(box[0] * dots), round((high - box[3]) * dots)
    w, h = round((box[2] - box[0]) * dots), round((box[3] - box[1]) * dots)
    paper = paper[y0 : y0 + h, x0 : x0 + w]
    bare = re.sub(r"<text.*?</text>", "", svg)
    bare = bare.replace("<svg ", f'<svg width="{w}" height="{h}" ', 1)
    tree = resvg.usvg.Tree.from_str(bare, resvg.usvg.Options.default())
    k = w / width
    drawn = rendered(tree, w, h)
    free = numpy.ones((h, w), bool)
    for x, y, size, anchor, text in words:
        x, y, size = (x - left) * k, (y - top) * k, size * k
        long = 0.7 * size * len(text)
        begin = {"start": x, "middle": x - long / 2, "end": x - long}[anchor]
        free[max(0, int(y - size)) : int(y + 0.4 * size), max(0, int(begin - 0.3 * size)) : int(begin + long + 0.3 * size)] = False
    a, b = [numpy.where(free, picture, 255.0) for picture in (paper, drawn)]
    near = near_ink(b), near_ink(a)
    far = ((a < 128) & ~near[0]).sum(), ((b < 128) & ~near[1]).sum()
    ink = (a < 128).sum(), (b < 128).sum()
    ensure(min(ink) > 10_000, f"ink at {ink} points: nothing is drawn")
    share = max(far[0] / ink[0], far[1] / ink[1])
    dark = abs((255 - a).sum() / (255 - b).sum() - 1)
    given["measured"].append(f"{share:.4f} of the ink is apart, {dark:.4f} darker or lighter")
    ensure(share < 0.02, f"{share:.3f} of the ink lies where the other has none: {far} of {ink}")
    ensure(dark < 0.04, f"one is {dark:.3f} darker")
    # The same must fail on another drawing.
    shifted = numpy.roll(b, 12, axis=1)
    apart = ((a < 128) & ~near_ink(shifted)).sum() / ink[0]
    ensure(apart > 0.02, f"a drawing that is shifted by 1.2 mm passes: {apart:.3f}")


def rendered(tree, w, h):
    """The drawing in grey on white."""
    raw = resvg.render(tree, (1.0, 0.0, 0.0, 0.0, 1.0, 0.0))
    picture = Image.open(io.BytesIO(raw)).convert("RGBA")
    ensure(picture.size == (w, h), f"resvg draws {picture.size}, not {(w, h)}")
    ground = Image.new("RGBA", picture.size, "white")
    ground.alpha_composite(picture)
    return numpy.asarray(ground.convert("L")).astype(float)


def near_ink(picture, reach=2):
    dark = picture < 160
    wide = dark.copy()
    for dy in range(-reach, reach + 1):
        for dx in range(-reach, reach + 1):
            if dx * dx + dy * dy <= reach * reach + 1:
                wide |= numpy.roll(numpy.roll(dark, dy, axis=0), dx, axis=1)
    return wide


def same_bytes(file, given):
    again = file.parent / "again"
    tragion(*given["args"](again))
    ensure((again / "guide.pdf").read_bytes() == file.read_bytes(), "the same guide twice is not the same bytes")


def own_words(file, given):
    """What we print passes our own check of claims, in English; the text as PDFium takes it, line by line."""
    if given["order"][0] in GERMAN:
        return
    text = "\n\n".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(file))
    done = subprocess.run([BINARY, "words", "-", "--json"], input=text, capture_output=True, text=True, timeout=120)
    ensure(done.returncode == 0, f"exit {done.returncode}: {done.stderr[:300]}")
    found = json.loads(done.stdout)
    ensure(found["sentences"] > 20 and found["english"], f"only {found['sentences']} sentences were read")
    # What the check is known to find wrongly in our own texts, read one by one (crates/app/tests/own_words.rs).
    errors = {tuple(row.split("\t")[:2]) for row in (ROOT / "tests" / "words" / "own-words-errors.tsv").read_text(encoding="utf-8").splitlines()}
    told = {(f"{c['type']}/{c['topic']}", c["text"]) for c in found["claims"] if c["verdict"] != "ok"} - errors
    ensure(not told, f"our own words claim: {told}")
    # The check is not blind to what stands on paper.
    done = subprocess.run([BINARY, "words", "-", "--json"], input=text + "\n\nThis massage erases wrinkles.\n", capture_output=True, text=True, timeout=120)
    ensure(any(c["verdict"] == "avoid" for c in json.loads(done.stdout)["claims"]), "a claim on paper was not found")


TESTS = [accessible, each_check_can_fail, outloud, sound, sizes, read_in_order, large_enough, within_the_page, black_alone, drawing_is_the_sketch, same_bytes,
         own_words]
ENGLISH = ["Read this first", "Nothing in it may hurt", "Before you begin", "When to stop", "Call the emergency number now", "The steps",
           "From the collarbone outward", "Palm rest", "Find it:", "The work", "Small circles", "Back to the collarbone", "Afterwards"]
GERMAN = ["Lesen Sie das zuerst", "Bevor Sie beginnen", "Wann Sie aufhören", "Die Schritte", "Zurück zum Schlüsselbein", "Danach"]


def long_routine(folder):
    """A routine of sixty steps and more, as the planner drafts it when there is much time."""
    request, path = folder / "long-request.toml", folder / "long.toml"
    answers = (ROOT / "examples/answers_full.toml").as_posix()
    request.write_text(f'minutes = 24\nconcerns = ["before_sleep", "tight_jaw"]\nanswers = "{answers}"\n', encoding="utf-8")
    tragion("draft", request, "--toml", path, "--today", DAY)
    return path


def main():
    only = sys.argv[1] if len(sys.argv) > 1 else ""
    passed = failed = 0
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        photo = folder / "face.png"
        tragion("phantom", photo, "--seed", "8", "--plain")
        routine = ROOT / "examples/routine.toml"
        cases = [
            ("a4", routine, "a4", ["--name", "Jaw and sleep"], 2, ["Jaw and sleep", *ENGLISH]),
            ("letter", routine, "letter", ["--name", "Jaw and sleep"], 2, ["Jaw and sleep", *ENGLISH]),
            ("german", routine, "a4", ["--language", "de"], 2, GERMAN),
            ("german letter", routine, "letter", ["--language", "de"], 2, GERMAN),
            ("own face", routine, "a4", ["--photo", photo], 2, ENGLISH),
            ("sixty steps", long_routine(folder), "a4", [], None, ENGLISH),
        ]
        for name, given_routine, paper, more, pages, order in cases:
            place = folder / name.replace(" ", "-")
            svg = folder / f"{place.name}.svg"
            args = lambda out, r=given_routine, p=paper, m=more, s=svg: [
                "takehome", r, "--out", out, "--today", DAY, "--paper", p, "--json", "--drawing", s, *m]
            told = json.loads(tragion(*args(place)).stdout)
            file = place / "guide.pdf"
            count = len(pypdfium2.PdfDocument(file))
            if name == "sixty steps":
                ensure(told["steps"] >= 60, f"{told['steps']} steps")
                order = ["Goes on: page 2", *([f"Goes on: page {n}" for n in range(3, count + 1)])]
            print(f"        {name}: {count} pages, {told['steps']} steps")
            given = {"paper": paper, "pages": pages or count, "order": order, "never": ["{", "guide.", "step."], "svg": svg, "args": args, "measured": []}
            for test in TESTS:
                label = f"guide {name}: {test.__name__}"
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
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
