"""Cases: a part as it lies on the bench, and every question about it."""

from __future__ import annotations

import json
import math
import os
import warnings
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from . import _core
from ._answer import Answer
from ._errors import CaseWarning, Finding, QuestionError
from ._progress import Callback, told
from ._readings import Readings, Thresholds, gauges_of
from .answers import (
    BatchReport,
    HeatWhole,
    Look,
    MapReport,
    ModesReport,
    PokeReport,
    ReleaseWhole,
    SizeReport,
    StatesReport,
    VerdictReport,
)

Progress = bool | Callback | None


def _toml_value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, float):
        if math.isnan(value):
            return "nan"
        if math.isinf(value):
            return "inf" if value > 0 else "-inf"
        return repr(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, os.PathLike):
        return json.dumps(os.fspath(value))
    if hasattr(value, "tolist"):
        return _toml_value(value.tolist())
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{k} = {_toml_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, Iterable):
        return "[" + ", ".join(map(_toml_value, value)) + "]"
    raise TypeError(f"a case holds texts, numbers, flags, lists and tables, not {type(value).__name__}")


def _toml(tables: Mapping[str, Any]) -> str:
    single = [(k, v) for k, v in tables.items() if not isinstance(v, Mapping)]
    lines = [f"{k} = {_toml_value(v)}" for k, v in single if v is not None]
    for name, table in tables.items():
        if isinstance(table, Mapping):
            lines += ["", f"[{name}]"]
            lines += [f"{k} = {_toml_value(v)}" for k, v in table.items() if v is not None]
    return "\n".join(lines) + "\n"


