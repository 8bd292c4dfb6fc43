"""Plots on matplotlib, to be changed and combined. Figures as the program draws them are at ``answer.figures``.

Each function draws on given axes, or on new ones, and gives the axes back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ._errors import QuestionError

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from ._answer import Answer


def _axes(ax: Axes | None) -> Axes:
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    new: Axes = plt.subplots(layout="constrained")[1]
    return new


def _wants(answer: Answer[Any], *questions: str) -> None:
    if answer.question not in questions:
        raise QuestionError(
            f"this plot is of an answer to {' or '.join(f'`{q}`' for q in questions)}, not to `{answer.question}`"
        )


def section(answer: Answer[Any], ax: Axes | None = None, *, frames: list[int] | None = None, **line: Any) -> Axes:
    """Sections of the mid-surface to scale: the natural one and the last state, or the states ``frames`` of ``answer.film``. Millimetres."""
    film = answer.film
    if film is None or not film.frames:
        raise QuestionError(f"the answer to `{answer.question}` has no shapes to draw")
    ax = _axes(ax)
    chosen = frames if frames is not None else ([0, len(film.frames) - 1] if len(film.frames) > 1 else [0])
    for i in chosen:
        frame = film.frames[i]
        r, z = 1e3 * np.asarray(frame.r_m), 1e3 * np.asarray(frame.z_m)
        (drawn,) = ax.plot(r, z, label=frame.name, **line)
        ax.plot(-r, z, **{**line, "color": drawn.get_color()})
    ax.set_aspect("equal")
    ax.set(xlabel="radius (mm)", ylabel="height (mm)", title=answer.case.title)
    ax.legend()
    return ax


def branch(answer: Answer[Any], ax: Axes | None = None) -> Axes:
    """Height of the inverted state over thickness: the stable side, the saddles, the fold where they meet, and this part. Millimetres."""
    _wants(answer, "verdict")
    report = answer.report
    points = report.branch.points
    if not points:
        raise QuestionError("this answer has no branch", "ask `verdict(branch=True)`; some parts have no threshold")
    ax = _axes(ax)
    t = np.array([1e3 * p.thickness_m for p in points])
    z = np.array([1e3 * p.pole_height_m for p in points])
    stable = np.array([p.negative == 0 for p in points])
    ax.plot(np.where(stable, t, np.nan), z, label="stays")
    ax.plot(np.where(stable, np.nan, t), z, "--", label="saddle")
    if report.inverted is not None:
        ax.plot(1e3 * report.part.thickness_m, 1e3 * report.inverted.pole_height_m, "o", label="this part")
    if report.margin is not None:
        ax.axvline(1e3 * report.margin.threshold_thickness_m, color="0.7", zorder=0)
    ax.set(xlabel="thickness of the wall (mm)", ylabel="pole over rim (mm)", title=answer.case.title)
    ax.legend()
    return ax


def path(answer: Answer[Any], ax: Axes | None = None) -> Axes:
    """Load over displacement of a poke, stable and unstable pieces apart, the trip marked. SI units of the load."""
    _wants(answer, "poke")
    report = answer.report
    ax = _axes(ax)
    x = np.array([row.displacement_SI for row in report.path])
    y = np.array([row.load_SI for row in report.path])
    stable = np.array([row.unstable_load == 0 for row in report.path])
    ax.plot(x, np.where(stable, y, np.nan), label="stable, load set")
    ax.plot(x, np.where(stable, np.nan, y), "--", label="unstable, load set")
    if report.by_load is not None:
        ax.plot(report.by_load.displacement_SI, report.by_load.load_SI, "o", label="trip")
    load = report.load
    ax.set(xlabel=f"displacement ({load.displacement_unit})", ylabel=f"load ({load.load_unit})", title=answer.case.title)
    ax.legend()
    return ax


def history(answer: Answer[Any], ax: Axes | None = None) -> Axes:
    """Height of the pole over the rim in the time of a release. Seconds and millimetres."""
    _wants(answer, "release")
    report = answer.report
    ax = _axes(ax)
    ax.plot(report.history.time_s, 1e3 * np.asarray(report.history.pole_over_rim_m))
    if report.snap is not None:
        ax.axvline(report.snap.wait_s, color="0.7", zorder=0)
    ax.set(xlabel="time (s)", ylabel="pole over rim (mm)", title=answer.case.title)
    return ax


def loop(answer: Answer[Any], ax: Axes | None = None) -> Axes:
    """Travel of the centre over temperature, stable and unstable (dotted), with trip and reset. Kelvin and millimetres."""
    _wants(answer, "heat")
    report = answer.report
    ax = _axes(ax)
    for name, rows in (("near branch", report.near), ("far branch", report.far)):
        if rows:
            stable = np.array([r.unstable == 0 and not len(r.unstable_n) for r in rows])
            t = np.array([r.temperature_K for r in rows])
            z = np.array([1e3 * r.travel_m for r in rows])
            (drawn,) = ax.plot(t, np.where(stable, z, np.nan), label=name)
            ax.plot(t, np.where(stable, np.nan, z), ":", color=drawn.get_color())
    for name in ("trip", "reset"):
        jump = getattr(report, name)
        if jump is not None:
            ax.axvline(jump.temperature_K, color="0.7", zorder=0)
    ax.set(xlabel="temperature (K)", ylabel="travel of the centre (mm)", title=answer.case.title)
    ax.legend()
    return ax


def thresholds(answer: Answer[Any], ax: Axes | None = None) -> Axes:
    """The threshold and the curves of equal margin of a map, in the units of its axes. Temperatures in kelvin."""
    _wants(answer, "map")
    report = answer.report
    ax = _axes(ax)
    x, y = report.axes
    for curve in report.threshold:
        ax.plot(curve.x_si / x.unit_si, curve.y_si / y.unit_si, "k")
    for margin in report.margins:
        for curve in margin.curves:
            ax.plot(curve.x_si / x.unit_si, curve.y_si / y.unit_si, "--", color="0.5", label=f"h/h* = {margin.ratio:g}")
    if x.here_si is not None and y.here_si is not None:
        ax.plot(x.here_si / x.unit_si, y.here_si / y.unit_si, "o", label="this part")
    ax.set(xlabel=f"{x.label} ({x.unit})", ylabel=f"{y.label} ({y.unit})", title=answer.case.title)
    ax.legend()
    return ax
