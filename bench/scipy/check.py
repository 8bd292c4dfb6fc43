"""Checks the script against known answers, so that the race is run against a right answer.

Values: inverted free cap, recomputed from the equations in cap.py by Chebyshev collocation and by
finite elements (all printed digits agree); the axisymmetric threshold likewise.
Usage: python bench/scipy/check.py      exits with 1 and says which line failed.
"""

from __future__ import annotations

import sys

import numpy as np

from cap import Cap, threshold

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


def check_beyond() -> None:
    """Far beyond its threshold nothing may be called inverted, whatever the solver returns."""
    cap = Cap(nu=0.3, alpha=np.radians(10.0), h=0.006)
    solution = cap.solve(1e-6, max_nodes=600)
    inverted = cap.is_inverted(solution)
    check("1 + (a cap far beyond its threshold is called inverted)", 1.0 + inverted, 1.0, 0.5)


def main() -> int:
    check_jacobian()
    check_beyond()
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
