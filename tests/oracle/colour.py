"""Crate `colour` against published formulas in another's hands (colour-science) and a colour management system (lcms2, through
Pillow); and the tables in data/colour against the same.

    python tests/oracle/colour.py --lines PROGRAM [--count N] [--profiles FILE.icc...]

`PROGRAM` is the example `lines` of crate `colour`. Bars: 1e-6 in linear light, XYZ, CIELAB and degrees; 1e-4 for the 34 pairs of
CIEDE2000; 0.75 levels of 255 against lcms2, which answers in whole levels.
"""

import argparse
import csv
import io
import pathlib
import subprocess
import sys
import warnings

warnings.simplefilter("ignore")  # the library names what it could do with more packages
# This file is called as the library is: what lies beside it must not stand before what is installed.
HERE = pathlib.Path(__file__).resolve().parent
sys.path = [p for p in sys.path if pathlib.Path(p or ".").resolve() != HERE]
import colour  # noqa: E402
import numpy as np  # noqa: E402
from PIL import Image, ImageCms  # noqa: E402

sys.path.append(str(HERE))
import colour_profiles as made  # noqa: E402

DATA = HERE.parents[1] / "data/colour"
OBSERVER = "CIE 1931 2 Degree Standard Observer"
D65 = np.array([0.3127, 0.3290])
D50 = colour.CCS_ILLUMINANTS[OBSERVER]["ICC D50"]
BAR = 1e-6

passed = failed = 0


def check(name, off, bar=BAR, least=1):
    """Counts one comparison: the largest of `off` must be at most `bar`, over at least `least` numbers."""
    global passed, failed
    off = np.abs(np.asarray(off, float))
    worst = off.max() if off.size else np.nan
    fine = bool(off.size >= least and worst <= bar)  # not a number is a failure
    passed, failed = passed + fine, failed + (not fine)
    print(f"{'fine  ' if fine else 'FAILED'} {name}: {off.size} numbers, at most {worst:.3g} off; bar {bar:g}")


def rows(name):
    with (DATA / name).open() as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


class Lines:
    """The crate, asked in lines."""

    def __init__(self, program):
        self.program = program

    def raw(self, lines):
        run = subprocess.run([self.program], input="\n".join(lines) + "\n", capture_output=True, text=True, check=True)
        answers = run.stdout.splitlines()
        if len(answers) != len(lines):
            raise SystemExit(f"{len(lines)} lines asked, {len(answers)} answered: {run.stderr}")
        return answers

    def ask(self, op, values):
        answers = self.raw([f"{op} " + " ".join(map(repr, map(float, row))) for row in values])
        return np.array([[float(v) for v in answer.split()] for answer in answers])

    def profile(self, data, values):
        said, *answers = self.raw([f"profile {data.hex()}"] + ["icc " + " ".join(map(repr, map(float, row))) for row in values])
        return said, np.array([[float(v) for v in answer.split()] for answer in answers])


