"""What is written is true: examples, stubs, generated records, the notebook, displays."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys

import matplotlib
import numpy as np
import pytest

import calotte

from conftest import ROOT, worked

matplotlib.use("Agg")


@pytest.mark.parametrize("name", [m.name for m in pkgutil.iter_modules(calotte.__path__, "calotte.") if "_core" not in m.name and "__main__" not in m.name] + ["calotte"])
def test_examples_in_docstrings(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_examples_on_the_page() -> None:
    text = (ROOT / "docs" / "python.md").read_text()
    examples = re.findall(r"```python\n(.*?)```", text, re.S)
    assert len(examples) == 4
    space: dict = {}
    for example in examples:
        if "distributed" not in example:
            exec(compile(example, "docs/python.md", "exec"), space)


def test_everything_public_says_what_it_is() -> None:
    silent = []
    for name in calotte.__all__:
        of = getattr(calotte, name)
        if inspect.isclass(of) or inspect.isfunction(of):
            if not inspect.getdoc(of):
                silent.append(name)
            if inspect.isclass(of):
                silent += [
                    f"{name}.{m}"
                    for m, f in vars(of).items()
                    if not m.startswith("_") and (inspect.isfunction(f) or isinstance(f, property)) and not inspect.getdoc(f)
                ]
    assert silent == []


def test_records_are_fresh() -> None:
    subprocess.run([sys.executable, ROOT / "python" / "tools" / "answers.py", "--check"], check=True)


def test_stubs_have_what_the_compiled_half_has() -> None:
    stub = (ROOT / "python" / "calotte" / "_core.pyi").read_text()
    import calotte._core as core

    for name in dir(core):
        if name.startswith("__"):
            continue
        assert re.search(rf"^(class|def) {name}\b|^{name}:", stub, re.M), name
        if inspect.isclass(getattr(core, name)):
            for member in dir(getattr(core, name)):
                if not member.startswith("__"):
                    assert re.search(rf"    def {member}\(", stub), f"{name}.{member}"


def test_displays() -> None:
    answer = worked("silicone-cap-stays").verdict()
    shown = answer._repr_html_()
    assert "STAYS" in shown and "<svg" in shown and "thickness" in shown
    assert "<svg" in answer.figures._repr_html_() and answer.figures["shape"]._repr_svg_().startswith("<svg")
    assert "thickness_ratio" in answer.report.margin._repr_html_() and "thickness_ratio=0.93905" in repr(answer.report.margin)
    assert repr(answer).startswith("<Answer to verdict: STAYS")
    assert "wall.thickness" in answer.case._repr_html_() and "2.40 ± 0.05 mm" in repr(answer.case)
    assert "displacement" in worked("key-dome").poke().tables["path"]._repr_html_()


def test_plots() -> None:
    import matplotlib.pyplot as plt

    from calotte import plot

    cap = worked("silicone-cap-stays")
    verdict = cap.verdict()
    ax = plot.section(verdict)
    film = verdict.film
    x, y = ax.lines[0].get_data()
    assert np.allclose(x, 1e3 * film.frames[0].r_m) and np.allclose(y, 1e3 * film.frames[0].z_m)
    ax = plot.branch(verdict)
    (point,) = [line for line in ax.lines if line.get_label() == "this part"]
    assert point.get_xdata()[0] == 1e3 * verdict.part.thickness_m and point.get_ydata()[0] == 1e3 * verdict.inverted.pole_height_m
    poke = worked("key-dome").poke()
    (trip,) = [line for line in plot.path(poke).lines if line.get_label() == "trip"]
    assert trip.get_ydata()[0] == poke.by_load.load_SI == np.max(trip.get_ydata())
    release = worked("jumping-cap").release()
    assert plot.history(release).lines[0].get_xdata()[-1] == release.history.time_s[-1]
    heat = worked("propagator-cutout").heat()
    assert plot.loop(heat).get_xlabel() == "temperature (K)"
    chart = cap.map("depth=55deg..65deg", "wall.thickness=2mm..3mm")
    lines = plot.thresholds(chart).lines
    assert np.allclose(lines[0].get_xdata(), np.degrees(chart.threshold[0].x_si))
    with pytest.raises(calotte.QuestionError, match="not to `poke`"):
        plot.branch(poke)
    plt.close("all")


def test_the_notebook_runs(tmp_path) -> None:
    import nbclient
    import nbformat

    notebook = nbformat.read(ROOT / "docs" / "tutorial.ipynb", as_version=4)
    assert all(not cell.get("outputs") for cell in notebook.cells), "kept without outputs"
    client = nbclient.NotebookClient(notebook, timeout=600, resources={"metadata": {"path": str(tmp_path)}})
    client.execute()
    shown = [o for cell in notebook.cells for o in cell.get("outputs", ()) if "data" in o]
    assert sum("text/html" in o["data"] for o in shown) >= 2 and sum("image/png" in o["data"] for o in shown) >= 2
    kept = tmp_path / "run.ipynb"
    nbformat.write(notebook, kept)
