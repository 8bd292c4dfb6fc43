"""Spherical caps by Chebyshev collocation and Newton's method, with an axial force at the pole.

The equations are those of cap.py with Q kept.  Eliminating the strains leaves two unknowns, the
slope phi(s) and p = P/(E h), with f = Q/(E h) = -F/(2 pi E h) and eps = D/(E h):

    n = Ns/(E h) = (p cos phi + f sin phi)/r0,    et = p' - nu n,    es = n - nu p'
    (r0 et)' - (1 + es) cos phi + cos s = 0                                    r is a radius
    eps [(r0 ms)' - mt cos phi] - (1 + es) (p sin phi - f cos phi) = 0         moments
    p = 0 and ms = ks + nu kt = 0 at a rim that is free to slide and to turn

p, phi, r0 et and r0 ms are odd in s, so the nodes are the positive half of a Chebyshev grid on
[-1, 1] and one matrix, the derivative of odd functions, does everything; the pole is no node.
Arrays may carry leading axes: a batch of caps is solved in one call.
"""

from __future__ import annotations

import dataclasses

import numpy as np


def odd_chebyshev(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Nodes 1 = x[0] > x[1] > ... > 0, and the derivative at them of odd functions given at them."""
    k = np.arange(2 * count)
    x = np.cos(np.pi * k / (2 * count - 1))
    c = np.where((k == 0) | (k == 2 * count - 1), 2.0, 1.0) * (-1.0) ** k
    full = np.outer(c, 1.0 / c) / (x[:, None] - x + np.eye(2 * count))
    full -= np.diag(full.sum(axis=1))
    return x[:count], full[:count, :count] - full[:count, : count - 1 : -1]


@dataclasses.dataclass
class Point:
    """Residual at one state, its derivatives by y and by f, and what `height` needs."""

    res: np.ndarray
    jac: np.ndarray
    by_f: np.ndarray
    sin: np.ndarray
    cos: np.ndarray
    lam: np.ndarray
    arm: np.ndarray


class Grid:
    """Caps of half-angle `alpha` (radians, any shape) on `count` nodes s = alpha x^power, `power` odd.

    A state is y = (p without the rim, phi), rim first.
    """

    def __init__(self, nu: float, alpha: np.ndarray, count: int, power: int = 1) -> None:
        self.nu, self.count = nu, count
        alpha = np.asarray(alpha, float)[..., None]
        x, odd = odd_chebyshev(count)
        self.s = alpha * x**power
        self.d = odd / (alpha * power * x ** (power - 1))[..., None]
        self.r0, self.c0 = np.sin(self.s), np.cos(self.s)
        self.drd = (self.d * self.r0[..., None, :]) @ self.d
        # Weights of the integral over s of a function odd in s, exact for odd polynomials in x.
        t, w = np.polynomial.legendre.leggauss(2 * count + power)
        t = 0.5 + 0.5 * t
        degree = 2.0 * np.arange(count)[:, None] + 1.0
        moments = np.cos(degree * np.arccos(t)) @ (0.5 * w * power * t ** (power - 1))
        self.weights = alpha * np.linalg.solve(np.cos(degree * np.arccos(x)), moments)

    def __getitem__(self, some) -> Grid:
        """The caps `some` (an index array into the first axis) of a batch."""
        part = object.__new__(Grid)
        part.nu, part.count = self.nu, self.count
        for name in ("s", "d", "r0", "c0", "drd", "weights"):
            setattr(part, name, getattr(self, name)[some])
        return part

    def natural(self) -> np.ndarray:
        return np.concatenate([np.zeros_like(self.s[..., 1:]), self.s], axis=-1)

    def system(self, y: np.ndarray, h, f) -> Point:
        nu, d, r0, m = self.nu, self.d, self.r0, self.count
        h, f = np.asarray(h, float)[..., None], np.asarray(f, float)[..., None]
        eps = h * h / (12.0 * (1.0 - nu * nu))
        p = np.concatenate([np.zeros_like(y[..., :1]), y[..., : m - 1]], axis=-1)
        phi = y[..., m - 1 :]
        sin, cos = np.sin(phi), np.cos(phi)
        slopes = d @ np.stack([p, phi], axis=-1)
        hoop, bend = slopes[..., 0], slopes[..., 1] - 1.0
        pull, arm = p * cos + f * sin, f * cos - p * sin  # arm is the derivative of pull by phi
        lam = 1.0 + pull / r0 - nu * hoop
        kt = sin / r0 - 1.0
        ms, mt = bend + nu * kt, kt + nu * bend
        slopes = d @ np.stack([r0 * hoop - nu * pull, r0 * ms], axis=-1)
        cos_r0, arm_r0 = cos / r0, arm / r0

        res = np.empty_like(y)
        res[..., : m - 1] = (slopes[..., 0] - lam * cos + self.c0)[..., 1:]
        res[..., m - 1 :] = eps * (slopes[..., 1] - mt * cos) + lam * arm
        res[..., m - 1] = ms[..., 0]

        jac = np.empty((*y.shape, y.shape[-1]))
        nd = nu * d
        turn = nd * (cos[..., None] - cos[..., None, :])
        i = np.arange(m)
        j, k = i[1:], i[:-1]
        block = jac[..., : m - 1, : m - 1]  # radius by p
        np.add(self.drd[..., 1:, 1:], turn[..., 1:, 1:], out=block)
        block[..., k, k] -= (cos * cos_r0)[..., 1:]
        block = jac[..., : m - 1, m - 1 :]  # radius by phi
        np.multiply(nd[..., 1:, :], -arm[..., None, :], out=block)
        block[..., k, j] += (lam * sin - cos * arm_r0)[..., 1:]
        block = jac[..., m - 1 :, : m - 1]  # moments by p
        np.multiply(nd[..., 1:], -arm[..., None], out=block)
        block[..., j, k] += (arm * cos_r0 - lam * sin)[..., 1:]
        block = jac[..., m - 1 :, m - 1 :]  # moments by phi
        np.multiply(self.drd - turn, eps[..., None], out=block)
        block[..., i, i] += eps * (mt * sin - cos * cos_r0) + arm * arm_r0 - lam * pull
        jac[..., m - 1, : m - 1] = 0.0
        jac[..., m - 1, m - 1 :] = d[..., 0, :]
        jac[..., m - 1, m - 1] += nu * cos_r0[..., 0]

        by_f = np.empty_like(y)
        by_f[..., : m - 1] = -(nd @ sin[..., None] + (cos * sin / r0)[..., None])[..., 1:, 0]
        by_f[..., m - 1 :] = lam * cos + arm * sin / r0
        by_f[..., m - 1] = 0.0
        return Point(res, jac, by_f, sin, cos, lam, arm)

    def height(self, at: Point) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """How far the pole is above the rim, and the derivatives by y and f."""
        w, m = self.weights, self.count
        by_y = np.empty_like(at.res)
        ws = w * at.sin
        by_y[..., : m - 1] = (ws * at.cos / self.r0 - self.nu * (ws[..., None, :] @ self.d)[..., 0, :])[..., 1:]
        by_y[..., m - 1 :] = w * at.lam * at.cos + ws * at.arm / self.r0
        return (ws * at.lam).sum(-1), by_y, (ws * at.sin / self.r0).sum(-1)
