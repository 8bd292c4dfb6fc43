"""Times the wait of an inverted cap with a memory, as a researcher would script it.

The free spherical cap of collocation.py, its strains those of cap.py, without inertia.  A share g of all
moduli relaxes in the time tau (one term; Poisson's ratio constant), so the stresses are those of the strains
e - g a with a' = (e - a)/tau.  The cap, natural and relaxed, is turned at once into its exact mirror
image, held there for `hold`, and let go.  It then creeps through equilibria until there is none left: a
fold, at the time sought.  Thickness h = h_c (1 + delta), h_c the fold of the inverted equilibria without a memory.

Equilibria y = (p without the rim, phi) are those of collocation.py without a force.  With what bears no stress,
x = g a, and n = p cos phi/r0,

    et = p' - nu n + xt,   es = n - nu p' + xs,   ms = ks - xks + nu (kt - xkt),   mt likewise
    (r0 et)' - (1 + es) cos phi + cos s = 0
    eps [(r0 ms)' - mt cos phi] - (1 + es) p sin phi = 0

The creep is a differential equation on the manifold G(y, a) = 0 that cannot be stepped in time through the fold.
So it is stepped in the arclength of (y, t): with a' known, G_y dy + G_a a' dt = 0 has one direction, and
the fold is where its dt passes through zero.  The threshold h_c is found in the same way, h in place of t.

Prints one JSON object a line: task, seconds (threshold and creep, best of `repeats` after one to warm up), value (the
wait over tau).
Usage: python bench/scipy/wait.py [--quick] [--delta 0.01 ...] [--hold 0.5 ...] [--g 0.2] [--degrees 45] [--nu 0.5]
           [--nodes 20] [--rtol 1e-8]
"""

from __future__ import annotations

import argparse
import json
import os
import time
from types import SimpleNamespace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one core, as on the other side

import numpy as np  # noqa: E402
from scipy.integrate import solve_ivp  # noqa: E402
from scipy.linalg.lapack import dgesv  # noqa: E402

from collocation import odd_chebyshev  # noqa: E402


