"""Answers: words, typed report, figures, tables."""

from __future__ import annotations

import html
import json
import os
from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from . import _core
from ._data import Record, summary
from ._errors import FailedError, QuestionError
from .answers import REPORTS, Film

if TYPE_CHECKING:
    from ._case import Case

R = TypeVar("R")


class Figure:
    """A figure of an answer, as the program draws it; shows itself in a notebook."""

    def __init__(self, reply: _core.Reply, name: str) -> None:
        self._reply = reply
        self.name = name
        """Its name: ``shape``, ``energy``, ``branch`` …"""
        self.svg, self.data, self.alt, self.caption = reply.figure_parts(name)

    def png(self) -> bytes:
        """The figure as PNG."""
        return self._reply.figure_png(self.name)

    def pdf(self) -> bytes:
        """The figure as PDF, at true scale."""
        return self._reply.figure_pdf(self.name)

    def save(self, path: str | os.PathLike[str]) -> Path:
        """Writes it as what the ending says: ``.svg``, ``.png``, ``.pdf``, or ``.csv`` for the numbers behind it."""
        path = Path(path)
        kinds = {".svg": lambda: self.svg.encode(), ".png": self.png, ".pdf": self.pdf, ".csv": lambda: self.data.encode()}
        made: Callable[[], bytes] | None = kinds.get(path.suffix)
        if made is None:
            raise QuestionError(f"{path}: figures are written as {', '.join(kinds)}")
        path.write_bytes(made())
        return path

    def _repr_svg_(self) -> str:
        return self.svg

    def __repr__(self) -> str:
        return f"<Figure {self.name}: {self.caption}>"


class Figures(Mapping[str, Figure]):
    """Figures of an answer by name."""

    def __init__(self, reply: _core.Reply) -> None:
        self._reply = reply
        self._names = reply.figure_names()

    def __getitem__(self, name: str) -> Figure:
        return Figure(self._reply, name)

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __contains__(self, name: object) -> bool:
        return name in self._names

    def __len__(self) -> int:
        return len(self._names)

    def _repr_html_(self) -> str:
        return "".join(f"<figure>{f.svg}<figcaption>{html.escape(f.caption)}</figcaption></figure>" for f in self.values())


class Table:
    """A table of an answer: columns with units, as in the program's CSV and Parquet files."""

    def __init__(self, reply: _core.Reply, name: str) -> None:
        self._reply = reply
        self.name = name
        columns = reply.table(name)
        self.columns: dict[str, Any] = {n: c[0] for n, c in columns.items()}
        """Columns by name: numpy arrays of numbers (NaN for gaps), lists of texts and flags (None for gaps)."""
        self.units: dict[str, str] = {n: c[1] for n, c in columns.items()}
        """Unit of each column; ``1`` for pure numbers."""
        self.about: dict[str, str] = {n: c[2] for n, c in columns.items()}
        """What each column holds."""

    def __getitem__(self, column: str) -> Any:
        return self.columns[column]

    def __len__(self) -> int:
        return len(next(iter(self.columns.values()), ()))

    def __repr__(self) -> str:
        return f"<Table {self.name}: {len(self)} rows of {', '.join(self.columns)}>"

    def to_pandas(self) -> Any:
        """The table as a pandas data frame."""
        import pandas as pd

        return pd.DataFrame(self.columns)

    def to_polars(self) -> Any:
        """The table as a polars data frame."""
        import polars as pl

        return pl.DataFrame(self.columns, nan_to_null=True)

    def to_parquet(self, path: str | os.PathLike[str]) -> Path:
        """Writes the file that the program writes with ``--out``, byte for byte."""
        path = Path(path)
        path.write_bytes(self._reply.table_parquet(self.name))
        return path

    def to_csv(self, path: str | os.PathLike[str]) -> Path:
        """Writes the file that the program writes with ``--out``, byte for byte."""
        path = Path(path)
        path.write_bytes(self._reply.table_csv(self.name))
        return path

    def _repr_html_(self) -> str:
        try:
            frame = self.to_pandas()
        except ImportError:
            return f"<pre>{html.escape(repr(self))}</pre>"
        shown: str = frame._repr_html_()
        return shown


