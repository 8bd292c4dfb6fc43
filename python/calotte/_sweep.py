"""Sweeps: questions at many points of a plan, on this machine or on a Dask cluster."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from . import _core
from ._errors import Finding, QuestionError
from ._progress import Callback, told

if TYPE_CHECKING:
    from ._case import Case


def _ranges(chunks: Iterable[int]) -> str:
    """Chunks as people write them: ``3-7, 12``."""
    out: list[list[int]] = []
    for c in chunks:
        if out and c == out[-1][1] + 1:
            out[-1][1] = c
        else:
            out.append([c, c])
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in out)


class SweepResult:
    """What lies in the folder of a sweep after it was looked through."""

    def __init__(self, folder: Path, data: Mapping[str, Any], chunks: int) -> None:
        self.folder = folder
        """The folder: one Parquet file per chunk, the manifest in ``_sweep``."""
        self.chunks = chunks
        """Chunks of the plan."""
        self.whole: int = data["whole"]
        """Chunks that are whole."""
        self.missing: list[int] = data["missing"]
        """Chunks that are not there."""
        self.damaged: list[dict[str, Any]] = data["damaged"]
        """Damaged ones, set aside: chunk, why, where."""
        self.strange: list[str] = data["strange"]
        """Tables in the folder that are none of this sweep."""
        self.points: int = data["points"]
        """Points that are there."""
        self.with_note: int = data["with_note"]
        """Points whose note is not empty."""
        self.bytes: int = data["bytes"]
        """Bytes of all chunks."""
        self.counts: list[dict[str, Any]] = data["counts"]
        """What was answered how often: question, answer, points."""

    @property
    def complete(self) -> bool:
        """Whether all chunks are there."""
        return not self.missing

    @property
    def files(self) -> list[Path]:
        """The Parquet files of the chunks that are there, in order."""
        return sorted(self.folder.glob("chunk-*.parquet"))

    def to_pandas(self, columns: Sequence[str] | None = None) -> Any:
        """All points that are there as a pandas data frame, in their order."""
        import pandas as pd

        return pd.concat([pd.read_parquet(f, columns=columns) for f in self.files], ignore_index=True)

    def to_polars(self, columns: Sequence[str] | None = None) -> Any:
        """All points that are there as a polars data frame, in their order."""
        import polars as pl

        frame = pl.scan_parquet(self.files)
        return (frame if columns is None else frame.select(columns)).collect()

    def duckdb(self, connection: Any | None = None) -> Any:
        """All points that are there as a DuckDB relation; nothing is read before it is asked."""
        import duckdb

        return (connection or duckdb).read_parquet([str(f) for f in self.files])

    def __repr__(self) -> str:
        counts = ", ".join(f"{c['question']} {c['answer']}: {c['points']}" for c in self.counts)
        missing = f"; missing {_ranges(self.missing)}" if self.missing else ""
        return f"<SweepResult {self.folder}: {self.points} points in {self.whole} of {self.chunks} chunks{missing}; {counts}>"


class Sweep:
    """A plan of points and questions, from a plan file (:meth:`open`) or from a case and keywords (:meth:`of`).

    Point ``k`` is a pure function of the plan and ``k``, so the files have the same bytes whatever machine computed them.
    """

    def __init__(
        self,
        plan: str | bytes,
        *,
        name: str = "the plan",
        folder: str | os.PathLike[str] | None = None,
        beside: Mapping[str, bytes] | None = None,
    ) -> None:
        text = plan.encode() if isinstance(plan, str) else bytes(plan)
        where = None if folder is None else os.path.abspath(folder)
        self._given = (text, name, where, dict(beside or {}))
        self._core, found = _core.Sweep.read(*self._given)
        self.warnings = [Finding(**f) for f in found]
        """Findings that do not keep the plan from being used."""

    def __reduce__(self) -> tuple[Any, ...]:
        return (_again, self._given)

    @classmethod
    def open(cls, path: str | os.PathLike[str]) -> Sweep:
        """A sweep from a plan file; files that it names lie beside it.

        Raises
        ------
        PlanError
            With everything that is wrong in the plan or in its case, each at its place.
        """
        path = Path(path)
        return cls(path.read_bytes(), name=str(path), folder=path.parent)

    @classmethod
    def of(
        cls,
        case: Case,
        questions: str | Sequence[str],
        vary: Mapping[str, Any],
        *,
        design: str = "grid",
        points: int | None = None,
        chunk: int | None = None,
        seed: int | None = None,
        title: str | None = None,
    ) -> Sweep:
        """A sweep over numbers of a case.

        Parameters
        ----------
        questions
            ``threshold``, ``verdict``, ``poke``, ``release``, ``heat``: one or several.
        vary
            Key to ``(from, to)`` or, for a grid, ``(from, to, count)``, ends as texts with units; or, with ``design="table"``, key to a list
            of texts or an array of SI values, all of one length.
        design
            ``grid``, ``latin hypercube``, ``sobol`` or ``table``.
        points
            Number of points of a Latin hypercube or of Sobol points.
        chunk
            Points of one chunk, 1000 if not given.
        """
        head: dict[str, Any] = {
            "title": title,
            "case": "case.toml",
            "questions": [questions] if isinstance(questions, str) else list(questions),
            "design": design,
            "points": points,
            "chunk": chunk,
            "seed": seed,
        }
        beside = {"case.toml": case.text.encode(), **case._core.beside()}
        lines = []
        if design == "table":
            head["table"] = "table.csv"
            head["chunk"] = chunk
            beside["table.csv"] = _table(case, vary)
        else:
            for key, given in vary.items():
                if not isinstance(given, tuple) or not 2 <= len(given) <= 4:
                    raise QuestionError(
                        f"`{key}`: a pair of ends is wanted, not {given!r:.60}", f'for example `"{key}": ("1 mm", "3 mm")`'
                    )
                parts = [f"from = {_value(given[0])}", f"to = {_value(given[1])}"]
                if len(given) > 2 and given[2] is not None:
                    parts.append(f"count = {int(given[2])}")
                if len(given) > 3:
                    parts.append(f"spacing = {_value(given[3])}")
                lines.append(f"{json.dumps(key)} = {{ {', '.join(parts)} }}")
        text = "".join(f"{k} = {_value(v)}\n" for k, v in head.items() if v is not None)
        if lines:
            text += "\n[vary]\n" + "\n".join(lines) + "\n"
        return cls(text, name="the plan made from keywords", beside=beside)

    @property
    def title(self) -> str:
        """What it is called."""
        return self._core.title

    @property
    def digest(self) -> str:
        """Digits that change with anything that a row depends on but the program."""
        return self._core.digest

    @property
    def points(self) -> int:
        """How many points."""
        return self._core.points

    @property
    def chunks(self) -> int:
        """How many chunks."""
        return self._core.chunks

    @property
    def columns(self) -> dict[str, tuple[str, str]]:
        """Columns of the result: unit and content."""
        return {name: (unit, about) for name, unit, about in self._core.columns()}

    def row(self, point: int) -> dict[str, Any]:
        """The row of one point, computed now."""
        return self._core.row(point)

    def missing(self, out: str | os.PathLike[str]) -> list[int]:
        """Chunks that are missing in a folder; damaged ones are set aside and count as missing."""
        return self._core.missing(os.fspath(out))[0]

    def run(
        self,
        out: str | os.PathLike[str],
        *,
        threads: int = 0,
        chunks: Sequence[int] | None = None,
        client: Any | None = None,
        progress: bool | Callback | None = None,
    ) -> SweepResult:
        """Computes what is missing, and looks through the folder.

        Stopped by Ctrl-C, an error or a kill, finished chunks are kept: the same call goes on from there.

        Parameters
        ----------
        out
            Folder of the result. With ``client``: one that client and workers see at the same path.
        threads
            Threads here; 0 takes every core. With ``client``: threads of each task, 0 takes one.
        chunks
            These chunks alone.
        client
            A Dask client (``distributed.Client``): its workers compute the chunks. A task of a lost worker is computed again by another.
        progress
            As for :meth:`calotte.Case.ask`.

        Raises
        ------
        FolderError
            When the folder holds another sweep, a shard is another sweep's, or the disk refuses.
        """
        out = Path(os.path.abspath(out))
        self._core.prepare(os.fspath(out))
        if client is None:
            with told(progress, "sweep") as callback:
                self._core.run(os.fspath(out), None if chunks is None else list(chunks), threads, callback)
        else:
            self._on(client, out, chunks, max(threads, 1), progress)
        return self.gather(out)

    def _on(self, client: Any, out: Path, chunks: Sequence[int] | None, threads: int, progress: Any) -> None:
        from distributed import as_completed

        lost = set(self.missing(out))
        asked = sorted(lost if chunks is None else lost & set(chunks))
        with told(progress, "sweep") as callback:
            # Workers read the plan from the folder of the result, where it was copied. A chunk computed twice has the same bytes.
            given = (self.digest, os.fspath(out))
            tasks = [client.submit(_chunk, *given, c, threads, pure=False, retries=3) for c in asked]
            try:
                for done, task in enumerate(as_completed(tasks), 1):
                    task.result()
                    if callback is not None:
                        callback(done / len(tasks), f"chunk {done} of {len(tasks)}")
            except BaseException:
                client.cancel(tasks)
                raise

    def gather(self, out: str | os.PathLike[str], *, progress: bool | Callback | None = None) -> SweepResult:
        """Looks at every chunk of a folder, writes its manifest and says what there is."""
        with told(progress, "chunks") as callback:
            data = json.loads(self._core.gather(os.fspath(out), callback))
        return SweepResult(Path(out), data, self.chunks)

    def __repr__(self) -> str:
        return f"<Sweep {self.title!r}: {self.points} points in {self.chunks} chunks, digest {self.digest}>"


def _again(text: bytes, name: str, folder: str | None, beside: dict[str, bytes]) -> Sweep:
    return Sweep(text, name=name, folder=folder, beside=beside)


_KEPT: dict[tuple[str, str], Sweep] = {}


def _chunk(digest: str, out: str, chunk: int, threads: int) -> int:
    """What a worker does: one chunk into the folder, by the plan that lies there. It keeps the plan that it read last."""
    sweep = _KEPT.get((digest, out))
    if sweep is None:
        sweep = Sweep.open(Path(out) / "_sweep" / "plan.toml")
        if sweep.digest != digest:
            raise QuestionError(f"{out} holds another plan than the one that was asked", "client and workers see one folder at one path")
        _KEPT.clear()
        _KEPT[digest, out] = sweep
    sweep._core.run(out, [chunk], threads, None)
    return chunk


def _value(value: Any) -> str:
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, np.generic):
        value = value.item()
    return repr(value)


def _table(case: Case, vary: Mapping[str, Any]) -> bytes:
    """Columns as the CSV of a plan: texts as they are, numbers as SI values with their unit."""
    lengths = {k: len(v) for k, v in vary.items()}
    if len(set(lengths.values())) > 1:
        told_lengths = ", ".join(f"`{k}` {n}" for k, n in lengths.items())
        raise QuestionError(f"columns differ in length: {told_lengths}", "a table has one value per point in every column")
    columns = []
    for key, values in vary.items():
        unit = _core.si_unit(case._core, key)
        cells = [v if isinstance(v, str) else f"{float(v)!r} {unit}".strip() for v in values]
        columns.append([key, *cells])
    quote = lambda text: '"' + text.replace('"', '""') + '"'  # noqa: E731
    return ("\n".join(",".join(map(quote, row)) for row in zip(*columns, strict=True)) + "\n").encode()