class Creeping:
    """Equilibria of the cap on `count` nodes s = alpha x, under strains x that bear no stress."""

    def __init__(self, nu: float, alpha: float, count: int) -> None:
        self.nu, self.count = nu, count
        x, d = odd_chebyshev(count)
        self.s, self.d = alpha * x, d / alpha
        self.r0, self.c0 = np.sin(self.s), np.cos(self.s)
        self.drd = (self.d * self.r0) @ self.d
        self.size = 2 * count - 1

    def mirror(self) -> np.ndarray:
        return np.concatenate([np.zeros(self.count - 1), -self.s])

    def parts(self, y: np.ndarray, x: np.ndarray) -> SimpleNamespace:
        nu, d, r0, m = self.nu, self.d, self.r0, self.count
        p = np.concatenate([[0.0], y[: m - 1]])
        phi = y[m - 1 :]
        sin, cos = np.sin(phi), np.cos(phi)
        hoop, bend = d @ p, d @ phi - 1.0
        pull = p * cos
        kt = sin / r0 - 1.0
        strain = np.stack([pull / r0 - nu * hoop + x[0], hoop - nu * pull / r0 + x[1], bend, kt])
        ms, mt = bend - x[2] + nu * (kt - x[3]), kt - x[3] + nu * (bend - x[2])
        return SimpleNamespace(p=p, sin=sin, cos=cos, pull=pull, strain=strain, ms=ms, mt=mt, lam=1.0 + strain[0])

    def residual(self, at: SimpleNamespace, h: float) -> np.ndarray:
        m = self.count
        eps = h * h / (12.0 * (1.0 - self.nu**2))
        slopes = self.d @ np.stack([self.r0 * at.strain[1], self.r0 * at.ms], axis=1)
        out = np.empty(self.size)
        out[: m - 1] = (slopes[:, 0] - at.lam * at.cos + self.c0)[1:]
        out[m - 1 :] = eps * (slopes[:, 1] - at.mt * at.cos) - at.lam * at.p * at.sin
        out[m - 1] = at.ms[0]
        return out

    def by_state(self, at: SimpleNamespace, h: float) -> np.ndarray:
        """Derivative of the residual by y."""
        nu, d, r0, m = self.nu, self.d, self.r0, self.count
        eps = h * h / (12.0 * (1.0 - nu**2))
        sin, cos, lam = at.sin, at.cos, at.lam
        arm = -at.p * sin  # derivative of pull by phi
        turn = nu * d * (cos[:, None] - cos)
        diag = np.diag
        radius_p = self.drd + turn - diag(cos * cos / r0)
        radius_phi = -nu * d * arm + diag(lam * sin - cos * arm / r0)
        moment_p = -nu * arm[:, None] * d + diag(arm * cos / r0 - lam * sin)
        moment_phi = eps * (self.drd - turn)
        moment_phi += diag(eps * (at.mt * sin - cos * cos / r0) + arm * arm / r0 - lam * at.pull)
        out = np.empty((self.size, self.size))
        out[: m - 1, : m - 1], out[: m - 1, m - 1 :] = radius_p[1:, 1:], radius_phi[1:]
        out[m - 1 :, : m - 1], out[m - 1 :, m - 1 :] = moment_p[:, 1:], moment_phi
        out[m - 1, : m - 1], out[m - 1, m - 1 :] = 0.0, d[0]
        out[m - 1, m - 1] += nu * cos[0] / r0[0]
        return out

    def by_shift(self, at: SimpleNamespace, h: float, rate: np.ndarray) -> np.ndarray:
        """Derivative of the residual along a change `rate` of x."""
        nu, m = self.nu, self.count
        eps = h * h / (12.0 * (1.0 - nu**2))
        bend, hoop = rate[2] + nu * rate[3], rate[3] + nu * rate[2]
        out = np.empty(self.size)
        out[: m - 1] = (self.d @ (self.r0 * rate[1]) - rate[0] * at.cos)[1:]
        out[m - 1 :] = eps * (hoop * at.cos - self.d @ (self.r0 * bend)) - rate[0] * at.p * at.sin
        out[m - 1] = -bend[0]
        return out

    def by_thickness(self, at: SimpleNamespace, h: float) -> np.ndarray:
        m = self.count
        out = np.zeros(self.size)
        slope = self.d @ (self.r0 * at.ms)
        out[m - 1 :] = h / (6.0 * (1.0 - self.nu**2)) * (slope - at.mt * at.cos)
        out[m - 1] = 0.0
        return out

    def equilibrium(self, y: np.ndarray, h: float, x: np.ndarray) -> np.ndarray:
        """Newton's method, its steps shortened while the residual would grow."""
        at = self.parts(y, x)
        res = self.residual(at, h)
        for _ in range(60):
            step = np.linalg.solve(self.by_state(at, h), res)
            share = min(1.0, 0.3 / np.abs(step).max())
            y = y - share * step
            at = self.parts(y, x)
            res = self.residual(at, h)
            if np.abs(step).max() < 1e-11:
                return y
        raise ArithmeticError("no equilibrium")

    def direction(self, jac: np.ndarray, column: np.ndarray, near: np.ndarray) -> np.ndarray:
        """The unit vector u with jac u[:-1] + column u[-1] = 0 that points along `near`."""
        big = np.empty((self.size + 1, self.size + 1))
        big[:-1, :-1], big[:-1, -1], big[-1] = jac, column, near
        right = np.zeros(self.size + 1)
        right[-1] = 1.0
        u = dgesv(big, right)[2]
        return u / np.sqrt(u @ u)


def along(cap: Creeping, slope, z0: np.ndarray, first: np.ndarray, rtol: float, length: float) -> np.ndarray:
    """Steps z' = slope(z, near) from z0 until the part of the direction along the parameter passes zero."""
    n = cap.size
    near = [first]  # the way the path went when last asked, so that it never turns back

    def rhs(_s, z):
        u, rate = slope(z, near[0])
        near[0] = u
        return np.concatenate([u, rate])

    def turn(_s, z):
        return slope(z, near[0])[0][n]

    turn.terminal, turn.direction = True, -1.0
    found = solve_ivp(rhs, (0.0, length), z0, method="DOP853", rtol=rtol, atol=1e-2 * rtol, events=turn)
    if not found.t_events[0].size:
        raise ArithmeticError("no fold")
    return found.y_events[0][0]


