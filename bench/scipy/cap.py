"""The free spherical cap, turned inside out, as a boundary-value problem for scipy's solve_bvp.

Sphere radius R = 1, Young's modulus E = 1.  The energy per unit natural area is

    W = C/2 (es^2 + 2 nu es et + et^2) + D/2 (ks^2 + 2 nu ks kt + kt^2)
    es = lam - 1,  et = r/r0 - 1,  ks = phi' - phi0',  kt = (sin phi - sin phi0)/r0

with r' = lam cos phi and z' = lam sin phi.  Joining the two constraints to W r0 by multipliers P
(radial) and Q (axial) and asking the sum to be stationary gives

    r0 Ns = P cos phi + Q sin phi            from lam
    P'    = Ntheta                           from r
    Q'    = 0                                from z, so Q = 0: nothing pulls at the rim
    (r0 Ms)' = Mtheta cos phi + P lam sin phi - Q lam cos phi    from phi

and P = Ms = 0 at a free rim.  Everything vanishes like s at the pole, so the unknowns are the
ratios  e = et,  p = P/(C r0),  q = phi/s - 1,  m = Ms/D,  which are even in s; the 1/s part of the
equations is a constant matrix S, as solve_bvp wants it.
"""

from __future__ import annotations

import dataclasses

import numpy as np
from scipy.integrate import solve_bvp
from scipy.optimize import brentq


