"""What `calotte make` writes, read back by general-purpose readers: trimesh (STL, 3MF), ezdxf (DXF), lxml (SVG), pypdf (PDF).

PROGRAM names the program. Volumes of caps are compared with closed forms, lengths on paper with those of circles of a sphere; nothing is
shared with the program but its files.
"""

import json
import math
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import ezdxf
import numpy as np
import trimesh
from lxml import etree
from pypdf import PdfReader

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "lab"))
from agree import finish, held

PROGRAM = os.environ.get("PROGRAM", "calotte")
ROOT = Path(__file__).resolve().parents[2]
CAP = """title = "Invented cap"
[shape]
kind = "cap"
surface = "outer"
radius = "26 mm"
half_angle = "{angle} deg"
{hole}
[wall]
thickness = "2.4 ± 0.05 mm"
[material]
youngs_modulus = "1.2 MPa"
poisson_ratio = 0.49
density = "1080 kg/m^3"
[rim]
kind = "free"
"""
DISC = """title = "Invented disc of spring steel"
[shape]
kind = "cap"
radius = "120 mm"
rim_diameter = "24 mm"
[wall]
thickness = "0.2 mm"
[material]
name = "spring-steel"
[rim]
kind = "ring"
"""


def made(folder, text, *options):
    case = Path(folder) / "case.toml"
    case.write_text(text)
    out = Path(folder) / "out"
    subprocess.run([PROGRAM, "make", case, "--out", out, *options], check=True, stdout=subprocess.DEVNULL)
    return out, json.loads((out / "answer.json").read_text())


def lengths_in_svg(path, kind):
    """Length of every path of a class, mm: straight pieces and arcs."""
    tree = etree.parse(path).getroot()
    held("SVG units per mm", float(tree.get("viewBox").split()[2]) / float(tree.get("width").removesuffix("mm")), 1.0, 1e-12)
    out = []
    for p in tree.iter("{http://www.w3.org/2000/svg}path"):
        if p.get("class") != kind:
            continue
        at, total = None, 0.0
        for verb, rest in re.findall(r"([MLA])([^MLAZ]*)", p.get("d")):
            n = [float(v) for v in re.split(r"[ ,]+", rest.strip())]
            end = np.array(n[-2:])
            if verb == "L":
                total += np.hypot(*(end - at))
            elif verb == "A":
                chord = np.hypot(*(end - at))
                total += 2.0 * n[0] * math.asin(min(1.0, 0.5 * chord / n[0]))
            at = end
        out.append(total)
    return out