def formulas(lines, random, count):
    encoded = np.concatenate([random.random((count, 3)), [[0, 0, 0], [1, 1, 1], [0.04045, 0.0404499, 0.0404501]]])
    for op, name in (("srgb", "sRGB"), ("display_p3", "Display P3"), ("adobe_rgb", "Adobe RGB (1998)")):
        # Derived from primaries and white, as the crate's: the printed four digits differ by up to 5e-5.
        space, srgb = colour.RGB_COLOURSPACES[name], colour.RGB_COLOURSPACES["sRGB"]
        xyz = space.cctf_decoding(encoded) @ derived(space).T
        found = lines.ask(op, encoded)
        check(f"{name}, linear light", found[:, :3] - xyz @ np.linalg.inv(derived(srgb)).T, least=3 * count)
        check(f"{name}, XYZ", found[:, 3:] - xyz, least=3 * count)

    xyz = random.random((count, 3)) * [1.1, 1.1, 1.2] * random.random((count, 1)) ** 2
    check("XYZ to linear light", lines.ask("linear", xyz) - xyz @ np.linalg.inv(derived(colour.RGB_COLOURSPACES["sRGB"])).T)
    check("XYZ to CIELAB", lines.ask("lab", xyz) - colour.XYZ_to_Lab(xyz, D65), least=3 * count)
    lab = (random.random((count, 3)) - [0, 0.5, 0.5]) * [100, 200, 200]
    check("CIELAB to XYZ", lines.ask("xyz", lab) - colour.Lab_to_XYZ(lab, D65), least=3 * count)
    white50, white65 = colour.xy_to_XYZ(D50), colour.xy_to_XYZ(D65)
    bradford = colour.adaptation.matrix_chromatic_adaptation_VonKries(white50, white65, "Bradford")
    check("Bradford, D50 to D65", lines.ask("adapt", xyz) - xyz @ bradford.T, least=3 * count)
    check("CIELAB of D50 to D65", lines.ask("of_d50", lab) - of_d50(lab), least=3 * count)

    skin = random.random((count, 3)) * [100, 40, 57] + [0, -10, 3]
    angle = np.degrees(np.arctan((skin[:, 0] - 50) / skin[:, 2]))
    check("individual typology angle", lines.ask("ita", skin)[:, 0] - angle, least=count)
    none = lines.raw(["ita 60 10 2.99", "ita 60 10 -8", "ita 101 10 20"])
    check("no angle where it means nothing", [answer != "none" for answer in none])

    other = lab + random.normal(0, 1, (count, 3)) * random.choice([0.5, 5, 40], (count, 1))
    pairs = np.hstack([lab, other])
    check("CIEDE2000", lines.ask("ciede2000", pairs)[:, 0] - colour.delta_E(lab, other, method="CIE 2000"), least=count)
    table = np.array([[float(v) for v in row.values()] for row in rows("ciede2000_pairs.csv")])
    found = lines.ask("ciede2000", table[:, 1:7])[:, 0]
    check("CIEDE2000, the pairs of Sharma, Wu and Dalal 2005", found - table[:, 7], 1e-4, least=34)
    check("CIEDE2000, the pairs, more digits", found - colour.delta_E(table[:, 1:4], table[:, 4:7], method="CIE 2000"), least=34)


def derived(space):
    return colour.models.rgb.normalised_primary_matrix(space.primaries, D65)


def of_d50(lab):
    xyz = colour.Lab_to_XYZ(lab, D50)
    bradford = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        colour.xy_to_XYZ(D50), colour.xy_to_XYZ(D65), "Bradford")
    return colour.XYZ_to_Lab(xyz @ bradford.T, D65)


def data(lines):
    table = rows("observer_2_degree.csv")
    cmfs = colour.MSDS_CMFS[OBSERVER]
    values = dict(zip(cmfs.wavelengths, cmfs.values))
    check("observer, every row", [[float(row[k]) for k in "xyz"] - values[float(row["nm"])] for row in table], least=3 * 81)
    table = rows("illuminants.csv")
    for column, name in (("d65", "D65"), ("a", "A"), ("led", "LED-B5")):
        light = colour.SDS_ILLUMINANTS[name]
        values = dict(zip(light.wavelengths, light.values))
        off = [float(row[column]) - values.get(float(row["nm"]), np.nan) for row in table]
        check(f"illuminant {name}, every row", off, least=81)
    table = rows("target24_lab.csv")
    for edition, columns in (("Before", "L_before a_before b_before"), ("After", "L_after_nov2014 a_after b_after")):
        target = colour.CCS_COLOURCHECKERS[f"ColorChecker24 - {edition} November 2014"]
        # The library carries xyY, computed from the published CIELAB.
        lab = colour.XYZ_to_Lab(colour.xyY_to_XYZ(list(target.data.values())), target.illuminant)
        ours = np.array([[float(row[k]) for k in columns.split()] for row in table])
        check(f"target of 24, {edition.lower()} November 2014, every row", ours - lab, 5e-4, least=72)
        check(f"target of 24, {edition.lower()}, to D65", lines.ask("of_d50", ours) - of_d50(ours), least=72)


