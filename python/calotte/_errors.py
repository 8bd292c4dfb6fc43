"""Exceptions: one tree under :class:`CalotteError`.

Every message says what is wrong, where, and what would be right. ``KeyboardInterrupt`` is raised when work is stopped by Ctrl-C.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

__all__ = [
    "CalotteError",
    "CaseError",
    "CaseWarning",
    "FailedError",
    "Finding",
    "FolderError",
    "PlanError",
    "ProgramError",
    "QuestionError",
]


@dataclass(frozen=True)
class Finding:
    """One remark about a file, with its place."""

    level: str
    """``error`` or ``warning``."""
    file: str
    """Name of the file."""
    line: int
    """Line, from 1."""
    column: int
    """Column in characters, from 1."""
    text: str
    """The line itself."""
    says: str
    """What is wrong."""
    hint: str | None
    """What would be right."""

    def __str__(self) -> str:
        lines = [f"{self.file}:{self.line}:{self.column}: {self.says}"]
        if self.text:
            lines.append(f"    {self.text}")
        if self.hint:
            lines.append(f"  help: {self.hint}")
        return "\n".join(lines)


class CalotteError(Exception):
    """Root of all errors of this package."""


class _FindingsError(CalotteError):
    """An error made of findings."""

    def __init__(self, file: str, findings: Sequence[Finding | Mapping[str, Any]]) -> None:
        super().__init__(file, findings)
        self.file = file
        """Name of the file or text that was read."""
        self.findings: list[Finding] = [
            f if isinstance(f, Finding) else Finding(**f) for f in findings
        ]
        """Everything that was found, by place, warnings too."""

    def __str__(self) -> str:
        errors = sum(f.level == "error" for f in self.findings)
        head = f"{errors} problem{'s' if errors != 1 else ''} in {self.file}"
        return "\n".join([head, *map(str, self.findings)])


class CaseError(_FindingsError):
    """A case that cannot be used."""


class PlanError(_FindingsError):
    """A plan of a sweep that cannot be used."""


class _HelpfulError(CalotteError):
    def __init__(self, says: str, help: str | None = None) -> None:
        super().__init__(says, help)
        self.says = says
        """What is wrong."""
        self.help = help
        """What would be right, where that is known."""

    def __str__(self) -> str:
        return f"{self.says}\n  help: {self.help}" if self.help else self.says


class QuestionError(_HelpfulError, ValueError):
    """A question that makes no sense for the case, or a wrong option, number or unit."""


class FolderError(_HelpfulError, OSError):
    """The folder of a sweep cannot be used: another sweep's, a shard that is not this sweep's, a disk that refuses. Finished chunks
    are kept."""


class FailedError(CalotteError, RuntimeError):
    """A computation that could not be finished."""


class ProgramError(CalotteError, RuntimeError):
    """The program ``calotte`` refused or failed."""

    def __init__(self, says: str, code: int) -> None:
        super().__init__(says, code)
        self.says = says
        """What it printed."""
        self.code = code
        """Its exit code: 2 bad input, 3 internal failure."""

    def __str__(self) -> str:
        return self.says


class CaseWarning(UserWarning):
    """A finding about a case that can be used all the same."""