def strokes_in_pdf(page):
    """Strokes of a page: colour and length in mm, curves by many chords."""
    out, now = [], {"path": [], "at": None, "start": None, "colour": None}

    def length(curve):
        t = np.linspace(0.0, 1.0, 2001)[:, None]
        a, b, c, d = curve
        p = (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d
        return np.hypot(*np.diff(p, axis=0).T).sum()

    def visit(op, args, cm, tm):
        op = op.decode() if isinstance(op, bytes) else op
        n = [float(a) for a in args if isinstance(a, (int, float)) or hasattr(a, "as_numeric") or str(a).replace(".", "").replace("-", "").isdigit()]
        go = lambda x, y: np.array([cm[0] * x + cm[2] * y + cm[4], cm[1] * x + cm[3] * y + cm[5]])
        if op in ("RG", "SC", "SCN"):
            now["colour"] = tuple(round(v, 3) for v in n)
        elif op == "m":
            now["at"] = now["start"] = go(*n)
        elif op == "l":
            end = go(*n)
            now["path"].append(np.hypot(*(end - now["at"])))
            now["at"] = end
        elif op == "c":
            points = [now["at"], go(*n[:2]), go(*n[2:4]), go(*n[4:])]
            now["path"].append(length(points))
            now["at"] = points[3]
        elif op == "h":
            now["path"].append(np.hypot(*(now["start"] - now["at"])))
            now["at"] = now["start"]
        elif op in ("S", "s", "f", "F", "f*", "B", "n"):
            if op in ("S", "s"):
                out.append((now["colour"], sum(now["path"]) * 25.4 / 72.0))
            now["path"] = []

    text = page.extract_text(visitor_operand_before=visit)
    return out, text


with tempfile.TemporaryDirectory() as folder:
    # Solids: three shapes, each against the closed form of a cap cut along its normal, 2π(cos β − cos α)(R₂³ − R₁³)/3.
    for angle, hole in [(60, 0), (60, 20), (112, 0)]:
        out, answer = made(folder, CAP.format(angle=angle, hole=f'hole_diameter = "{52.0 * math.sin(math.radians(hole)):.9f} mm"' if hole else ""), "--what", "mould")
        exact = 2.0 * math.pi / 3.0 * (math.cos(math.radians(hole)) - math.cos(math.radians(angle))) * (26.0**3 - 23.6**3)
        name = f"{angle}° hole {hole}°"
        for piece in answer["mould"]["pieces"]:
            mesh = trimesh.load(out / "mould" / f"{piece['name']}.stl")
            held(f"{name} {piece['name']}: watertight, wound alike, outward", float(mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0), 1.0, 0.0)
            held(f"{name} {piece['name']}: volume over exact", mesh.volume / (1e9 * piece["exact_volume_m3"]), 1.0, 1e-3)
            held(f"{name} {piece['name']}: holes", (2 - mesh.euler_number) / 2, piece["holes"], 0.0)
            held(f"{name} {piece['name']}: one body", len(mesh.split(only_watertight=False)), 1, 0)
        held(f"{name} cast: volume over closed form", trimesh.load(out / "mould" / "cast.stl").volume / exact, 1.0, 1e-3)
        held(f"{name} cast: mass (g)", 1e3 * answer["mould"]["cast_kg"], 1.08e-3 * exact, 1e-3 * 1.08e-3 * exact)
        scene = trimesh.load(out / "mould" / "mould.3mf")
        held(f"{name} 3MF: pieces", len(scene.geometry), len(answer["mould"]["pieces"]) - 1, 0)
        held(f"{name} 3MF: all watertight", float(all(g.is_watertight for g in scene.geometry.values())), 1.0, 0.0)

    # Strips: the marking edge is the circle of the ball; paper lies with its middle half its thickness out.
    out, answer = made(folder, CAP.format(angle=60, hole=""), "--what", "guide,drawing", "--slices", "45 deg,60 deg,88.5 deg,110 deg")
    slices = answer["guide"]["slices"]
    pages = sorted((out / "guide").glob("guide-*.svg"))
    reader = PdfReader(out / "guide" / "guide.pdf")
    held("sheets in the PDF", len(reader.pages), len(pages), 0)
    cuts = [v for p in pages[1:] for v in lengths_in_svg(p, "cut")]
    expected = []
    for s, degrees in zip(slices, (45.0, 60.0, 88.5, 110.0)):
        plane = 24.8 * math.cos(math.radians(degrees))
        circle = 2.0 * math.pi * 26.05 * math.sin(math.acos(plane / 26.0))
        held(f"strip {degrees}° (mm)", 1e3 * s["strip_length_m"], circle, 1e-6)
        held(f"scribe height {degrees}°, over the centre (mm)", 1e3 * (s["scribe_height_m"] - answer["guide"]["centre_height_m"]), plane, 1e-6)
        expected += [circle / s["strip_pieces"]] * s["strip_pieces"]
    for drawn, wanted in zip(cuts, expected, strict=True):
        held("marking edge in the SVG (mm)", drawn, wanted, 2e-3)
    rust = (0.604, 0.29, 0.024)
    drawn = []
    for page in reader.pages[1:]:
        held("sheet width (mm)", float(page.mediabox.width) * 25.4 / 72.0, 210.0, 1e-3)
        strokes, text = strokes_in_pdf(page)
        drawn += [l for colour, l in strokes if colour and len(colour) == 3 and np.allclose(colour, rust, atol=3e-3)]
        held("calibration bars in the PDF", sum(abs(l - 100.0) < 1e-3 for _, l in strokes) >= 1 and sum(abs(l - 50.0) < 1e-3 for _, l in strokes) >= 1, 1, 0)
        held("words of the bars can be copied", float("measure both" in text), 1, 0)
    for one, wanted in zip(drawn, expected, strict=True):
        held("marking edge in the PDF (mm)", one, wanted, 5e-3)
    held("cautions can be copied", float("cut-resistant glove" in " ".join(reader.pages[0].extract_text().split())), 1, 0)

    # Drawing: arcs and texts in the DXF.
    doc = ezdxf.readfile(out / "drawing" / "drawing.dxf")
    held("DXF: errors found by its reader", len(doc.audit().errors), 0, 0)
    held("DXF: units are millimetres", doc.units, ezdxf.units.MM, 0)
    arcs = sorted(a.dxf.radius for a in doc.modelspace().query("ARC[layer=='OUTLINE']"))
    held("DXF: inner face (mm)", arcs[0], 23.6, 1e-9)
    held("DXF: outer face (mm)", arcs[-1], 26.0, 1e-9)
    words = " ".join(t.plain_text() for t in doc.modelspace().query("TEXT"))
    held("DXF: rim diameter is written", float(f"({2 * 26.0 * math.sin(math.radians(60)):.2f})" in words), 1, 0)
    held("DXF: wall with its tolerance", float("t 2.40 ± 0.05" in words), 1, 0)

    # Tool: closed profiles, the sheet between them; the blank keeps the middle surface's area, 2R sin(α/2).
    out, answer = made(folder, DISC, "--what", "tool")
    doc = ezdxf.readfile(out / "tool" / "tool.dxf")
    held("tool DXF: errors found by its reader", len(doc.audit().errors), 0, 0)
    lines = doc.modelspace().query("LWPOLYLINE")
    held("tool DXF: closed profiles", sum(l.closed for l in lines), 2, 0)
    punch, die = (np.array([p[:2] for p in l.get_points()]) for l in lines)
    on_axis = lambda p: p[np.abs(p[:, 0]) < 1e-9][:, 1]
    held("sheet at the axis (mm)", on_axis(punch).min() - on_axis(die).max(), 0.2, 1e-9)
    half = math.asin(12.0 / 120.0)
    held("blank diameter (mm)", 1e3 * answer["tool"]["blank_diameter_m"], 4.0 * 120.0 * math.sin(0.5 * half), 1e-6)

finish()