def skin(lines, random):
    """The skin model written again in numpy from its description."""
    nm = np.arange(400, 701, 5.0)
    observer, light = ([list(map(float, row.values())) for row in rows(name)] for name in ("observer_2_degree.csv", "illuminants.csv"))
    observer, light, blood = np.array(observer), np.array(light), np.array(
        [list(map(float, row.values())) for row in rows("hemoglobin_prahl.csv")])
    inside = np.isin(observer[:, 0], nm)
    weights = observer[inside, 1:] * light[inside, 1:2]
    white = colour.xy_to_XYZ(D65)
    weights *= white / weights.sum(0)
    oxy, deoxy = (np.interp(nm, blood[:, 0], blood[:, k]) * np.log(10) * 150 / 66500 for k in (1, 2))
    contents = np.stack([random.random(500) * 0.6, 0.0005 * 400 ** random.random(500)], -1)
    m, b = contents[:, :1], contents[:, 1:]
    bare = 0.244 + 85.3 * np.exp(-(nm - 154) / 66.2)
    dermis = b * (0.7 * oxy + 0.3 * deoxy) + (1 - b) * bare
    depth = 4 * 0.006 * (m * 519 * (nm / 500) ** -3.0 + (1 - m) * bare)
    scattering = 46 * (nm / 500) ** -1.421
    rest = 1 - scattering / (scattering + dermis)
    below = (1 - rest) / (1 + 2 * 3.25 * rest + (1 + 2 / 3 * 3.25) * np.sqrt(3 * rest))
    turned = 0.45 * scattering * 0.006 * (1 - np.exp(-depth)) / depth
    xyz = (0.016 + (1 - 0.016) * (turned + (1 - turned) ** 2 * below * np.exp(-depth))) @ weights
    check("skin model", lines.ask("skin", contents) - colour.XYZ_to_Lab(xyz, D65), least=1500)


def profiles(lines, random, files):
    white50, white65 = colour.xy_to_XYZ(D50), colour.xy_to_XYZ(D65)
    to_linear = np.linalg.inv(derived(colour.RGB_COLOURSPACES["sRGB"]))

    def adapted(white):
        return colour.adaptation.matrix_chromatic_adaptation_VonKries(white, white65, "Bradford")

    def colorants(primaries):
        back = np.linalg.inv(adapted(white50))
        return back @ colour.models.rgb.normalised_primary_matrix(np.array(primaries), D65)

    values = random.random((500, 3))
    for name, bytes_, columns, meaning in made.cases(colorants):
        said, found = lines.profile(bytes_, values)
        xyz = meaning(values) @ columns.T
        check(f"profile of {name}", found[:, :3] - xyz @ adapted(columns.sum(1)).T @ to_linear.T, least=1500)
        against_lcms(lines, random, name, bytes_)
    for name, bytes_ in made.tables(colorants):
        against_lcms(lines, random, name, bytes_)
    against_lcms(lines, random, "Pillow's own sRGB", ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    for path in files:
        against_lcms(lines, random, path.name, path.read_bytes())


def against_lcms(lines, random, name, bytes_):
    """To sRGB in whole levels, colorimetrically; only colours inside sRGB, since lcms2 clips."""
    levels = random.integers(0, 256, (4000, 3)).astype(np.uint8)
    source = ImageCms.ImageCmsProfile(io.BytesIO(bytes_))
    # Not optimised: it would follow a resampled copy of the profile's tables.
    target = ImageCms.createProfile("sRGB")
    turn = ImageCms.buildTransform(source, target, "RGB", "RGB", ImageCms.Intent.RELATIVE_COLORIMETRIC,
                                   ImageCms.Flags.NOCACHE | ImageCms.Flags.NOOPTIMIZE)
    theirs = np.asarray(ImageCms.applyTransform(Image.fromarray(levels[None]), turn))[0].astype(float)
    said, found = lines.profile(bytes_, levels / 255.0)
    ours = 255 * colour.RGB_COLOURSPACES["sRGB"].cctf_encoding(found[:, :3])
    inside = ((ours > 1) & (ours < 254)).all(1)
    off = ours[inside] - theirs[inside]
    # A whole level rounds by half of one; the rest is the digits of profile and system.
    check(f"profile {name} against lcms2 ({said}), levels", off, 0.75, least=300)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lines", required=True, help="the example `lines` of crate colour")
    parser.add_argument("--count", type=int, default=10_000, help="how many random colours")
    parser.add_argument("--profiles", nargs="*", type=pathlib.Path, default=[], help="more ICC profiles to look at")
    options = parser.parse_args()
    random = np.random.default_rng(20250719)
    lines = Lines(options.lines)
    formulas(lines, random, options.count)
    data(lines)
    skin(lines, random)
    profiles(lines, random, options.profiles)
    print(f"{passed} passed, {failed} failed")
    return 0 if passed and not failed else 1


if __name__ == "__main__":
    sys.exit(main())
