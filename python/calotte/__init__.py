"""Snapping parts: whether they stay when they are turned inside out, what trips them, how long they wait, how fast they go.

The same answers as the program ``calotte``, letter for letter:

>>> import calotte
>>> answer = calotte.Case.new("cap").verdict()
>>> answer.report.verdict, round(answer.report.margin.thickness_ratio, 4)
('stays', 0.8151)

Sizes are SI with the unit in the name; texts such as ``"2.4 ± 0.05 mm"`` are read as in case files. See :class:`Case`, :class:`Sweep`,
:mod:`calotte.plot`, and the commands that make files or read pictures: :func:`make`, :func:`report`, :func:`film`, :func:`export`,
:func:`side`, :func:`clip`, :func:`bench`, :func:`logbook`, :func:`memory`, :func:`rehearse`, :func:`series`.

Inverted parts store energy and let it go in milliseconds: keep eyes and faces clear. A computed number is a design aid, never evidence
for a protective control: licensed practice, product standards and local codes decide.
"""

from ._answer import Answer, Figure, Figures, Table
from ._case import Case
from ._core import GAUGES, QUESTIONS, schema
from ._core import VERSION as __version__
from ._errors import (
    CalotteError,
    CaseError,
    CaseWarning,
    FailedError,
    Finding,
    FolderError,
    PlanError,
    ProgramError,
    QuestionError,
)
from ._program import (
    Made,
    bench,
    clip,
    export,
    film,
    logbook,
    make,
    map_with,
    memory,
    program,
    rehearse,
    report,
    run,
    series,
    side,
)
from ._readings import Readings, Thresholds
from ._sweep import Sweep, SweepResult

__all__ = [
    "GAUGES",
    "QUESTIONS",
    "Answer",
    "CalotteError",
    "Case",
    "CaseError",
    "CaseWarning",
    "FailedError",
    "Figure",
    "Figures",
    "Finding",
    "FolderError",
    "Made",
    "PlanError",
    "ProgramError",
    "QuestionError",
    "Readings",
    "Sweep",
    "SweepResult",
    "Table",
    "Thresholds",
    "__version__",
    "bench",
    "clip",
    "export",
    "film",
    "logbook",
    "make",
    "map_with",
    "memory",
    "program",
    "rehearse",
    "report",
    "run",
    "schema",
    "series",
    "side",
]
