"""Checks the script against known answers, so that the race is run against a right answer.

Values: inverted free cap, recomputed from the equations in cap.py by Chebyshev collocation and by
finite elements (all printed digits agree); the axisymmetric threshold likewise.  Load path: both limits
and one point, recomputed from the stated equations by collocation.
Usage: python bench/scipy/check.py      exits with 1 and says which line failed.
"""

from __future__ import annotations

import sys

import numpy as np

from cap import Cap, threshold
from collocation import Grid
from map import at_angle, stay_map
from path import load_path

ENERGIES = [  # nu, alpha in degrees, h/R, stretching, bending (E R^3), half-unit of the last digit relative
    (0.3, 20.0, 0.005, 1.43986675e-9, 1.60431315e-8, 4e-9),
    (0.3, 60.0, 0.05, 1.17564396e-5, 1.34751681e-4, 4e-9),
]
SHAPES = [  # at nu=0.3, alpha=20, h/R=0.005
    ("rim_slope", -0.18316118, 6e-9),
    ("lip", 0.0800752, 6e-8),
]
THRESHOLDS = [  # nu, alpha in degrees, low, high, h*/R
    (0.3, 10.0, 0.001, 0.006, 0.0033405167),
    (0.3, 30.0, 0.01, 0.06, 0.0302452767),
    (0.3, 60.0, 0.05, 0.2, 0.1234799073),
    (0.3, 90.0, 0.1, 0.4, 0.2876062794),
    (0.5, 20.0, 0.005, 0.02, 0.0111177441),
    (0.5, 60.0, 0.05, 0.2, 0.1024963333),
]
LIMITS = [(0.78943, 2.358584), (1.56764, -1.237827)]  # w/H, F R/(E h^3): nu=0.3, alpha=45, h/R=0.05, on a ring
HALFWAY = 2.135683  # the force at w/H = 0.5
failures = 0


def check(what: str, computed: float, known: float, within: float) -> None:
    """Relative comparison, printed whether it passes or not."""
    global failures
    difference = abs(computed / known - 1.0)
    passed = difference <= within
    failures += not passed
    print(f"{'ok  ' if passed else 'FAIL'} {what}: {computed:.10g}, known {known:.10g}, off {difference:.1e}")


def check_jacobian() -> None:
    cap = Cap(nu=0.3, alpha=np.radians(60.0), h=0.05)
    s = np.linspace(0.0, cap.alpha, 7)
    y = 0.3 * np.random.default_rng(1).normal(size=(4, s.size))
    y[2] -= 2.0
    exact = cap.jacobian(s, y)
    worst = 0.0
    for k in range(4):
        step = np.zeros((4, 1))
        step[k] = 1e-6
        difference = (cap.rhs(s, y + step) - cap.rhs(s, y - step)) / 2e-6
        worst = max(worst, np.abs(difference - exact[:, k]).max() / np.abs(exact[:, k]).max())
    check("1 + error of the Jacobian against differences", 1.0 + worst, 1.0, 2e-6)


def check_collocation() -> None:
    grid = Grid(0.3, np.radians(60.0), 12, power=3)
    y = 0.3 * np.random.default_rng(1).normal(size=23)
    h, f, step = 0.05, 0.1, 1e-6
    at = grid.system(y, h, f)
    _, height_y, height_f = grid.height(at)
    exact = np.vstack([np.column_stack([at.jac, at.by_f]), np.append(height_y, height_f)])

    def both(z: np.ndarray) -> np.ndarray:
        point = grid.system(z[:-1], h, z[-1])
        return np.append(point.res, grid.height(point)[0])

    z = np.append(y, f)
    difference = np.column_stack([(both(z + d) - both(z - d)) / (2 * step) for d in step * np.eye(z.size)])
    worst = (np.abs(difference - exact).max(axis=1) / np.abs(exact).max(axis=1)).max()
    check("1 + error of the collocation's Jacobian against differences", 1.0 + worst, 1.0, 2e-6)


def check_path() -> None:
    limits, travels, forces, _ = load_path()
    check("1 + limits found - 2", len(limits) - 1.0, 1.0, 1e-9)
    for (travel, force), (known_travel, known_force) in zip(limits, LIMITS):
        check("travel of a limit, alpha=45 h/R=0.05", travel, known_travel, 1e-3)
        check("force of a limit, alpha=45 h/R=0.05", force, known_force, 1e-3)
    halfway = int(np.argmin(np.abs(travels - 0.5)))
    check("travel of the path's point nearest 0.5", travels[halfway], 0.5, 1e-9)
    check("force at w/H=0.5, alpha=45 h/R=0.05", forces[halfway], HALFWAY, 1e-3)


def check_map() -> None:
    alpha, _, _, found = stay_map()
    for nu, degrees, _, _, known in THRESHOLDS:
        if nu == 0.3:
            check(f"threshold h/R of the map, alpha={degrees:g}", at_angle(alpha, found, degrees), known, 1e-3)


def check_beyond() -> None:
    """Far beyond its threshold nothing may be called inverted, whatever the solver returns."""
    cap = Cap(nu=0.3, alpha=np.radians(10.0), h=0.006)
    solution = cap.solve(1e-6, max_nodes=600)
    inverted = cap.is_inverted(solution)
    check("1 + (a cap far beyond its threshold is called inverted)", 1.0 + inverted, 1.0, 0.5)


def main() -> int:
    check_jacobian()
    check_collocation()
    check_beyond()
    check_path()
    check_map()
    for nu, degrees, h, stretching, bending, within in ENERGIES:
        cap = Cap(nu=nu, alpha=np.radians(degrees), h=h)
        solution = cap.solve(1e-9)
        if not cap.is_inverted(solution):
            print(f"FAIL no inverted state at alpha={degrees}, h/R={h}")
            return 1
        found = cap.measures(solution)
        label = f"nu={nu} alpha={degrees:g} h/R={h}"
        check(f"stretching energy, {label}", found["stretching"], stretching, within)
        check(f"bending energy, {label}", found["bending"], bending, within)
        if degrees == 20.0:
            for name, known, slack in SHAPES:
                check(f"{name}, {label}", found[name], known, slack / abs(known))
    for nu, degrees, low, high, known in THRESHOLDS:
        value, _, _ = threshold(nu, np.radians(degrees), low, high, 1e-6, 1e-6)
        # Bisection stops at 1e-6; "does it converge" overshoots by the solver's own tolerance.
        check(f"threshold h/R, nu={nu} alpha={degrees:g}", value, known, 2e-6)
    print("all passed" if failures == 0 else f"{failures} failed")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
