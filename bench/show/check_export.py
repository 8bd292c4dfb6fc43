"""What `calotte export` writes, read by general-purpose readers: surfaces by meshio, solids by trimesh.

PROGRAM names the program. Held are
- the area of a natural spherical cap against 2 pi R^2 (1 - cos a) (closed form), within the error of its chords: facets of an inscribed surface
  of revolution lose at most 1 - sin(2 pi/n)/(2 pi/n) around the axis (a level ring loses this, a cylinder a quarter) and (step/R)^2/24 along the meridian (second order, both closed forms);
- that the natural shape is displaced by nothing, bit by bit;
- the energy per area, summed over the natural area, against the energy that the answer states for the inverted state and for rows of a poke;
- (N.e + M.k)/2 against the energy per area, at every point (recomputed from the stated equations);
- solids: watertight, and their volume against Pappus (of a spherical wall: 2 pi (1 - cos a)/3 [(R + h/2)^3 - (R - h/2)^3], closed form), 0.1 %;
- packed and unpacked files: the same numbers; steps of collections rise and name files that are there.
"""

import csv
import json
import os
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as xml
from pathlib import Path

import meshio
import numpy as np
import trimesh

ROOT = Path(__file__).resolve().parents[2]
sys.path.append(str(ROOT / "bench" / "lab"))
from agree import finish, held  # noqa: E402

PROGRAM = os.environ.get("PROGRAM", "calotte")
R, ALPHA, H = 0.030, np.radians(50.0), 0.0015
CAP = """
title = "Cap to be exported (invented)"
[shape]
kind = "cap"
radius = "30 mm"
half_angle = "50 deg"
[wall]
thickness = "1.5 mm"
[material]
youngs_modulus = "1.2 MPa"
poisson_ratio = 0.48
[rim]
kind = "free"
"""


def export(folder, case, kind, *more):
    out = Path(folder) / f"{kind}{len(more)}"
    command = [PROGRAM, "export", str(case), "--of", kind, "--out", str(out), "--json", *more]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    if ran.returncode not in (0, 1):
        sys.exit(f"{command}: {ran.returncode}\n{ran.stderr}")
    return out, json.loads(ran.stdout), json.loads((out / "answer.json").read_text())


def collection(out, kind):
    sets = xml.parse(out / f"{kind}.pvd").getroot().find("Collection").findall("DataSet")
    steps = [float(s.get("timestep")) for s in sets]
    names = [s.get("file") for s in sets]
    held(f"{kind}: steps that do not rise", float(sum(b <= a for a, b in zip(steps, steps[1:]))), 0.0, 0.0)
    held(f"{kind}: files missing", float(sum(not (out / n).is_file() for n in names)), 0.0, 0.0)
    return [meshio.read(out / n) for n in names]


def facets(mesh):
    """Triangles of all cells, as places of points."""
    out = []
    for block in mesh.cells:
        for cell in block.data:
            out += [(cell[0], cell[1], cell[2])] if len(cell) == 3 else [
                (cell[0], cell[1], cell[2]), (cell[0], cell[2], cell[3])]
    return np.array(out)


def areas(points, faces):
    a, b, c = (points[faces[:, k]] for k in range(3))
    return np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2


def energy(natural, mesh):
    """The energy per area summed over the natural area."""
    faces = facets(mesh)
    return float((areas(natural.points, faces) * mesh.point_data["energy_density_J_per_m2"][faces].mean(axis=1)).sum())


def half_products(mesh, what):
    d = mesh.point_data
    told = d["energy_density_J_per_m2"]
    made = sum(
        d[f"membrane_force_{w}_N_per_m"] * d[f"membrane_strain_{w}_1"]
        + d[f"bending_moment_{w}_N"] * d[f"bending_strain_{w}_per_m"]
        for w in ("meridional", "hoop")
    ) / 2
    held(f"{what}: (N.e + M.k)/2 against the energy per area", float(np.abs(made - told).max()), 0.0, 1e-4 * told.max())


