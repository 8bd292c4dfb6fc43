"""Edges and sizes of an invented side view, found again by scikit-image and SciPy.

PROGRAM names the program. The picture is made by `calotte rehearse side`; its grey values are turned into light here (IEC 61966-2-1),
the outline is the line half-way between the levels of part and background (`skimage.measure.find_contours`), the sphere is fitted by
`scipy.optimize.least_squares`. Nothing is shared with the program but the picture.
"""

import csv
import json
import os
import subprocess
import tempfile
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial import cKDTree
from skimage import filters, io, measure

from agree import finish, held

PROGRAM = os.environ.get("PROGRAM", "calotte")
ROOT = Path(__file__).resolve().parents[2]
CASE = ROOT / "cases" / "silicone-cap-stays" / "case.toml"
SCALE = 14.0  # px/mm


with tempfile.TemporaryDirectory() as folder:
    picture, out = Path(folder) / "p.png", Path(folder) / "out"
    made = [PROGRAM, "rehearse", "side", CASE, "--out", picture, "--scale", str(SCALE), "--gradient", "0", "--noise", "0.005", "--tilt", "1.5 deg"]
    subprocess.run(made, check=True, stdout=subprocess.DEVNULL)
    read = [PROGRAM, "side", picture, "--scale", f"{SCALE} px/mm", "--out", out]
    subprocess.run(read, check=True, stdout=subprocess.DEVNULL)
    answer = json.loads((out / "answer.json").read_text())
    points = np.array([[float(r["x_px"]), float(r["y_px"])] for r in csv.DictReader(l for l in (out / "points.csv").open() if not l.startswith("#"))])
    stored = io.imread(picture) / 255.0

light = np.where(stored <= 0.04045, stored / 12.92, ((stored + 0.055) / 1.055) ** 2.4)
split = filters.threshold_otsu(light)
level = 0.5 * (np.median(light[light < split]) + np.median(light[light > split]))
contour = max(measure.find_contours(light, level), key=len)[:, ::-1]

# Edges against the contour: mean difference outward, by the contour's nearest points on either side of the normal.
centre = np.array(answer["sphere"]["centre_px"])
radius_of = lambda p: np.hypot(*(p - centre).T)
_, near = cKDTree(contour).query(points, k=3)
difference = radius_of(points) - radius_of(contour[near].reshape(-1, 2)).reshape(-1, 3).mean(axis=1)
# A pixel's noise moves a threshold by noise/slope, 0.005/0.3 px; over some hundred edges a tenth of that.
held("edges less contour, mean (px)", difference.mean(), 0.0, 0.02)
held("edges less contour, rms (px)", difference.std(), 0.0, 0.1)

ends = np.array(answer["stance"]["rim_px"])
arc = contour[(contour[:, 1] < ends[:, 1].min() - 5)]
fit = least_squares(lambda q: np.hypot(arc[:, 0] - q[0], arc[:, 1] - q[1]) - q[2], [*centre, 300.0], loss="soft_l1", f_scale=0.1)
radius = answer["sphere"]["radius_m"]
held("radius (mm)", 1e3 * radius["value"], fit.x[2] / SCALE, 0.01)
held("radius drawn (mm)", 1e3 * radius["value"], 26.0, 4e3 * radius["standard_error"] + 1e-3)
held("centre x (px)", centre[0], fit.x[0], 0.05)
rim = 1e3 * answer["sphere"]["rim_diameter_m"]["value"]
# Where the circle meets the lines through the cut rims: contour points well between the corners, found by where the program puts the rim.
corners = []
for end in ends:
    inward = (fit.x[:2] - end) / np.hypot(*(fit.x[:2] - end))
    t, across = (contour - end) @ inward, (contour - end) @ [-inward[1], inward[0]]
    cut = contour[(t > 8) & (t < 25) & (np.abs(across) < 4)]
    middle = cut.mean(axis=0)
    direction = np.linalg.svd(cut - middle)[2][0]
    d = middle - fit.x[:2]
    b, c = d @ direction, d @ d - fit.x[2] ** 2
    roots = [-b + s * np.sqrt(b * b - c) for s in (-1, 1)]
    corners.append(min((middle + r * direction for r in roots), key=lambda p: np.hypot(*(p - end))))
width = np.hypot(*(corners[1] - corners[0])) / SCALE
held("rim (mm)", rim, width, 0.01)
finish()
