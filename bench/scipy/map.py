"""Times a map of 40 half-angles by 40 thicknesses: which free caps stay turned inside out.

Half-angles 5 to 90 degrees; thicknesses, evenly spaced in their logarithm, from 0.5 to 2 times the
shallow-shell threshold (nu = 0.3).  All columns are stepped together from thin to thick, each cap from
the one before; a column ends where Newton's method fails or leaves the inverted branch, and thicker caps
in it are taken to return without being tried.  Between the last cap that stays and the first that does
not, the threshold is bisected to 1e-4.

Prints one JSON object a line: task, seconds (best of `repeats` after one to warm up), value (threshold
h/R at 30 degrees, interpolated from the columns).  Usage: python bench/scipy/map.py [--quick]
"""

from __future__ import annotations

import json
import os
import sys
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one core, as on the other side

import numpy as np  # noqa: E402
from scipy.interpolate import CubicSpline  # noqa: E402

from collocation import Grid  # noqa: E402

NU = 0.3
SHALLOW = 5.4914656502  # lambda* at nu = 0.3, the limit of small half-angles (docs/verification.md)


def settle(grid: Grid, y: np.ndarray, h: np.ndarray, tolerance: float, most: int):
    """Newton for a batch without force: states, and which of them are converged and inverted."""
    y = y.copy()
    good = np.zeros(len(y), bool)
    left, part = np.arange(len(y)), grid
    for _ in range(most):
        at = part.system(y[left], h[left], 0.0)
        step = np.linalg.solve(at.jac, at.res[..., None])[..., 0]
        y[left] -= step
        size = np.abs(step).max(axis=-1)
        done = size < tolerance
        good[left[done]] = True
        again = ~done & (size < 1.0)  # a step of a radian leads elsewhere
        if not again.any():
            break
        if not again.all():
            left = left[again]
            part = grid[left]
    slope = y[:, grid.count - 1 :]
    good &= (slope[:, -1] < 0.0) & (np.abs(slope).max(axis=-1) < np.pi)
    return y, good


def stay_map(
    columns: int = 40,
    rows: int = 40,
    nodes: int = 14,
    relative: float = 1e-4,
    tolerance: float = 1e-5,
    most: int = 8,
):
    """Half-angles, thicknesses [column, row], which stay, and the threshold of each column."""
    alpha = np.linspace(np.radians(5.0), np.radians(90.0), columns)
    shallow = np.sqrt(12.0 * (1.0 - NU**2)) * (alpha / SHALLOW) ** 2
    h = shallow[:, None] * np.geomspace(0.5, 2.0, rows)
    grid = Grid(NU, alpha, nodes)
    y = -grid.natural()
    stays = np.zeros((columns, rows), bool)
    inside, part = np.arange(columns), grid
    before = y
    for row in range(rows):
        guess = y[inside] if row < 2 else 2.0 * y[inside] - before[inside]
        found, good = settle(part, guess, h[inside, row], tolerance, most)
        if not good.all():
            inside, found = inside[good], found[good]
            if not inside.size:
                break
            part = grid[inside]
        before = y.copy()
        y[inside] = found
        stays[inside, row] = True
    rows_held = stays.sum(axis=1)
    low = h[np.arange(columns), rows_held - 1]
    high = h[np.arange(columns), np.minimum(rows_held, rows - 1)]
    while np.any(high - low > relative * low):
        middle = 0.5 * (low + high)
        found, good = settle(grid, y, middle, tolerance, most)
        y[good], low[good], high[~good] = found[good], middle[good], middle[~good]
    return alpha, h, stays, 0.5 * (low + high)


def at_angle(alpha: np.ndarray, threshold: np.ndarray, degrees: float) -> float:
    """Threshold between the columns: h*/alpha^2 is smooth."""
    return float(CubicSpline(alpha, threshold / alpha**2)(np.radians(degrees)) * np.radians(degrees) ** 2)


def main(quick: bool) -> None:
    repeats = 1 if quick else 5
    if not quick:
        stay_map()
    seconds = []
    for _ in range(repeats):
        start = time.perf_counter()
        alpha, _, stays, threshold = stay_map()
        seconds.append(time.perf_counter() - start)
    print(
        json.dumps(
            {
                "task": "map 40x40",
                "seconds": min(seconds),
                "value": at_angle(alpha, threshold, 30.0),
                "unit": "h/R",
                "repeats": repeats,
                "stay": int(stays.sum()),
            }
        ),
        flush=True,
    )


if __name__ == "__main__":
    main("--quick" in sys.argv[1:])
