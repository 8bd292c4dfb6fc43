"""Records: typed pieces of answers with numpy arrays, read from the JSON of an answer."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterator
from typing import Any, ClassVar, TypeVar

import numpy as np

T = TypeVar("T", bound="Record")


def array(values: list[Any]) -> np.ndarray:
    """An array of numbers: int64 where all are whole, float64 otherwise, NaN for what is missing."""
    if values and all(type(v) is int for v in values):
        return np.array(values, dtype=np.int64)
    return np.array([np.nan if v is None else v for v in values], dtype=np.float64)


def flags(values: list[bool]) -> np.ndarray:
    """An array of flags."""
    return np.array(values, dtype=np.bool_)


def matrix(rows: list[list[Any]]) -> np.ndarray | list[np.ndarray]:
    """Rows as an array of two dimensions, or a list of arrays where their lengths differ."""
    arrays = [array(r) for r in rows]
    if len({len(a) for a in arrays}) == 1:
        return np.stack(arrays)
    return arrays


class Record:
    """A typed piece of an answer. Names of fields carry their units (``_m``, ``_Pa``, ``_rad``); SI throughout."""

    __slots__ = ("_data",)
    _data: dict[str, Any]
    _fields: ClassVar[dict[str, tuple[str, Callable[[Any], Any] | None]]] = {}

    @classmethod
    def _read(cls: type[T], data: dict[str, Any]) -> T:
        out = cls.__new__(cls)
        object.__setattr__(out, "_data", data)
        for key, value in data.items():
            field = cls._fields.get(key)
            if field is None:
                raise TypeError(f"{cls.__name__} has no field {key}: the package and its compiled half differ")
            name, convert = field
            object.__setattr__(out, name, value if value is None or convert is None else convert(value))
        for name, _ in cls._fields.values():
            if not hasattr(out, name):
                object.__setattr__(out, name, None)
        return out

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError("answers are not changed")

    def to_dict(self) -> dict[str, Any]:
        """The same as plain dictionaries and lists, as the JSON has them."""
        return self._data

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and self._data == other._data

    __hash__ = None  # type: ignore[assignment]

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self)._read, (self._data,))

    def _items(self) -> Iterator[tuple[str, Any]]:
        for name, _ in self._fields.values():
            yield name, getattr(self, name)

    def __repr__(self) -> str:
        parts = [f"{name}={brief(value)}" for name, value in self._items()]
        line = f"{type(self).__name__}({', '.join(parts)})"
        if len(line) <= 100:
            return line
        return f"{type(self).__name__}(\n  " + ",\n  ".join(parts) + ",\n)"

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><th style='text-align:left'>{html.escape(name)}</th>"
            f"<td style='text-align:left'>{html.escape(brief(value))}</td></tr>"
            for name, value in self._items()
        )
        return f"<table><caption>{type(self).__name__}</caption>{rows}</table>"


def brief(value: Any) -> str:
    """A value in one short line."""
    if isinstance(value, np.ndarray):
        if value.size <= 4:
            return f"array({value.tolist()})"
        return f"array({value.dtype}, {' × '.join(map(str, value.shape))}, {value.flat[0]:.6g} … {value.flat[-1]:.6g})"
    if isinstance(value, Record):
        return f"{type(value).__name__}(…)"
    if isinstance(value, list):
        if value and isinstance(value[0], (Record, np.ndarray)):
            return f"[{len(value)} × {type(value[0]).__name__}]"
        text = repr(value)
        return text if len(text) <= 80 else f"[{len(value)} items]"
    if isinstance(value, float):
        return f"{value:.10g}"
    text = repr(value)
    return text if len(text) <= 80 else text[:77] + "…'"


def summary(record: Record, prefix: str = "") -> dict[str, Any]:
    """The single numbers, words and flags of a record and of the records in it, names joined by points."""
    out: dict[str, Any] = {}
    for name, value in record._items():
        if isinstance(value, Record):
            out.update(summary(value, f"{prefix}{name}."))
        elif value is None or isinstance(value, (bool, int, float, str)):
            out[prefix + name] = value
    return out