with tempfile.TemporaryDirectory() as folder:
    case = Path(folder) / "cap.toml"
    case.write_text(CAP)
    around = 96
    out, told, answer = export(folder, case, "verdict", "--around", str(around))
    meshes = collection(out, "verdict")
    rows = list(csv.DictReader(line for line in (out / "surfaces.csv").open() if not line.startswith("#")))
    names = [r["name"] for r in rows]
    natural, inverted = meshes[names.index("natural")], meshes[names.index("inverted")]
    faces = facets(natural)
    area, want = areas(natural.points, faces).sum(), 2 * np.pi * R**2 * (1 - np.cos(ALPHA))
    steps = np.diff(np.unique(natural.point_data["arclength_m"]))
    turn = 2 * np.pi / around
    lost = (1 - np.sin(turn) / turn) + (steps.max() / R) ** 2 / 24
    print(f"    chords lose at most {lost:.1e} of the area")
    held("area of the natural cap", float(area), want, lost * want)
    held("area is not above", float(max(area - want, 0.0)), 0.0, 1e-5 * want)
    held("displacement of the natural shape", float(np.abs(natural.point_data["displacement_m"]).max()), 0.0, 0.0)
    moved = inverted.points - natural.points - inverted.point_data["displacement_m"]
    held("points are the natural ones displaced", float(np.abs(moved).max()), 0.0, 1e-12 * R)
    stored = sum(answer["inverted"][k] for k in ("stretching_energy_J", "bending_energy_J"))
    held("energy of the inverted state", energy(natural, inverted), stored, 2e-3 * stored)
    half_products(inverted, "inverted")
    plain, _, _ = export(folder, case, "verdict", "--around", str(around), "--unpacked")
    other = meshio.read(plain / rows[names.index("inverted")]["file"])
    same = all(np.array_equal(other.point_data[k], v) for k, v in inverted.point_data.items())
    held("unpacked files differ", float(not same), 0.0, 0.0)

    volume = 2 * np.pi * (1 - np.cos(ALPHA)) / 3 * ((R + H / 2) ** 3 - (R - H / 2) ** 3) * 1e9
    for name in ("natural", "inverted"):
        solid = trimesh.load(out / f"{name}.stl")
        held(f"{name}.stl is not watertight", float(not solid.is_watertight), 0.0, 0.0)
        if name == "natural":
            held("volume of the natural wall, mm^3", float(solid.volume), volume, 1e-3 * volume)

    key = ROOT / "cases/key-dome/case.toml"
    out, told, answer = export(folder, key, "poke", "--around", "48", "--shapes", "12")
    meshes = collection(out, "poke")
    rows = list(csv.DictReader(line for line in (out / "surfaces.csv").open() if not line.startswith("#")))
    largest = max(r["energy_J"] for r in answer["path"])
    for mesh, row in zip(meshes, rows):
        # The surface of the first row is the natural shape.
        want = answer["path"][int(row["row"])]["energy_J"]
        held(f"energy of row {row['row']} of the poke", energy(meshes[0], mesh), want, 5e-3 * largest)

    out, told, _ = export(folder, ROOT / "cases/jumping-cap/case.toml", "release", "--around", "16", "--shapes", "20")
    meshes = collection(out, "release")
    held("release: steps are seconds", float(told["timestep"] != "time_s"), 0.0, 0.0)
    held("release: surfaces", float(len(meshes)), 20.0, 0.0)

    out, told, answer = export(folder, ROOT / "cases/clutch-detent/case.toml", "modes", "--around", "48")
    (mesh,) = collection(out, "modes")
    for name, field in mesh.point_data.items():
        if name.startswith("mode_"):
            # Between the points around the axis a wave may peak a little higher.
            held(f"largest displacement of {name}", float(np.linalg.norm(field, axis=1).max()), 1.0, 1e-2)

finish()