class Case:
    """A part as it lies on the bench: shape, wall, material, rim and what is done to it.

    Made from the text of a case file (:meth:`from_toml`), from a file (:meth:`open`), from a template (:meth:`new`), or from keywords,
    one per table of a case file, with numbers as texts with units:

    >>> import calotte
    >>> cap = calotte.Case(
    ...     title="Cap, cast silicone (invented)",
    ...     shape={"kind": "cap", "radius": "24.8 mm", "half_angle": "60 deg"},
    ...     wall={"thickness": "2.40 ± 0.05 mm"},
    ...     material={"name": "silicone-30"},
    ...     rim={"kind": "free"},
    ... )
    >>> cap.verdict().report.verdict
    'stays'

    A case does not change; :meth:`changed` gives another one. Sizes, units and keys are those of case files (``calotte.schema()``).

    Raises
    ------
    CaseError
        With everything that is wrong, each at its place; in a case made from keywords, of the text they amount to.
    """

    __slots__ = ("_core", "_folder", "_gauges", "name", "warnings")

    def __init__(self, *, folder: str | os.PathLike[str] | None = None, **tables: Any) -> None:
        self._load(_toml(tables).encode(), "the case made from keywords", folder, None)

    def _load(
        self,
        text: bytes,
        name: str,
        folder: str | os.PathLike[str] | None,
        beside: Mapping[str, bytes] | None,
    ) -> None:
        core, found = _core.Case.read(text, name, None if folder is None else os.fspath(folder), beside)
        self._core = core
        self._folder = folder
        self._gauges: dict[tuple[str, ...], Any] = {}
        self.name = name
        """Name of the file or text it was read from."""
        self.warnings = [Finding(**f) for f in found]
        """Findings that do not keep the case from being used."""
        for finding in self.warnings:
            warnings.warn(str(finding), CaseWarning, stacklevel=3)

    @classmethod
    def _of(cls, text: bytes, name: str, folder: Any, beside: Mapping[str, bytes] | None) -> Case:
        out = cls.__new__(cls)
        out._load(text, name, folder, beside)
        return out

    @classmethod
    def from_toml(
        cls,
        text: str | bytes,
        *,
        folder: str | os.PathLike[str] | None = None,
        beside: Mapping[str, bytes] | None = None,
    ) -> Case:
        """A case from the text of a case file. Files that it names are those in ``beside`` (name to bytes), else those in ``folder``."""
        return cls._of(text.encode() if isinstance(text, str) else bytes(text), "the text of the case", folder, beside)

    @classmethod
    def open(cls, path: str | os.PathLike[str]) -> Case:
        """A case from a case file.

        Raises
        ------
        OSError
            When the file cannot be read.
        CaseError
            When it is no case.
        """
        path = Path(path)
        return cls._of(path.read_bytes(), str(path), path.parent, None)

    @classmethod
    def new(cls, kind: str) -> Case:
        """A worked case to start from: ``cap``, ``disc``, ``key``, ``cone`` or ``bowl``."""
        return cls._of(_core.template(kind).encode(), f"the template of a {kind}", None, {})

    @property
    def title(self) -> str:
        """What the part is called."""
        return self._core.title

    @property
    def text(self) -> str:
        """The text of the case file."""
        return self._core.text

    @property
    def digest(self) -> str:
        """Digits that change with any byte of the case file or of a file that it names; answers state it."""
        return self._core.digest

    @property
    def numbers(self) -> dict[str, float]:
        """Every number that entered, by its key in the case file, SI."""
        return {key: value for key, value, *_ in self._core.inputs()}

    @property
    def tolerances(self) -> dict[str, float | None]:
        """Half-widths of their tolerances, SI; None where none is stated."""
        return {key: half for key, _, half, *_ in self._core.inputs()}

    def __repr__(self) -> str:
        shown = ", ".join(f"{key} = {words}" for key, _, _, _, words in self._core.inputs())
        return f"<Case {self.title!r}: {shown}>"

    def _repr_html_(self) -> str:
        from html import escape

        rows = "".join(
            f"<tr><td style='text-align:left'>{escape(key)}</td><td style='text-align:left'>{escape(words)}</td></tr>"
            for key, _, _, _, words in self._core.inputs()
        )
        return f"<table><caption>{escape(self.title)}</caption>{rows}</table>"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Case) and self.digest == other.digest

    def __hash__(self) -> int:
        return hash(self.digest)

    def __reduce__(self) -> tuple[Any, ...]:
        return (Case._of, (self.text.encode(), self.name, None, self._core.beside()))

    def save(self, path: str | os.PathLike[str]) -> Path:
        """Writes the case file and the files that it names."""
        path = Path(path)
        path.parent.mkdir(parents=True, exist_ok=True)
        for name, content in self._core.beside().items():
            beside = path.parent / name
            if beside.exists() and beside.read_bytes() != content:
                raise FileExistsError(f"{beside} is there already, with other content")
            beside.parent.mkdir(parents=True, exist_ok=True)
            beside.write_bytes(content)
        path.write_text(self.text, encoding="utf-8", newline="")
        return path

    def changed(self, numbers: Mapping[str, float | str] | None = None, /, **more: float | str) -> Case:
        """The same part with other numbers: SI, or texts with a unit. Keys are those of :attr:`numbers`; in keywords ``__`` does for the point.

        >>> import calotte
        >>> cap = calotte.Case.new("cap")
        >>> cap.changed(wall__thickness="2 mm").numbers["wall.thickness"]
        0.002

        Raises
        ------
        QuestionError
            For a key that the case does not have, a wrong unit, a number that is not finite.
        CaseError
            When there is no such part.
        """
        changes = [*(numbers or {}).items(), *((k.replace("__", "."), v) for k, v in more.items())]
        text = self._core.rewritten(changes)
        return Case._of(text.encode(), self.name, self._folder, self._core.beside())

    @property
    def questions(self) -> dict[str, str | None]:
        """Every question with None where it makes sense for this case, or why it does not."""
        return {q: self._core.refuses(q) for q in _core.QUESTIONS}

    def ask(
        self,
        question: str,
        options: Mapping[str, Any] | None = None,
        *,
        figures: bool = False,
        threads: int = 0,
        progress: Progress = None,
    ) -> Answer[Any]:
        """Any question by its name, with its options as the server takes them; the methods below say which there are.

        Parameters
        ----------
        figures
            Draw the figures now. Otherwise they are drawn when they are first looked at, by asking again.
        threads
            For questions that ask many times; 0 takes every core. No answer depends on it.
        progress
            ``True`` for a bar (tqdm), or a callable that takes the share done (or None) and words. What it raises stops the work.

        Raises
        ------
        QuestionError
            When the question makes no sense for the case, or an option is wrong.
        KeyboardInterrupt
            On Ctrl-C.
        """
        given = {k: v for k, v in (options or {}).items() if v is not None}
        with told(progress, question) as callback:
            reply = self._core.ask(question, _json(given), figures, True, False, threads, callback)
        return Answer(self, reply, given, threads)

    def look(self) -> Answer[Look]:
        """The part as described, before any mechanics, and which questions make sense."""
        return self.ask("look")

    def verdict(self, *, branch: bool = True, depth: bool = True, figures: bool = False) -> Answer[VerdictReport]:
        """Turned inside out, does it stay, why and by what margin? As ``calotte verdict``, for parts turned over as a whole.

        Parameters
        ----------
        branch
            The branch of inverted states over thickness too.
        depth
            The threshold of depth too.

        Definitions, evidence, sources and every field of the report: docs/verdict.md.
        """
        return self.ask("verdict", {"branch": branch, "depth": depth}, figures=figures)

    def states(self, *, figures: bool = False) -> Answer[StatesReport]:
        """Every stable state of a part of lines and arcs. As ``calotte verdict`` for such parts.

        Definitions, evidence, sources and every field of the report: docs/states.md.
        """
        return self.ask("states", figures=figures)

    def poke(self, *, hand: bool = False, start: str | None = None, figures: bool = False) -> Answer[PokeReport]:
        """What trips it, by which route, how does it come back? As ``calotte poke``.

        Parameters
        ----------
        hand
            Push the pole by hand, whatever the load of the case; ``start`` is then ``natural`` or ``inverted``.

        Definitions, evidence, sources and every field of the report: docs/poke.md.
        """
        return self.ask("poke", {"hand": hand, "from": start}, figures=figures)

    def release(
        self,
        *,
        until: str | None = None,
        landing: bool = False,
        steps: int | None = None,
        hold: str | None = None,
        count: int | None = None,
        spread: int | None = None,
        slowing: bool = False,
        figures: bool = False,
        threads: int = 0,
        progress: Progress = None,
    ) -> Answer[ReleaseWhole]:
        """Let go of the inverted part: when does it snap, how fast, what then? As ``calotte release``.

        Parameters
        ----------
        until
            Last moment, ``"2 s"``.
        landing
            Follow the flight to its landing.
        hold, count
            Wait against time held, ``"0.1s..100s"`` in so many holds.
        spread
            Wait over a batch of so many parts.
        slowing
            Slowing down near the threshold.

        Definitions, evidence, sources and every field of the report: docs/release.md.
        """
        options = {"until": until, "landing": landing, "steps": steps, "hold": hold, "count": count, "spread": spread, "slowing": slowing}
        return self.ask("release", options, figures=figures, threads=threads, progress=progress)

    def heat(
        self,
        *,
        spread: int | None = None,
        map: bool = False,
        depth: str | None = None,
        thickness: str | None = None,
        grid: str | None = None,
        figures: bool = False,
        threads: int = 0,
        progress: Progress = None,
    ) -> Answer[HeatWhole]:
        """At which temperatures does it trip and reset, and what moves them? As ``calotte heat``.

        Definitions, evidence, sources and every field of the report: docs/heat.md.
        """
        options = {"spread": spread, "map": map or None, "depth": depth, "thickness": thickness, "grid": grid}
        return self.ask("heat", options, figures=figures, threads=threads, progress=progress)

    def modes(
        self,
        *,
        inverted: bool = False,
        lowest: int | None = None,
        each: int | None = None,
        waves: int | None = None,
        pressure: str | None = None,
        figures: bool = False,
    ) -> Answer[ModesReport]:
        """Frequencies, shapes and buckling pressures in every number of waves. As ``calotte modes``.

        Definitions, evidence, sources and every field of the report: docs/modes.md.
        """
        options = {"inverted": inverted, "lowest": lowest, "each": each, "waves": waves, "pressure": pressure}
        return self.ask("modes", options, figures=figures)

    def map(
        self,
        x: str | None = None,
        y: str | None = None,
        *,
        margin: Sequence[float] | None = None,
        trip_load: str | Sequence[str] | None = None,
        snapping: bool = False,
        figures: bool = False,
        progress: Progress = None,
    ) -> Answer[MapReport]:
        """How do thresholds run over two numbers of the case? As ``calotte map``; axes as ``"depth=40deg..70deg"``.

        Definitions, evidence, sources and every field of the report: docs/map.md.
        """
        options = {"x": x, "y": y, "margin": _floats(margin), "trip_load": _texts(trip_load), "snapping": snapping}
        return self.ask("map", options, figures=figures, progress=progress)

    def spread(
        self,
        *,
        count: int | None = None,
        seed: int | None = None,
        distribution: str | Sequence[str] | None = None,
        window: str | Sequence[str] | None = None,
        together: str | Sequence[str] | None = None,
        want: str | None = None,
        figures: bool = False,
        threads: int = 0,
        progress: Progress = None,
    ) -> Answer[BatchReport]:
        """How many of a batch do what they should, and which tolerance matters most? As ``calotte spread``.

        Definitions, evidence, sources and every field of the report: docs/spread.md.
        """
        options = {
            "count": count,
            "seed": seed,
            "distribution": _texts(distribution),
            "window": _texts(window),
            "together": _texts(together),
            "want": want,
        }
        return self.ask("spread", options, figures=figures, threads=threads, progress=progress)

    def size(
        self,
        *,
        vary: str | Sequence[str] | None = None,
        wish: str | Sequence[str] | None = None,
        draws: int | None = None,
        figures: bool = False,
        threads: int = 0,
        progress: Progress = None,
    ) -> Answer[SizeReport]:
        """Which sizes give what is wished, or which wish stands in the way? As ``calotte size``.

        Definitions, evidence, sources and every field of the report: docs/size.md.
        """
        options = {"vary": _texts(vary), "wish": _texts(wish), "draws": draws}
        return self.ask("size", options, figures=figures, threads=threads, progress=progress)

    def thresholds(
        self,
        vary: Mapping[str, Any] | None = None,
        *,
        threads: int = 0,
        progress: Progress = None,
    ) -> Thresholds:
        """h/h* and the threshold thickness of many parts, followed from that of the case and certified.

        Parameters
        ----------
        vary
            Numbers of the case (keys of :attr:`numbers`, or ``depth``), each with an array of SI values, or ``(array, unit)``. Arrays are of
            one shape; single numbers are repeated.

        Returns
        -------
        Thresholds
            Arrays of that shape. The same bits as the question ``threshold`` of a sweep.

        >>> import numpy as np, calotte
        >>> cap = calotte.Case.new("cap")
        >>> found = cap.thresholds({"wall.thickness": (np.linspace(1.5, 3.0, 4), "mm")})
        >>> found.thickness_ratio.shape, bool(found.certified.all())
        ((4,), True)
        """
        return gauges_of(self, ("margin",)).thresholds(vary or {}, threads, progress)

    def readings(
        self,
        gauges: str | Sequence[str],
        vary: Mapping[str, Any] | None = None,
        *,
        threads: int = 0,
        progress: Progress = None,
    ) -> Readings:
        """Numbers of many parts: ``calotte.GAUGES`` lists them (margin, trip_load, trip_temperature, mass …). ``vary`` as for :meth:`thresholds`."""
        kinds = (gauges,) if isinstance(gauges, str) else tuple(gauges)
        if not kinds:
            raise QuestionError("no gauge is asked for", f"gauges are {', '.join(_core.GAUGES)}")
        return gauges_of(self, kinds).read(vary or {}, threads, progress)


def _texts(given: str | Sequence[str] | None) -> list[str] | None:
    return None if given is None else [given] if isinstance(given, str) else list(given)


def _floats(given: Sequence[float] | None) -> list[float] | None:
    return None if given is None else [float(x) for x in given]


def _json(options: Mapping[str, Any]) -> str:
    def plain(value: Any) -> Any:
        if hasattr(value, "tolist"):
            return value.tolist()
        raise TypeError(f"an option is a text, a number, a flag or a list of them, not {type(value).__name__}")

    try:
        return json.dumps(options, default=plain, allow_nan=False)
    except ValueError as e:
        raise QuestionError(f"an option holds a number that is not finite: {options!r}") from e