def threshold(cap: Creeping, start: float, rtol: float) -> float:
    """Thickness at which the inverted equilibria of the elastic cap end."""
    none = np.zeros((4, cap.count))
    y = cap.equilibrium(cap.mirror(), start, none)

    def slope(z, near):
        at = cap.parts(z[:-1], none)
        return cap.direction(cap.by_state(at, z[-1]), cap.by_thickness(at, z[-1]), near), np.empty(0)

    first = np.zeros(cap.size + 1)
    first[-1] = 1.0
    at = cap.parts(y, none)
    first = cap.direction(cap.by_state(at, start), cap.by_thickness(at, start), first)
    return float(along(cap, slope, np.append(y, start), first, rtol, 50.0)[-1])


def wait(cap: Creeping, h: float, g: float, hold: float, rtol: float) -> float:
    """Time (in tau) from letting go to the fold; fails when there is no equilibrium to begin with."""
    n, shape = cap.size, (4, cap.count)
    mirror = cap.mirror()
    held = cap.parts(mirror, np.zeros(shape)).strain
    x = g * -np.expm1(-hold) * held
    y = cap.equilibrium(mirror, h, x)

    def slope(z, near):
        x = z[n + 1 :].reshape(shape)
        at = cap.parts(z[:n], x)
        rate = g * at.strain - x
        u = cap.direction(cap.by_state(at, h), cap.by_shift(at, h, rate), near)
        return u, rate.ravel() * u[n]

    z0 = np.concatenate([y, [0.0], x.ravel()])
    first = np.zeros(n + 1)
    first[n] = 1.0
    first = slope(z0, first)[0]
    return float(along(cap, slope, z0, first, rtol, 200.0)[n])


def run(o) -> SimpleNamespace:
    started = time.perf_counter()
    alpha = np.radians(o.degrees)
    cap = Creeping(o.nu, alpha, o.nodes)
    expected = np.sqrt(12.0 * (1.0 - o.nu**2)) * (alpha / (5.087 + 1.31 * o.nu)) ** 2
    h_c = threshold(cap, 0.9 * expected, o.rtol)
    found = wait(cap, h_c * (1.0 + o.delta), o.g, o.hold, o.rtol)
    return SimpleNamespace(seconds=time.perf_counter() - started, h_c=h_c, wait=found)


def main() -> None:
    p = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    p.add_argument("--quick", action="store_true", help="repeat less")
    p.add_argument("--delta", type=float, nargs="+", default=[0.01, 0.05])
    p.add_argument("--hold", type=float, nargs="+", default=[0.5, 5.0])
    p.add_argument("--g", type=float, default=0.2)
    p.add_argument("--degrees", type=float, default=45.0)
    p.add_argument("--nu", type=float, default=0.5)
    p.add_argument("--nodes", type=int, default=20)
    p.add_argument("--rtol", type=float, default=1e-8)
    o = p.parse_args()
    repeats = 1 if o.quick else 5
    for delta in o.delta:
        for hold in o.hold:
            case = SimpleNamespace(**{**vars(o), "delta": delta, "hold": hold})
            runs = [run(case) for _ in range(repeats + (repeats > 1))]
            best = min(runs[1:] or runs, key=lambda r: r.seconds)
            print(
                json.dumps(
                    {
                        "task": f"wait nu={o.nu:g} alpha={o.degrees:g} g={o.g:g} delta={delta:g} hold={hold:g}",
                        "seconds": best.seconds,
                        "value": best.wait,
                        "unit": "tau",
                        "repeats": repeats,
                        "h_c": best.h_c,
                    }
                ),
                flush=True,
            )


if __name__ == "__main__":
    main()
