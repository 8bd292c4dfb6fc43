"""The program ``calotte`` that comes with the package: commands that read pictures and tables or make files."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import sysconfig
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ._errors import ProgramError

if TYPE_CHECKING:
    from ._case import Case


def program() -> Path:
    """The program: the one beside this Python; ``CALOTTE_PROGRAM`` names another.

    Raises
    ------
    ProgramError
        When there is none.
    """
    named = os.environ.get("CALOTTE_PROGRAM")
    if named:
        return Path(named)
    name = "calotte.exe" if os.name == "nt" else "calotte"
    for folder in (sysconfig.get_path("scripts"), os.path.dirname(sys.executable), str(Path.home() / ".local" / "bin")):
        if (path := Path(folder) / name).is_file():
            return path
    found = shutil.which(name)
    if found is None:
        raise ProgramError("the program `calotte` was not found beside this Python: install the package anew", 2)
    return Path(found)


class Made:
    """What a command gave: its words or its JSON, and the files that it wrote."""

    def __init__(self, command: str, code: int, text: str, data: dict[str, Any] | None, folder: Path | None) -> None:
        self.command = command
        """The command."""
        self.doubtful = code == 1
        """Whether it said that its evidence does not carry the answer."""
        self.text = text
        """What it printed."""
        self.data = data
        """Its answer as plain dictionaries and lists, as ``--json`` prints it; None of a command without."""
        self.folder = folder
        """Where it wrote: a folder, or a file."""

    @property
    def files(self) -> list[Path]:
        """The files in the folder that it wrote to, by name; or the one that it wrote."""
        if self.folder is not None and self.folder.is_file():
            return [self.folder]
        return sorted(p for p in self.folder.rglob("*") if p.is_file()) if self.folder else []

    def __getitem__(self, key: str) -> Any:
        if self.data is None:
            raise KeyError(key)
        return self.data[key]

    def __repr__(self) -> str:
        wrote = f", {len(self.files)} files in {self.folder}" if self.folder else ""
        return f"<Made by {self.command}{wrote}>"

    def __str__(self) -> str:
        return self.text


def _arguments(options: Mapping[str, Any]) -> list[str]:
    """Keywords as options: ``slow_motion="auto"`` is ``--slow-motion=auto``; True is a flag; a list is repeated; None is nothing."""
    out = []
    for name, value in options.items():
        option = "--" + name.rstrip("_").replace("_", "-")
        if value is None or value is False:
            continue
        if value is True:
            out.append(option)
        elif isinstance(value, (list, tuple)):
            out += [f"{option}={v}" for v in value]
        else:
            out.append(f"{option}={value}")
    return out


@contextmanager
def _as_file(case: Any) -> Iterator[str]:
    """A case or the path of one, as a path."""
    if isinstance(case, (str, os.PathLike)):
        yield os.fspath(case)
        return
    with tempfile.TemporaryDirectory(prefix="calotte-") as folder:
        yield str(case.save(Path(folder) / "case.toml"))


def run(command: str, *arguments: Any, out: str | os.PathLike[str] | None = None, tells_json: bool = True, **options: Any) -> Made:
    """Runs a command of the program. Cases may be given as :class:`calotte.Case`; keywords become options (``--like-this``).

    Raises
    ------
    ProgramError
        When it refuses or fails, with what it says.
    KeyboardInterrupt
        On Ctrl-C; the program is stopped.
    """
    with _cases(arguments) as plain:
        given = {k: v for k, v in options.items() if k != "case"}
        with _cases([options["case"]] if options.get("case") is not None else []) as case:
            line = [str(program()), *command.split(), *plain, *_arguments(given), *(f"--case={c}" for c in case)]
            if out is not None:
                line.append(f"--out={os.fspath(out)}")
            if tells_json:
                line.append("--json")
            done = _watched(line)
    text = done.stdout
    if done.returncode not in (0, 1):
        raise ProgramError(done.stderr.strip() or f"`calotte {command}` ended with {done.returncode}", done.returncode)
    data = json.loads(text) if tells_json and text.strip() else None
    return Made(command, done.returncode, text, data, Path(out) if out is not None else None)


def _watched(line: list[str]) -> subprocess.CompletedProcess[str]:
    with subprocess.Popen(line, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, encoding="utf-8") as child:
        try:
            out, err = child.communicate()
        except BaseException:
            child.terminate()
            raise
        return subprocess.CompletedProcess(line, child.returncode, out, err)


@contextmanager
def _cases(arguments: Any) -> Iterator[list[str]]:
    from contextlib import ExitStack

    with ExitStack() as stack:
        yield [stack.enter_context(_as_file(a)) if hasattr(a, "save") else os.fspath(a) for a in arguments]


def make(case: Case | str, out: str | os.PathLike[str], *, what: str | None = None, **options: Any) -> Made:
    """Moulds, cutting guides, drawings, forming tools, a series: as ``calotte make`` (docs/make.md has the options)."""
    return run("make", case, out=out, what=what, **options)


def report(case: Case | str, out: str | os.PathLike[str], **options: Any) -> Made:
    """A report as one HTML file and a PDF: as ``calotte report``."""
    return run("report", case, out=out, tells_json=not options.get("sheet"), **options)


def film(case: Case | str, of: str, out: str | os.PathLike[str], **options: Any) -> Made:
    """A moving picture of ``release``, ``poke``, ``turning``, ``modes`` or ``heat``: as ``calotte film``."""
    return run("film", case, out=out, of=of, **options)


def export(case: Case | str, of: str, out: str | os.PathLike[str], **options: Any) -> Made:
    """Shapes and fields as VTK XML, STL and tables: as ``calotte export``."""
    return run("export", case, out=out, of=of, **options)


def memory(table: str | os.PathLike[str], **options: Any) -> Made:
    """The memory (Prony series) that fits a table of relaxation or creep: as ``calotte memory``."""
    return run("memory", table, **options)


def side(picture: str | os.PathLike[str], scale: str, **options: Any) -> Made:
    """Sizes of a part from a picture of it seen from the side: as ``calotte side``; ``case`` may be a :class:`calotte.Case`."""
    return run("side", picture, scale=scale, **options)


def clip(frames: str | os.PathLike[str], **options: Any) -> Made:
    """Wait, snap, ringing and jump from a filmed release: as ``calotte clip``; ``case`` may be a :class:`calotte.Case`."""
    return run("clip", frames, **options)


def bench(file: str | os.PathLike[str], **options: Any) -> Made:
    """Modulus, memory and wall from bench tests: as ``calotte bench``."""
    return run("bench", file, **options)


def logbook(file: str | os.PathLike[str], **options: Any) -> Made:
    """Specimens and trials beside theory: as ``calotte logbook``."""
    return run("logbook", file, **options)


def rehearse(what: str, case: Case | str, out: str | os.PathLike[str], **options: Any) -> Made:
    """An invented measurement (``side`` or ``clip``) of a computed part: as ``calotte rehearse``."""
    return run(f"rehearse {what}", case, out=out, tells_json=False, **options)


def series(case: Case | str, over: str, out: str | os.PathLike[str], **options: Any) -> Made:
    """One number of the case varied: as ``calotte series``."""
    return run("series", case, out=out, tells_json=False, over=over, **options)


def map_with(case: Case | str, out: str | os.PathLike[str], **options: Any) -> Made:
    """A map with a grid of verdicts (``grid="16x16"``) or measured specimens (``specimens="file.csv"``): as ``calotte map``."""
    return run("map", case, out=out, **options)