class Answer(Generic[R]):
    """An answer. ``print(answer)`` gives the words that the command prints; fields of :attr:`report` are at hand as attributes too."""

    def __init__(self, case: Case, reply: _core.Reply, options: Mapping[str, Any], threads: int) -> None:
        self._case = case
        self._reply = reply
        self._options = dict(options)
        self._threads = threads

    @property
    def case(self) -> Case:
        """The case that was asked about."""
        return self._case

    @property
    def question(self) -> str:
        """The question."""
        return self._reply.question

    @property
    def doubtful(self) -> bool:
        """Whether the evidence does not carry the answer."""
        return self._reply.doubtful

    @property
    def text(self) -> str:
        """The words that the command prints."""
        return self._reply.text

    @property
    def json(self) -> str:
        """What the command prints with ``--json``, letter for letter."""
        return self._reply.json

    @cached_property
    def _data(self) -> dict[str, Any]:
        data: dict[str, Any] = json.loads(self._reply.json)
        return data

    @property
    def provenance(self) -> dict[str, Any]:
        """Program, version, digest of the case, every number that entered."""
        told: dict[str, Any] = self._data["provenance"]
        return told

    @cached_property
    def report(self) -> R:
        """The answer as a typed record (see ``calotte.answers``)."""
        rest = {k: v for k, v in self._data.items() if k != "provenance"}
        report: R = REPORTS[self.question]._read(rest)
        return report

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        try:
            return getattr(self.report, name)
        except AttributeError:
            raise AttributeError(f"the answer to `{self.question}` has no `{name}`") from None

    def __dir__(self) -> list[str]:
        return [*super().__dir__(), *(n for n, _ in self.report._items())]  # type: ignore[attr-defined]

    def to_dict(self) -> dict[str, Any]:
        """The whole answer as plain dictionaries and lists."""
        return self._data

    def _asked_again(self, *, figures: bool, film: bool) -> _core.Reply:
        reply = self._case._core.ask(self.question, json.dumps(self._options), figures, False, film, self._threads, None)
        # A verdict that is drawn has its branch too; all else is the same.
        if reply.json != self.json and self.question != "verdict":
            raise FailedError("asked again, the answer is another: a fault of the program")
        return reply

    @cached_property
    def figures(self) -> Figures:
        """The figures, by name. Drawn now, by asking again, where they were not asked for at first."""
        if self._reply.figure_names():
            return Figures(self._reply)
        return Figures(self._asked_again(figures=True, film=False))

    @cached_property
    def film(self) -> Film | None:
        """Shapes of the part in all states that were found, on one grid; None where there are none. Found by asking again."""
        film = self._asked_again(figures=False, film=True).film
        return None if film is None else Film._read(json.loads(film))

    @cached_property
    def tables(self) -> dict[str, Table]:
        """The tables that the command writes with ``--out``, by name."""
        return {name: Table(self._reply, name) for name in self._reply.table_names()}

    def _table(self, name: str | None) -> Table | None:
        if name is None:
            return None
        if name not in self.tables:
            names = ", ".join(self.tables) or "none"
            raise QuestionError(f"the answer to `{self.question}` has no table `{name}`", f"its tables: {names}")
        return self.tables[name]

    def to_pandas(self, table: str | None = None) -> Any:
        """A table as a data frame; without a name one row with every single number of the report."""
        of = self._table(table)
        import pandas as pd

        return of.to_pandas() if of else pd.DataFrame([summary(self._record())])

    def to_polars(self, table: str | None = None) -> Any:
        """The same for polars."""
        of = self._table(table)
        import polars as pl

        return of.to_polars() if of else pl.DataFrame([summary(self._record())])

    def to_parquet(self, path: str | os.PathLike[str], table: str | None = None) -> Path:
        """Writes a table as Parquet; without a name the row of :meth:`to_pandas`, by pandas and what it writes Parquet with."""
        of = self._table(table)
        if of:
            return of.to_parquet(path)
        self.to_pandas().to_parquet(path)
        return Path(path)

    def _record(self) -> Record:
        report = self.report
        assert isinstance(report, Record)
        return report

    def __str__(self) -> str:
        return self.text

    def __repr__(self) -> str:
        return f"<Answer to {self.question}: {self.text.splitlines()[0]}>"

    def _repr_html_(self) -> str:
        title, _, rest = self.text.partition("\n")
        drawn = ""
        first = next(iter(self.figures), None)
        if first is not None:
            figure = self.figures[first]
            drawn = f"<div style='max-width:44em'>{figure.svg}<p>{html.escape(figure.caption)}</p></div>"
        words = f"<details><summary>All words</summary><pre>{html.escape(rest)}</pre></details>"
        numbers = {k: v for k, v in summary(self._record()).items() if _telling(k, v)}
        rows = "".join(
            f"<tr><td style='text-align:left'>{html.escape(k)}</td><td style='text-align:left'>{html.escape(_short(v))}</td></tr>"
            for k, v in list(numbers.items())[:_MOST_SHOWN]
        )
        return f"<div><h4>{html.escape(title)}</h4><table>{rows}</table>{drawn}{words}</div>"


_MOST_SHOWN = 18
_ASIDE = ("device.", "evidence.", "load.", "part.", "protocol.", "scales.", "wall.")


def _telling(name: str, value: Any) -> bool:
    """Whether a number belongs on the first sight of an answer: no description of the part, no evidence, no long words."""
    if value is None or name in ("schema_version", "title") or name.startswith(_ASIDE):
        return False
    return not isinstance(value, str) or len(value) <= 60


def _short(value: Any) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)


__all__ = ["Answer", "Figure", "Figures", "Table"]
