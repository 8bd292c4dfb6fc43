"""Reports and teaching sheets as other programs see them: pypdf and pypdfium2 read the PDF, html.parser the page,
bibtexparser the sources. PROGRAM names the built program."""

import filecmp
import html.parser
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

import bibtexparser
import pypdf
import pypdfium2

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = os.environ["PROGRAM"]
CASES = ["silicone-cap-stays", "propagator-cutout"]
CHECKS = 0


def check(what, ok):
    global CHECKS
    CHECKS += 1
    if not ok:
        sys.exit(f"check_report: {what}")


def run(*arguments, expect=0):
    ran = subprocess.run([PROGRAM, *arguments], capture_output=True, text=True, cwd=ROOT)
    check(f"{arguments}: exit {ran.returncode}, wanted {expect}\n{ran.stderr}", ran.returncode == expect)
    return ran.stdout


def words(text):
    return re.sub(r"\s+", " ", text).strip()


class Page(html.parser.HTMLParser):
    """What a page holds, as far as it is checked here."""

    def __init__(self, text):
        super().__init__()
        self.ids, self.targets, self.loads, self.levels, self.chapters = [], [], [], [], []
        self.figures = self.named = self.heads = 0
        self.open, self.language = [], None
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        a = dict(attributes)
        self.ids += [a["id"]] if "id" in a else []
        if tag == "html":
            self.language = a.get("lang")
        if tag == "a" and a.get("href", "").startswith("#"):
            self.targets.append(a["href"][1:])
        for key in ("src", "href", "xlink:href", "data", "srcset", "action"):
            if key in a and not a[key].startswith(("#", "data:")):
                self.loads.append((tag, a[key]))
        if re.fullmatch("h[1-6]", tag):
            self.levels.append(int(tag[1]))
        if tag == "svg":
            self.figures += 1
            self.named += a.get("role") == "img" and len(a.get("aria-labelledby", "").split()) == 2
            self.targets += a.get("aria-labelledby", "").split()
        if tag == "th":
            check("a head of a table says what it heads", a.get("scope") in ("col", "row"))
            self.heads += 1
        self.open.append(tag)

    def handle_data(self, data):
        if self.open and self.open[-1] == "h2":
            self.chapters.append(data)

    def handle_endtag(self, tag):
        while self.open and self.open.pop() != tag:
            pass


def page(path, figures):
    text = path.read_text(encoding="utf-8")
    p = Page(text)
    check(f"{path}: language", p.language == "en")
    check(f"{path}: nothing is loaded: {p.loads[:3]}", not p.loads)
    check(f"{path}: no style loads anything", not re.search(r"@import|url\(\s*['\"]?(?!#)", text))
    check(f"{path}: ids are unique", len(set(p.ids)) == len(p.ids))
    missing = [t for t in p.targets if t not in p.ids]
    check(f"{path}: every link leads somewhere: {missing[:3]}", p.targets and not missing)
    check(f"{path}: headings are in order", p.levels[0] == 1 and all(b <= a + 1 for a, b in zip(p.levels, p.levels[1:])))
    check(f"{path}: every figure has its words", p.figures >= figures and p.named == p.figures)
    check(f"{path}: landmarks", all(f"<{tag}" in text for tag in ("header", "main", "footer")))
    return p


def destinations(reader):
    """Pages that links lead to."""
    out = []
    for number, sheet in enumerate(reader.pages):
        for annotation in sheet.get("/Annots", []):
            annotation = annotation.get_object()
            check(f"page {number + 1}: only links", annotation["/Subtype"] == "/Link")
            there = annotation.get("/Dest") or annotation["/A"]["/D"]
            there = there.get_object() if hasattr(there, "get_object") else there
            target = there[0].get_object() if hasattr(there[0], "get_object") else reader.pages[there[0]]
            out.append(reader.get_page_number(target))
    return out


def tags(node, out):
    """Kinds of tags in the tree, and figures without words."""
    node = node.get_object()
    if not isinstance(node, pypdf.generic.DictionaryObject):
        return
    kind = node.get("/S")
    if kind:
        out.append(kind)
        check("a figure has words", kind != "/Figure" or node.get("/Alt"))
    inside = node.get("/K", [])
    inside = inside.get_object() if hasattr(inside, "get_object") else inside
    for child in inside if isinstance(inside, list) else [inside]:
        if hasattr(child, "get_object"):
            tags(child, out)


