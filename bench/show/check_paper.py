"""Figures as PDF, read back by pypdf and drawn by PDFium: page sizes, words, typefaces, pictures, numbers.

PROGRAM names the program. Sizes are those the SVG states; words are the SVG's, letter for letter; pictures are compared with the
PNG of the same figure, which another library draws. Nothing is shared with the program but its files.
"""

import csv
import os
import re
import subprocess
import sys
import tempfile
from html import unescape
from pathlib import Path

import numpy as np
import pypdfium2
from PIL import Image
from pypdf import PdfReader

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "lab"))
from agree import finish, held  # noqa: E402

PROGRAM = os.environ.get("PROGRAM", "calotte")
ROOT = Path(__file__).resolve().parents[2]
DPI = 150
RUNS = [
    ("verdict", "silicone-cap-stays", []),
    ("poke", "key-dome", ["--figure-style", "slide"]),
    ("verdict", "camp-bowl", ["--figure-width", "140mm", "--figure-font", "7pt", "--figure-face", "serif"]),
]


def letters(text):
    """The letters of a text, without its spaces, however often each comes."""
    return sorted(re.sub(r"\s", "", text))


def faces(page):
    for font in page["/Resources"].get("/Font", {}).values():
        font = font.get_object()
        for inner in font.get("/DescendantFonts", [font]):
            descriptor = inner.get_object()["/FontDescriptor"]
            yield font["/BaseFont"], any(key in descriptor for key in ("/FontFile2", "/FontFile3"))


def alt(node):
    """Every alternative text of a structure tree."""
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        return [a for kid in node for a in alt(kid)]
    if not hasattr(node, "get"):
        return []
    own = [node["/Alt"]] if "/Alt" in node else []
    return own + alt(node.get("/K", []))


def check(folder, name):
    svg = (folder / f"{name}.svg").read_text()
    reader = PdfReader(folder / f"{name}.pdf")
    page = reader.pages[0]
    for side, at in (("width", 2), ("height", 3)):
        mm = float(re.search(rf'{side}="([0-9.]+)mm"', svg)[1])
        held(f"{name}: {side} (mm)", float(page.mediabox[at]) * 25.4 / 72, mm, 0.01)
    words = "".join(unescape(w) for w in re.findall(r"<text [^>]*>([^<]*)</text>", svg))
    held(f"{name}: letters that differ", sum(a != b for a, b in zip(letters(words), letters(page.extract_text()))) + abs(len(letters(words)) - len(letters(page.extract_text()))), 0, 0)
    held(f"{name}: faces that are not carried or not cut down", sum(not (carried and re.match(r"/[A-Z]{6}\+DejaVu", base)) for base, carried in faces(page)), 0, 0)
    desc = unescape(re.search(r"<desc [^>]*>([^<]*)</desc>", svg)[1])
    held(f"{name}: words for those who cannot see it", float(alt(reader.trailer["/Root"]["/StructTreeRoot"]) == [desc]), 1, 0)

    drawn = pypdfium2.PdfDocument(folder / f"{name}.pdf")[0].render(scale=DPI / 72).to_pil().convert("L")
    other = Image.open(folder / f"{name}.png").convert("L").resize(drawn.size)
    difference = np.abs(np.asarray(drawn, float) - np.asarray(other, float)) / 255
    # Two renderers differ at edges by parts of a pixel; a missing curve, text or ground would show in the share of dark differences.
    held(f"{name}: mean difference of the pictures", difference.mean(), 0, 0.01)
    held(f"{name}: share of pixels that differ by half", (difference > 0.5).mean(), 0, 0.003)

    rows = [r for r in (folder / f"{name}.figure.csv").read_text().splitlines() if not r.startswith("#")]
    table = list(csv.DictReader(rows))
    held(f"{name}: numbers behind it", float(len(table) > 0 and all(np.isfinite([float(r["x"]), float(r["y"])]).all() for r in table)), 1, 0)


with tempfile.TemporaryDirectory() as scratch:
    for i, (question, case, options) in enumerate(RUNS):
        folder = Path(scratch) / str(i)
        run = [PROGRAM, question, ROOT / "cases" / case / "case.toml", "--figure-resolution", str(DPI), *options, "--out"]
        subprocess.run([*run, folder], check=False, stdout=subprocess.DEVNULL)
        figures = sorted(p.stem for p in folder.glob("*.pdf"))
        held(f"{question} {case}: figures", float(len(figures) >= 2), 1, 0)
        for name in figures:
            check(folder, name)
    # The same again, byte for byte.
    again = Path(scratch) / "again"
    question, case, options = RUNS[0]
    subprocess.run([PROGRAM, question, ROOT / "cases" / case / "case.toml", "--out", again], check=False, stdout=subprocess.DEVNULL)
    third = Path(scratch) / "third"
    subprocess.run([PROGRAM, question, ROOT / "cases" / case / "case.toml", "--out", third], check=False, stdout=subprocess.DEVNULL)
    held("files that differ from run to run", sum((again / p.name).read_bytes() != p.read_bytes() for p in third.glob("*.pdf")), 0, 0)

finish()
