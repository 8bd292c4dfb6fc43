#!/usr/bin/env python3
"""Writes docs/tutorial.ipynb from the cells below, without outputs."""

from __future__ import annotations

from pathlib import Path

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

CELLS = [
    "# Snapping parts in a notebook\n\nA cap of rubber, turned inside out, stays or jumps back. This notebook asks why, by what margin, what trips it and how long "
    "it waits, for one part and then for many. All numbers are invented.\n\n*Inverted parts store energy and let it go in milliseconds: keep eyes and faces clear.*",
    "import matplotlib.pyplot as plt\nimport numpy as np\n\nimport calotte\nfrom calotte import plot",
    "## One part\n\nA case is a part as it lies on the bench. Sizes are texts with units and tolerances, as in case files; `calotte.Case.open(path)` reads one.",
    'cap = calotte.Case(\n    title="Workshop cap (invented)",\n    shape={"kind": "cap", "surface": "outer", "radius": "26.0 ± 0.1 mm", "half_angle": "60 ± 0.7 deg"},\n'
    '    wall={"thickness": "2.40 ± 0.05 mm"},\n    material={"name": "silicone-30"},\n    rim={"kind": "free"},\n)\ncap',
    "`verdict` asks whether it stays. The answer shows itself with its first figure; `print(answer)` gives all words, `answer.report` the numbers with units in their names.",
    "answer = cap.verdict()\nanswer",
    "margin = answer.report.margin\nmargin",
    "The wall may be thicker by this much before the cap returns:",
    'print(f"{1e3 * (margin.threshold_thickness_m - cap.numbers[\'wall.thickness\']):.3f} mm")',
    "plot.branch(answer);",
    "Figures as the program draws them can be saved as SVG, PNG or PDF, with the numbers behind them as CSV:",
    'answer.figures["shape"].save("shape.pdf"), answer.figures["shape"].save("shape.csv")',
    "## Another part\n\nA case does not change; `changed` gives another one. A thicker cap returns:",
    'thicker = cap.changed({"wall.thickness": "2.8 mm"})\nprint(*thicker.verdict().text.splitlines()[:12], sep="\\n")',
    "Which questions make sense for a case?",
    "cap.questions",
    "## What trips it\n\n`poke` pushes the pole (or whatever the case's `[load]` says) through all limits.",
    "poke = cap.poke(hand=True, start=\"inverted\")\nprint(*poke.text.splitlines()[:16], sep=\"\\n\")\nplot.path(poke);",
    "## Many parts\n\n`thresholds` takes arrays: SI values, or pairs of an array and a unit. Each is followed from the case's own threshold and certified; a million of them take minutes.",
    'h, angle = np.meshgrid(np.linspace(1.5, 3.5, 21), np.linspace(45, 70, 26))\nfound = cap.thresholds({"wall.thickness": (h, "mm"), "shape.half_angle": (angle, "deg")})\n'
    "found.thickness_ratio.shape, int(found.stays.sum())",
    'fig, ax = plt.subplots(layout="constrained")\nfilled = ax.contourf(angle, h, found.thickness_ratio, levels=np.linspace(0.4, 1.8, 15), cmap="cividis", extend="both")\n'
    'ax.contour(angle, h, found.thickness_ratio, levels=[1.0], colors="white")\nax.set(xlabel="half-angle (deg)", ylabel="wall (mm)", title="h/h*: below 1 (white line) it stays")\nfig.colorbar(filled);',
    "How many of a batch stay, and which tolerance matters most?",
    "batch = cap.spread(count=20_000)\nprint(*batch.text.splitlines()[:24], sep=\"\\n\")",
    "## Sweeps\n\nWhat outgrows a notebook goes into a folder of Parquet files: stopped, killed or interrupted, the same call goes on from there. The same plan runs on a Slurm cluster "
    "(`calotte sweep --slurm`) or over a Dask client (`run(out, client=client)`), with the same bytes.",
    'sweep = calotte.Sweep.of(\n    cap,\n    "threshold",\n    {"wall.thickness": ("1.5 mm", "3.5 mm"), "shape.half_angle": ("45 deg", "70 deg")},\n    design="sobol",\n    points=512,\n    chunk=128,\n)\n'
    'result = sweep.run("swept")\nresult',
    'frame = result.to_pandas()\nframe["stays"] = frame["thickness_ratio"] < 1\nframe.head()',
    'ax = frame.plot.scatter("shape.half_angle_rad", "wall.thickness_m", c="thickness_ratio", colormap="cividis")\nax.set_title("512 Sobol points");',
    "## Where to go on\n\n`docs/python.md` lists everything; `help(calotte.Case)` too. `calotte.make`, `calotte.report`, `calotte.film`, `calotte.export`, `calotte.side`, `calotte.clip`, `calotte.bench` and "
    "`calotte.logbook` run the commands of the program that comes with the package.",
]


def main() -> None:
    notebook = new_notebook()
    for i, text in enumerate(CELLS):
        prose = text.startswith(("#", "`", "The wall", "Figures as", "Which", "How many", "A case"))
        cell = new_markdown_cell(text) if prose else new_code_cell(text)
        cell["id"] = f"cell-{i:02d}"
        notebook.cells.append(cell)
    notebook.metadata["kernelspec"] = {"display_name": "Python 3", "language": "python", "name": "python3"}
    nbformat.write(notebook, Path(__file__).resolve().parents[2] / "docs" / "tutorial.ipynb")


if __name__ == "__main__":
    main()