def paper(path, title, sentence, size_mm):
    reader = pypdf.PdfReader(path)
    text = words(" ".join(sheet.extract_text() for sheet in reader.pages))
    check(f"{path}: its text can be selected and says: {sentence}", words(sentence) in text)
    check(f"{path}: title", title in (reader.metadata.title or ""))
    check(f"{path}: language", reader.trailer["/Root"]["/Lang"] == "en")
    check(f"{path}: tagged", reader.trailer["/Root"]["/MarkInfo"]["/Marked"])
    kinds = []
    tags(reader.trailer["/Root"]["/StructTreeRoot"], kinds)
    wanted = {"/H1", "/H2", "/P", "/Table", "/TH", "/Figure", "/LI"}
    check(f"{path}: tags {set(kinds)}", wanted <= set(kinds))
    box = reader.pages[0].mediabox
    check(f"{path}: paper", all(abs(float(a) * 25.4 / 72 - b) < 0.1 for a, b in zip((box.width, box.height), size_mm)))
    check(f"{path}: no clock", not (reader.metadata.creation_date or reader.metadata.modification_date))
    document = pypdfium2.PdfDocument(path)
    for i in range(len(document)):
        picture = document[i].render(scale=1).to_pil().convert("L")
        w, h = picture.size
        edge = 14  # 5 mm
        strips = [(0, 0, w, edge), (0, h - edge, w, h), (0, 0, edge, h), (w - edge, 0, w, h)]
        check(f"{path}: page {i + 1} is not empty", picture.getextrema()[0] < 100)
        check(f"{path}: nothing on page {i + 1} is cut off", all(picture.crop(s).getextrema()[0] > 250 for s in strips))
    return reader, text


def report(name, folder):
    case = f"cases/{name}/case.toml"
    said = run("report", case, "--out", str(folder), "--date", "first of a month")
    sentence = said.splitlines()[0]
    data = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    check("the sentence is in the data", data["answer"] == sentence)
    seen = page(folder / "report.html", 2)
    reader, text = paper(folder / "report.pdf", data["title"], sentence, (210, 297))
    check("more than two pages", len(reader.pages) > 2)
    check("the date is printed", "first of a month" in text)
    chapters = [o.title for o in reader.outline if not isinstance(o, list)]
    check(f"outline {chapters} and chapters {seen.chapters}", chapters == seen.chapters)
    for o in reader.outline:
        if not isinstance(o, list):
            there = words(reader.pages[reader.get_destination_page_number(o)].extract_text())
            check(f"the outline leads to {o.title}", o.title in there)
    links = destinations(reader)
    check("links of contents and sources", len(links) > len(chapters) and all(0 <= p < len(reader.pages) for p in links))
    held = reader.attachments
    check("the PDF carries the data", json.loads(held["report.json"][0]) == data)
    check("the PDF carries its sources", held["sources.bib"][0] == (folder / "sources.bib").read_bytes())
    entries = bibtexparser.loads((folder / "sources.bib").read_text(encoding="utf-8")).entries
    listed = (folder / "report.html").read_text(encoding="utf-8").count("<li id=\"source-")
    check(f"{len(entries)} BibTeX entries, {listed} listed", len(entries) == listed > 2)
    check("every entry has an author", all(e.get("author") for e in entries))
    figures = sorted(p.name for p in (folder / "figures").glob("*.svg"))
    check("every figure lies beside the page", len(figures) == seen.figures)
    twin = folder.with_name(folder.name + "-twin")
    run("report", case, "--out", str(twin), "--date", "first of a month")
    for file in ("report.html", "report.pdf", "report.json", "sources.bib"):
        check(f"{file}: the same bytes again", filecmp.cmp(folder / file, twin / file, shallow=False))
    run("report", "--again", str(folder / "report.html"))


def sheet(name, folder, size, size_mm):
    said = run("report", f"cases/{name}/case.toml", "--sheet", "--paper", size, "--out", str(folder))
    page(folder / "sheet.html", 1)
    reader, text = paper(folder / "sheet.pdf", "", said.splitlines()[0], size_mm)
    check("a sheet is one page", len(reader.pages) == 1)
    for phrase in ("Try this", "Predicted", "What we saw"):
        check(f"the sheet has: {phrase}", phrase in text)


with tempfile.TemporaryDirectory() as scratch:
    for case in CASES:
        report(case, pathlib.Path(scratch) / case)
    for case, size, size_mm in (("jumping-cap", "a4", (210, 297)), ("silicone-cap-stays", "letter", (215.9, 279.4))):
        sheet(case, pathlib.Path(scratch) / f"sheet-{case}", size, size_mm)
print(f"{CHECKS} checks of reports and sheets hold")
