"""Checks the script against known answers, so that the race is run against a right answer.

Values: inverted free cap, recomputed from the equations in cap.py by Chebyshev collocation and by
finite elements (all printed digits agree); the axisymmetric threshold likewise.  Load path: both limits
and one point, recomputed from the stated equations by collocation.  Half-way times of release.py and waits of wait.py,
four or more digits printed, recomputed from the stated equations by other programs.
Usage: python bench/scipy/check.py      exits with 1 and says which line failed.
"""

from __future__ import annotations

import sys

import numpy as np

from cap import Cap, threshold
from collocation import Grid
from map import at_angle, stay_map
from path import load_path
from release import Elements, Motion, equilibrium, fold, graded_mesh
from wait import Creeping, wait
from wait import threshold as end_of_equilibria

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
# delta, half-way time, the solver's rtol (errors below a tenth of the printed unit): nu=0.3, alpha=45
MOTIONS = [(0.001, 28.6398, 1e-6), (0.01, 14.5888, 1e-5), (0.05, 8.4155, 1e-5)]
WAITS = [(0.01, 0.5, 7.717), (0.01, 5.0, 9.192), (0.05, 0.5, 1.948), (0.05, 5.0, 3.568)]  # nu=0.5, alpha=45, g=0.2
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


def worst_difference(exact: np.ndarray, function, y: np.ndarray, step: float = 1e-6) -> float:
    """Of a Jacobian from central differences, each row against its own largest entry."""
    columns = [(function(y + d) - function(y - d)) / (2.0 * step) for d in step * np.eye(y.size)]
    size = np.maximum(np.abs(exact).max(axis=1), 1e-6 * np.abs(exact).max())
    return float((np.abs(np.column_stack(columns) - exact).max(axis=1) / size).max())


def check_motion() -> None:
    random = np.random.default_rng(1)
    alpha = np.radians(45.0)
    elements = Elements(0.3, alpha, graded_mesh(alpha, 0.068, 0))
    q = elements.shape_of(-1.0) * (1.0 + 0.01 * random.normal(size=elements.n))
    energy = worst_difference(elements.force(q, 0.005)[None, :], lambda v: np.array([elements.energy(v, 0.005)]), q)
    check("1 + error of the elements' force against differences", 1.0 + energy, 1.0, 2e-6)
    for memory in (None, (0.2, 1.0)):
        motion = Motion(elements, 0.07, memory)
        y = motion.start(q, 0.5) * (1.0 + 0.01 * random.normal(size=motion.size))
        worst = worst_difference(motion.jacobian(0.0, y), lambda v: motion.rhs(0.0, v), y)
        check(f"1 + error of the motion's Jacobian, memory {memory}", 1.0 + worst, 1.0, 2e-6)

    elements = Elements(0.3, alpha, graded_mesh(alpha, 0.068, 1))
    h_c, shape = fold(elements, 0.063)
    known = end_of_equilibria(Creeping(0.3, alpha, 24), 0.06, 1e-9)
    check("fold of the elements against collocation", h_c, known, 1e-9)
    for delta, known, rtol in MOTIONS:
        motion = Motion(elements, h_c * (1.0 + delta))
        found = motion.march(motion.start(shape, 0.0), 100.0, "Radau", "exact", rtol, 1e-2 * rtol)
        check(f"half-way time, delta={delta:g}", found.t_events[0][0], known, 0.5e-4 / known)
        check("1 + change of the energy balance", 1.0 + motion.balance(found), 1.0, 1e-6)


def check_memory_in_motion() -> None:
    """Held at rest until relaxed, a memory leaves the share 1 - g of every modulus: same shape, no motion."""
    alpha = np.radians(45.0)
    elements = Elements(0.3, alpha, graded_mesh(alpha, 0.068, 0))
    shape = equilibrium(elements, elements.shape_of(-1.0), 0.06**2)
    motion = Motion(elements, 0.06, (0.2, 1.0))
    rate = motion.rhs(0.0, motion.start(shape, 50.0))
    check("1 + acceleration of a relaxed equilibrium", 1.0 + np.abs(rate[: 2 * motion.n]).max(), 1.0, 1e-6)
    # A cap in motion with a memory: kinetic, kept and lost energy add up.
    motion = Motion(elements, 0.08, (0.2, 1.0))
    found = motion.march(motion.start(shape, 0.5), 100.0, "Radau", "exact", 1e-5, 1e-7, dense=True)
    check("1 + change of the energy balance with a memory", 1.0 + motion.balance(found), 1.0, 1e-5)


def check_wait() -> None:
    random = np.random.default_rng(1)
    cap = Creeping(0.3, 1.0, 12)
    y, x = 0.3 * random.normal(size=cap.size), 0.1 * random.normal(size=(4, 12))
    at, h = cap.parts(y, x), 0.1
    worst = worst_difference(cap.by_state(at, h), lambda v: cap.residual(cap.parts(v, x), h), y)
    rate = random.normal(size=x.shape)
    by_shift = worst_difference(
        cap.by_shift(at, h, rate)[:, None], lambda v: cap.residual(cap.parts(y, x + v[0] * rate), h), np.zeros(1)
    )
    by_h = worst_difference(cap.by_thickness(at, h)[:, None], lambda v: cap.residual(at, h + v[0]), np.zeros(1))
    check("1 + error of the creep's derivatives against differences", 1.0 + max(worst, by_shift, by_h), 1.0, 2e-6)
    cap = Creeping(0.5, np.radians(60.0), 24)
    check("threshold h/R by arclength, nu=0.5 alpha=60", end_of_equilibria(cap, 0.095, 1e-9), 0.1024963333, 1e-9)
    cap = Creeping(0.5, np.radians(45.0), 20)
    h_c = end_of_equilibria(cap, 0.052, 1e-9)
    for delta, hold, known in WAITS:
        found = wait(cap, h_c * (1.0 + delta), 0.2, hold, 1e-8)
        check(f"wait, delta={delta:g} hold={hold:g}", found, known, 0.5e-3 / known)


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
    check_motion()
    check_memory_in_motion()
    check_wait()
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
