"""Times a load path with both its limits, as a researcher would script it today.

The cap of half-angle 45 degrees and h/R = 0.05 (nu = 0.3) stands on a ring that holds the height of
its rim and lets it slide and turn; a force F at the pole pushes it from its natural shape (w = 0)
to w = 2H, H = R (1 - cos alpha).  The force is single-valued in the travel w, so w is stepped and
F is an unknown; its derivative by w comes from the last matrix, predicts the next step and is brought to
zero for the limits (to 1e-6 in w/H).

Under the force the slope behaves like s ln s.  Nodes s = alpha x^5 turn it into x^5 ln x, which polynomials
follow: with 24 nodes the limits are off by 6e-6 of the force (1e-2 and 7e-2 with s = alpha x).

Prints one JSON object a line: task, seconds (best of `repeats` after one to warm up), value (first
limit of F in E h^3/R).  Usage: python bench/scipy/path.py [--quick]
"""

from __future__ import annotations

import json
import os
import sys
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one core, as on the other side

import numpy as np  # noqa: E402
from scipy.linalg.lapack import dgesv  # noqa: E402
from scipy.optimize import brentq  # noqa: E402

from collocation import Grid  # noqa: E402


class Path:
    """Equilibria of one cap, stepped in the travel of the pole."""

    def __init__(self, nu: float, alpha: float, h: float, nodes: int, power: int) -> None:
        self.grid = Grid(nu, np.array(alpha), nodes, power)
        self.h = h
        self.rise = 1.0 - np.cos(alpha)
        self.unit = -2.0 * np.pi / h**2  # f to F R/(E h^3)
        self.solves = 0

    def solve(self, travel: float, y: np.ndarray, f: float, tolerance: float):
        """Equilibrium at `travel` (in R) from a guess: y, f and their derivatives by the travel."""
        size = y.size
        matrix = np.empty((size + 1, size + 1))
        right = np.zeros((size + 1, 2))
        right[size, 1] = -1.0  # travel + height = rise
        for _ in range(12):
            at = self.grid.system(y, self.h, f)
            height, by_y, by_f = self.grid.height(at)
            matrix[:size, :size], matrix[:size, size] = at.jac, at.by_f
            matrix[size, :size], matrix[size, size] = by_y, by_f
            right[:size, 0], right[size, 0] = at.res, height + travel - self.rise
            _, _, step, info = dgesv(matrix, right)
            self.solves += 1
            if info:
                break
            y, f = y - step[:size, 0], f - step[size, 0]
            # The error left is about the square of the last step.
            if np.abs(step[:size, 0]).max() < tolerance:
                return y, f, step[:size, 1], step[size, 1]
        raise ArithmeticError(f"no equilibrium at travel {travel}")

    def trace(self, last: float, steps: int, tolerance: float):
        """Travels, forces, derivatives of the force, from the natural shape to `last`; and the states."""
        travels = np.linspace(0.0, last, steps + 1)
        y, f, dy, df = self.solve(0.0, self.grid.natural(), 0.0, tolerance)
        states = [(y, f, dy, df)]
        for before, travel in zip(travels[:-1], travels[1:]):
            by = travel - before
            guess_y, guess_f = y + by * dy, f + by * df
            if len(states) > 1:  # second order, from the last two tangents
                _, _, old_y, old_f = states[-2]
                guess_y, guess_f = guess_y + 0.5 * by * (dy - old_y), guess_f + 0.5 * by * (df - old_f)
            y, f, dy, df = self.solve(travel, guess_y, guess_f, tolerance)
            states.append((y, f, dy, df))
        return travels, states

    def limits(self, travels, states, tolerance: float):
        """Travels (in H) and forces (in E h^3/R) where the force has no slope."""
        found = []
        for k in range(len(states) - 1):
            if states[k][3] * states[k + 1][3] >= 0.0:
                continue
            nearest = [travels[k], *states[k]]

            def slope(travel: float) -> float:
                by = travel - nearest[0]
                state = self.solve(travel, nearest[1] + by * nearest[3], nearest[2] + by * nearest[4], 1e-7)
                nearest[:] = travel, *state
                return state[3]

            at = brentq(slope, travels[k], travels[k + 1], xtol=tolerance * self.rise)
            slope(at)
            found.append((at / self.rise, self.unit * nearest[2]))
        return found


def load_path(nodes: int = 24, power: int = 5, steps: int = 40):
    """Both limits, and the path as (w/H, F R/(E h^3))."""
    path = Path(nu=0.3, alpha=np.radians(45.0), h=0.05, nodes=nodes, power=power)
    travels, states = path.trace(2.0 * path.rise, steps, 1e-5)
    limits = path.limits(travels, states, 1e-6)
    return limits, travels / path.rise, path.unit * np.array([state[1] for state in states]), path.solves


def main(quick: bool) -> None:
    repeats = 3 if quick else 11
    load_path()
    seconds = []
    for _ in range(repeats):
        start = time.perf_counter()
        limits, _, _, solves = load_path()
        seconds.append(time.perf_counter() - start)
    print(
        json.dumps(
            {
                "task": "load path alpha=45 h/R=0.05",
                "seconds": min(seconds),
                "value": limits[0][1],
                "unit": "E h^3/R",
                "repeats": repeats,
                "limits": limits,
                "solves": solves,
            }
        ),
        flush=True,
    )


if __name__ == "__main__":
    main("--quick" in sys.argv[1:])
