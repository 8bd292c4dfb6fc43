"""Progress: a callback, a bar of tqdm where it is installed, or none."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

Callback = Callable[["float | None", str], object]
"""Told ``(share done from 0 to 1 or None where the end is not known, what is being done)``."""


def _tqdm() -> Any | None:
    try:
        from tqdm.auto import tqdm
    except ImportError:
        return None
    return tqdm


@contextmanager
def told(progress: bool | Callback | None, what: str) -> Iterator[Callback | None]:
    """The callback meant by ``progress``: a callable itself; ``True`` a bar of tqdm, where it is installed; ``None`` or ``False`` none."""
    if progress is None or progress is False:
        yield None
        return
    if progress is not True:
        if not callable(progress):
            raise TypeError(f"progress is a callable or True, not {type(progress).__name__}")
        yield progress
        return
    tqdm = _tqdm()
    if tqdm is None:
        yield None
        return
    with tqdm(total=100, desc=what, unit="%", bar_format="{desc}: {percentage:3.0f}% |{bar}| {elapsed}{postfix}") as bar:

        def tell(share: float | None, words: str) -> None:
            if words and words != what:
                bar.set_postfix_str(words, refresh=False)
            if share is not None:
                bar.update(100 * share - bar.n)

        yield tell