@dataclasses.dataclass(frozen=True)
class Cap:
    """A cap of half-angle `alpha` (radians) and thickness `h` on a sphere of radius one."""

    nu: float
    alpha: float
    h: float

    @property
    def stretching_stiffness(self) -> float:
        return self.h / (1.0 - self.nu**2)

    @property
    def bending_stiffness(self) -> float:
        return self.h**3 / (12.0 * (1.0 - self.nu**2))

    @property
    def singular(self) -> np.ndarray:
        nu = self.nu
        return np.array(
            [
                [-(1.0 + nu), 1.0, 0.0, 0.0],
                [1.0 - nu**2, nu - 1.0, 0.0, 0.0],
                [0.0, 0.0, -(1.0 + nu), 1.0],
                [0.0, 0.0, 1.0 - nu**2, nu - 1.0],
            ]
        )

    def rhs(self, s: np.ndarray, y: np.ndarray) -> np.ndarray:
        """The equations without the part S y / s."""
        nu = self.nu
        e, p, q, m = y
        pole = s == 0.0
        t = np.where(pole, 1.0, s)  # the regular part is odd in s: zero at the pole
        r0, c0 = np.sin(t), np.cos(t)
        phi = t * (1.0 + q)
        sin, cos = np.sin(phi), np.cos(phi)
        kt = sin / r0 - 1.0
        es = p * cos - nu * e
        radial = (1.0 + es) * cos
        moment = ((1.0 - nu**2) * kt + nu * m) * cos + 12.0 / self.h**2 * r0 * p * (1.0 + es) * sin
        out = np.empty_like(y)
        out[0] = (radial - c0 * (1.0 + e)) / r0 - (p - (1.0 + nu) * e) / t
        out[1] = (e + nu * es - c0 * p) / r0 - ((1.0 - nu**2) * e + (nu - 1.0) * p) / t
        out[2] = (m - nu * kt - q) / t - (m - (1.0 + nu) * q) / t
        out[3] = (moment - c0 * m) / r0 - ((1.0 - nu**2) * q + (nu - 1.0) * m) / t
        out[:, pole] = 0.0
        return out

    def jacobian(self, s: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Derivatives of `rhs` with respect to e, p, q, m; check.py compares them with differences."""
        nu = self.nu
        e, p, q, m = y
        pole = s == 0.0
        t = np.where(pole, 1.0, s)
        r0, c0 = np.sin(t), np.cos(t)
        phi = t * (1.0 + q)
        sin, cos = np.sin(phi), np.cos(phi)
        es = p * cos - nu * e
        lam = 1.0 + es
        kt, kt_q = sin / r0 - 1.0, cos * t / r0
        es_q = -p * sin * t
        arm = 12.0 / self.h**2 * r0
        hoop = (1.0 - nu**2) * kt + nu * m
        out = np.zeros((4, 4, s.size))
        out[0, 0] = (-nu * cos - c0) / r0 + (1.0 + nu) / t
        out[0, 1] = cos**2 / r0 - 1.0 / t
        out[0, 2] = (es_q * cos - lam * sin * t) / r0
        out[1, 0] = (1.0 - nu**2) * (1.0 / r0 - 1.0 / t)
        out[1, 1] = (nu * cos - c0) / r0 - (nu - 1.0) / t
        out[1, 2] = nu * es_q / r0
        out[2, 2] = (nu - nu * kt_q) / t
        out[3, 0] = -nu * arm * p * sin / r0
        out[3, 1] = arm * sin * (lam + p * cos) / r0
        out[3, 2] = ((1.0 - nu**2) * kt_q * cos - hoop * sin * t + arm * p * (es_q * sin + lam * cos * t)) / r0
        out[3, 2] -= (1.0 - nu**2) / t
        out[3, 3] = (nu * cos - c0) / r0 - (nu - 1.0) / t
        out[:, :, pole] = 0.0
        return out

    def jacobian_of_ends(self, _pole: np.ndarray, _rim: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Derivatives of `ends`."""
        at_pole, at_rim = np.zeros((4, 4)), np.zeros((4, 4))
        at_pole[0, :2] = at_pole[1, 2:] = -(1.0 + self.nu), 1.0
        at_rim[2, 1] = at_rim[3, 3] = 1.0
        return at_pole, at_rim

    def ends(self, pole: np.ndarray, rim: np.ndarray) -> np.ndarray:
        """Regularity at the pole (S y = 0); no force and no moment at the rim."""
        nu = self.nu
        return np.array([pole[1] - (1.0 + nu) * pole[0], pole[3] - (1.0 + nu) * pole[2], rim[1], rim[3]])

    def mesh(self, nodes: int = 41) -> np.ndarray:
        """Nodes gathered where the lip is: half of them within six edge lengths of the rim."""
        edge = min(6.0 * np.sqrt(self.h), 0.5 * self.alpha)
        half = nodes // 2
        inner = np.linspace(0.0, self.alpha - edge, half, endpoint=False)
        return np.concatenate([inner, np.linspace(self.alpha - edge, self.alpha, nodes - half)])

    def mirror(self, s: np.ndarray) -> np.ndarray:
        """The perfect mirror image: phi = -s, no stretching."""
        y = np.zeros((4, s.size))
        y[2] = -2.0
        y[3] = -2.0 * (1.0 + self.nu)
        return y

    def solve(self, tolerance: float, start=None, nodes: int = 41, max_nodes: int = 5000):
        """An inverted equilibrium from the mirror image, or from an earlier solution `start`."""
        if start is None:
            s = self.mesh(nodes)
            y = self.mirror(s)
        else:
            s, y = start.x, start.y
        return solve_bvp(
            self.rhs,
            self.ends,
            s,
            y,
            S=self.singular,
            fun_jac=self.jacobian,
            bc_jac=self.jacobian_of_ends,
            tol=tolerance,
            max_nodes=max_nodes,
        )

    def is_inverted(self, solution) -> bool:
        """Converged, turned inside out at the pole, and not rolled up."""
        if not solution.success:
            return False
        slope = solution.x * (1.0 + solution.y[2])
        return bool(solution.y[2, 0] < -1.0 and abs(slope[-1]) < np.pi and slope.min() > -np.pi)

    def measures(self, solution) -> dict[str, float]:
        """Energies in E R^3 and the numbers that describe the shape."""
        nodes, weights = np.polynomial.legendre.leggauss(5)
        left, width = solution.x[:-1, None], np.diff(solution.x)[:, None]
        s = (left + 0.5 * width * (1.0 + nodes)).ravel()
        w = (0.5 * width * weights).ravel()
        e, p, q, m = solution.sol(s)
        nu, r0 = self.nu, np.sin(s)
        phi = s * (1.0 + q)
        es = p * np.cos(phi) - nu * e
        kt = np.sin(phi) / r0 - 1.0
        ks = m - nu * kt
        stretch = 0.5 * self.stretching_stiffness * (es**2 + 2 * nu * es * e + e**2)
        bend = 0.5 * self.bending_stiffness * (ks**2 + 2 * nu * ks * kt + kt**2)
        area = 2.0 * np.pi * r0 * w
        rim = solution.y[:, -1]

        def curvature(at: float) -> float:
            y = solution.sol(at)
            hoop = np.sin(at * (1.0 + y[2])) / np.sin(at) - 1.0
            return float(1.0 + y[3] - nu * hoop)

        grid = np.linspace(0.02 * self.alpha, self.alpha, 400)
        signs = np.array([curvature(at) for at in grid])
        change = np.nonzero(signs[:-1] * signs[1:] < 0.0)[0]
        lip = float("nan")
        if change.size:
            k = change[-1]
            lip = self.alpha - brentq(curvature, grid[k], grid[k + 1], xtol=1e-14)
        return {
            "stretching": float(area @ stretch),
            "bending": float(area @ bend),
            "rim_slope": float(self.alpha * (1.0 + rim[2])),
            "rim_radius": float(np.sin(self.alpha) * (1.0 + rim[0])),
            "rim_hoop_strain": float(rim[0]),
            "pole_height": float(abs(w @ ((1.0 + es) * np.sin(phi)))),
            "lip": float(lip),
        }


def threshold(nu: float, alpha: float, low: float, high: float, relative: float, tolerance: float):
    """Largest thickness with an inverted state: bisection on "does it still converge".

    Each trial starts from the last good solution and, should that fail, once more from the mirror
    image: without the second try a step that is merely too long is taken for the threshold.
    """
    room = 600  # nodes; more only makes each failure slower
    good = Cap(nu, alpha, low).solve(tolerance, max_nodes=room)
    if not Cap(nu, alpha, low).is_inverted(good):
        raise ValueError("no inverted state at the lower end")
    solves = 1
    while high - low > relative * low:
        middle = 0.5 * (low + high)
        cap = Cap(nu, alpha, middle)
        for start in (good, None):
            trial = cap.solve(tolerance, start=start, max_nodes=room)
            solves += 1
            if cap.is_inverted(trial):
                low, good = middle, trial
                break
        else:
            high = middle
    return 0.5 * (low + high), good, solves
