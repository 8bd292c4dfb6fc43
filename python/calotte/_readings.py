"""Readings of many parts that differ from one case in a few numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from . import _core
from ._errors import QuestionError
from ._progress import told

if TYPE_CHECKING:
    from ._case import Case


@dataclass(frozen=True, eq=False)
class Thresholds:
    """Thresholds of many parts; arrays of the shape of what varied."""

    thickness_ratio: np.ndarray
    """h/h*: below 1 the part stays. NaN where there is no threshold or no such part."""
    threshold_thickness_m: np.ndarray
    """h*: thickness of the wall at the rim that would just stay."""
    certified: np.ndarray
    """Whether inertia counts and waves round the axis certify the threshold, and the wall is a shell there."""
    notes: dict[int, str] = field(repr=False)
    """Why there is no number, or why it is not certified, by place in the flattened arrays."""

    @property
    def stays(self) -> np.ndarray:
        """Whether each part stays; False where there is no number."""
        return self.thickness_ratio < 1.0

    def to_dict(self) -> dict[str, np.ndarray]:
        """The arrays, flat, by name: ``pandas.DataFrame(found.to_dict())``."""
        names = ("thickness_ratio", "threshold_thickness_m", "certified")
        return {n: getattr(self, n).ravel() for n in names}


@dataclass(frozen=True, eq=False)
class Readings(Mapping[str, np.ndarray]):
    """Readings of many parts by gauge: arrays of the shape of what varied, SI, NaN where there is no reading."""

    numbers: dict[str, np.ndarray]
    """Numbers by gauge."""
    units: dict[str, str]
    """SI unit of each gauge; empty for a plain number."""
    waves: dict[str, np.ndarray] = field(repr=False)
    """Waves round the axis in which it happens, 0 round, -1 where there is no reading."""
    notes: dict[int, str] = field(repr=False)
    """Why there is no reading, by place in the flattened arrays."""

    def __getitem__(self, gauge: str) -> np.ndarray:
        return self.numbers[gauge]

    def __iter__(self) -> Iterator[str]:
        return iter(self.numbers)

    def __len__(self) -> int:
        return len(self.numbers)


class _Gauges:
    """Gauges set up on a case, kept with it."""

    def __init__(self, case: Case, kinds: tuple[str, ...]) -> None:
        self.case = case._core
        self.kinds = kinds
        self.core = _core.Gauges(case._core, list(kinds))

    def _arrays(self, vary: Mapping[str, Any]) -> tuple[list[str], list[np.ndarray], tuple[int, ...]]:
        keys = list(vary)
        arrays = []
        for key, given in vary.items():
            unit = None
            if isinstance(given, tuple) and len(given) == 2 and isinstance(given[1], str):
                given, unit = given
            try:
                array = np.asarray(given, dtype=np.float64)
            except (TypeError, ValueError) as e:
                raise QuestionError(
                    f"`{key}`: numbers are wanted, not {given!r:.60}",
                    'an array of SI values, or a pair such as `(array, "mm")`',
                ) from e
            if unit is not None:
                array = _core.si(self.case, key, unit, np.ascontiguousarray(array.ravel())).reshape(array.shape)
            arrays.append(array)
        if len(arrays) == 1:
            shape = arrays[0].shape
        else:
            shapes = {a.shape for a in arrays if a.ndim}
            if len(shapes) > 1:
                told_shapes = ", ".join(f"`{k}` {a.shape}" for k, a in zip(keys, arrays, strict=True) if a.ndim)
                raise QuestionError(
                    f"arrays differ in shape: {told_shapes}",
                    "all arrays are of one shape, or single numbers; numpy.meshgrid makes grids",
                )
            shape = shapes.pop() if shapes else ()
            arrays = [np.broadcast_to(a, shape) for a in arrays]
        return keys, [np.ascontiguousarray(a).ravel() for a in arrays], shape

    def thresholds(self, vary: Mapping[str, Any], threads: int, progress: Any) -> Thresholds:
        keys, arrays, shape = self._arrays(vary)
        with told(progress, "thresholds") as callback:
            ratio, least, certified, notes = self.core.thresholds(keys, arrays, threads, callback)
        return Thresholds(ratio.reshape(shape), least.reshape(shape), certified.reshape(shape), notes)

    def read(self, vary: Mapping[str, Any], threads: int, progress: Any) -> Readings:
        keys, arrays, shape = self._arrays(vary)
        with told(progress, "readings") as callback:
            columns, notes = self.core.read(keys, arrays, threads, callback)
        values = {k: c[0].reshape(shape) for k, c in zip(self.kinds, columns, strict=True)}
        waves = {k: c[1].reshape(shape) for k, c in zip(self.kinds, columns, strict=True)}
        return Readings(values, dict(zip(self.kinds, self.core.units(), strict=True)), waves, notes)


def gauges_of(case: Case, kinds: tuple[str, ...]) -> _Gauges:
    """The gauges of a case, set up once."""
    kept = case._gauges.get(kinds)
    if kept is None:
        kept = case._gauges[kinds] = _Gauges(case, kinds)
    return kept
