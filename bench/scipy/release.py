"""Times the motion of a snapping cap, as a researcher would script it: finite elements and solve_ivp.

The free spherical cap of cap.py, afloat.  It starts at rest in the shape of its fold (the last inverted
equilibrium as the wall thickens, h = h_c) with the wall a little thicker, h = h_c (1 + delta), and is
half way when pole and rim are at one height.  Units R = E = rho = 1, so times count in R sqrt(rho/E).

Per unit thickness the energy and the mass of a unit of natural area are

    W = S/2 (es^2 + 2 nu es et + et^2) + S h^2/24 (ks^2 + 2 nu ks kt + kt^2),   S = 1/(1 - nu^2)
    es = lam - 1,  et = r/r0 - 1,  ks = phi' - phi0',  kt = (sin phi - sin phi0)/r0
    T = 1/2 (dr/dt^2 + dz/dt^2)

with r and z quintic Hermite polynomials on elements graded to the rim, six Gauss points each.  What is
integrated is q' = v, v' = -M^-1 f(q), with M the consistent mass, by BDF or Radau.

With a memory (a share g of all moduli relaxing in the time tau, Poisson's ratio constant) the stresses are
those of the strains e - g a, a' = (e - a)/tau at the Gauss points; the cap has then been held in its first
shape for the time `hold`, natural and relaxed before.

Prints one JSON object a line: task, seconds (fold and motion, best of `repeats` after one to warm up), value
(half-way time).
Usage: python bench/scipy/release.py [--quick] [--all] [--delta 0.01 ...] [--degrees 45] [--nu 0.3]
           [--halvings 0] [--nodes s0,s1,...] [--method Radau|BDF|...] [--jacobian exact|sparsity|differences]
           [--rtol 1e-4] [--memory g,tau,hold] [--start fold|mirror]
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
from scipy.linalg import eigh  # noqa: E402
from scipy.sparse import csc_matrix  # noqa: E402

POINTS = 6
# r, r', r'', z', z'': which field (0 is r, 1 is z) and which derivative.
FIELDS = [(0, 0), (0, 1), (0, 2), (1, 1), (1, 2)]


def expected_threshold(nu: float, alpha: float) -> float:
    """From the threshold of the shallow cap, about; only a start."""
    return np.sqrt(12.0 * (1.0 - nu**2)) * (alpha / (5.087 + 1.31 * nu)) ** 2


def graded_mesh(alpha: float, h: float, halvings: int) -> np.ndarray:
    """Nodes: 0.55 sqrt(h) long at the rim, growing by 1.35 an element inwards, 0.2 at most."""
    cells = 300
    s = alpha * (np.arange(cells) + 0.5) / cells
    size = np.minimum(0.2, 0.55 * np.sqrt(h) + 0.35 / np.sqrt(1.35) * (alpha - s))
    share = np.concatenate([[0.0], np.cumsum(alpha / cells / size)])
    count = max(3, int(np.ceil(share[-1] - 1e-6)))
    nodes = np.interp(np.linspace(0.0, share[-1], count + 1), share, alpha * np.arange(cells + 1) / cells)
    nodes[-1] = alpha
    for _ in range(halvings):
        nodes = np.sort(np.concatenate([nodes, 0.5 * (nodes[1:] + nodes[:-1])]))
    return nodes


def hermite(x: np.ndarray, length: float, scales: tuple[float, float]) -> np.ndarray:
    """[derivative, point, unknown] on one element; unknowns f, l f', l^2 f'' at both ends, l the node's scale."""
    powers = np.arange(6)
    value = np.array([np.polynomial.polynomial.polyder(row, d) @ (end ** powers[: 6 - d])
                      for end in (0.0, 1.0) for d in range(3) for row in np.eye(6)]).reshape(6, 6)  # fmt: skip
    coefficients = np.linalg.inv(value)  # column k: polynomial of shape function k
    factor = np.array([(length / scale) ** d for scale in scales for d in range(3)])
    out = np.empty((3, x.size, 6))
    for d in range(3):
        derived = np.polynomial.polynomial.polyder(coefficients, d)
        out[d] = np.polynomial.polynomial.polyval(x, derived).T * factor / length**d
    return out


class Elements:
    """The cap on elements: forces, stiffness, mass.  Nothing here knows the thickness but through b = h^2."""

    def __init__(self, nu: float, alpha: float, nodes: np.ndarray) -> None:
        self.nu, self.alpha, self.nodes = nu, alpha, nodes
        lengths = np.diff(nodes)
        self.count = lengths.size
        self.scale = np.sqrt(np.concatenate([lengths[:1], lengths]) * np.concatenate([lengths, lengths[-1:]]))
        gauss, weights = np.polynomial.legendre.leggauss(POINTS)
        x = 0.5 * (1.0 + gauss)
        s = nodes[:-1, None] + lengths[:, None] * x
        area = np.pi * np.sin(s) * lengths[:, None] * weights
        self.sin0 = np.sin(s).ravel()
        self.inv_r0 = 1.0 / self.sin0
        self.weight = area.ravel() / (1.0 - nu**2)
        shape = np.array(
            [hermite(x, lengths[e], (self.scale[e], self.scale[e + 1])) for e in range(self.count)]
        )
        # Operators of each element on its twelve unknowns, rows [component, point].
        # Unknowns of a node are r, l r', l^2 r'', z, l z', l^2 z''.
        place = [np.array([0, 1, 2, 6, 7, 8]) + 3 * field for field in (0, 1)]
        self.op = np.zeros((self.count, 5, POINTS, 12))
        for k, (field, d) in enumerate(FIELDS):
            self.op[:, k][:, :, place[field]] = shape[:, d]
        # The free unknowns: at the pole r is odd and z even.
        size = 6 * nodes.size
        free = np.ones(size, bool)
        free[[0, 2, 4]] = False
        self.free = np.flatnonzero(free)
        self.n = self.free.size
        number = np.full(size, self.n)  # what is held goes to a spare place at the end
        number[self.free] = np.arange(self.n)
        self.index = number[6 * np.arange(self.count)[:, None] + np.arange(12)]
        pairs = self.index[:, :, None] * (self.n + 1) + self.index[:, None, :]
        self.pairs = pairs.ravel()
        blocks = np.zeros((self.count, 12, 12))
        for at in place:
            blocks[:, at[:, None], at] = np.einsum("epi,ep,epj->eij", shape[:, 0], area, shape[:, 0])
        self.mass = self.gather(blocks)
        self.inverse_mass = np.linalg.inv(self.mass)
        # The same operators on all unknowns at once: small enough for a full matrix to be the fastest.
        spread = np.zeros((self.count, 12, self.n + 1))
        np.put_along_axis(spread, self.index[:, :, None], 1.0, axis=2)
        self.whole = np.einsum("ekpu,eun->kepn", self.op, spread).reshape(-1, self.n + 1)[:, : self.n].copy()
        self.accelerate = -self.inverse_mass @ self.whole.T
        self.pole, self.rim = int(number[3]), int(number[size - 3])

    def gather(self, blocks: np.ndarray) -> np.ndarray:
        size = self.n + 1
        full = np.bincount(self.pairs, blocks.ravel(), size * size).reshape(size, size)
        return full[: self.n, : self.n]

    def shape_of(self, sign: float) -> np.ndarray:
        """The natural cap (sign 1) or its mirror image (-1)."""
        s, scale = self.nodes, self.scale
        sin, cos = np.sin(s), np.cos(s)
        z = [np.cos(self.alpha) - cos, scale * sin, scale**2 * cos]
        r = [sin, scale * cos, -(scale**2) * sin]
        return np.stack(r + [sign * v for v in z], axis=1).ravel()[self.free]

    def height(self, q: np.ndarray) -> float:
        return q[self.pole] - q[self.rim]

    def local(self, q: np.ndarray) -> np.ndarray:
        """r, r', r'', z', z'' [component, point]."""
        return (self.whole @ q).reshape(5, -1)

    def strains(self, y: np.ndarray) -> np.ndarray:
        r, a, c, b, d = y
        square = a * a + b * b
        length = np.sqrt(square)
        return np.stack(
            [
                length - 1.0,
                r * self.inv_r0 - 1.0,
                (a * d - b * c) / square - 1.0,
                (b / length - self.sin0) * self.inv_r0,
            ]
        )

    def stresses(self, strains: np.ndarray, b: float) -> np.ndarray:
        """Times the weights of the points."""
        nu, stretch, bend = self.nu, self.weight, b / 12.0 * self.weight
        es, et, ks, kt = strains
        return np.stack(
            [stretch * (es + nu * et), stretch * (et + nu * es), bend * (ks + nu * kt), bend * (kt + nu * ks)]
        )

    def energy(self, q: np.ndarray, b: float) -> float:
        e = self.strains(self.local(q))
        return 0.5 * float((e * self.stresses(e, b)).sum())

    def pull(self, q: np.ndarray, b: float, shift: np.ndarray | None = None) -> np.ndarray:
        """Derivatives of the energy by r, r', r'', z', z'' at the points, strains that bear no stress subtracted."""
        y = self.local(q)
        r, a, c, bb, d = y
        inv2 = 1.0 / (a * a + bb * bb)
        inv = np.sqrt(inv2)
        cos, sin = a * inv, bb * inv
        k = (a * d - bb * c) * inv2
        es, et, ks, kt = 1.0 / inv - 1.0, r * self.inv_r0 - 1.0, k - 1.0, (sin - self.sin0) * self.inv_r0
        if shift is not None:
            es, et, ks, kt = es - shift[0], et - shift[1], ks - shift[2], kt - shift[3]
        nu, stretch = self.nu, self.weight
        bend = b / 12.0 * stretch
        ns = stretch * (es + nu * et)
        turn = (bend * (kt + nu * ks)) * self.inv_r0 * inv * cos
        ms = bend * (ks + nu * kt) * inv2
        k += k
        out = np.empty_like(y)
        out[0] = stretch * (et + nu * es) * self.inv_r0
        out[1] = ns * cos + ms * (d - a * k) - turn * sin
        out[2] = -bb * ms
        out[3] = ns * sin - ms * (c + bb * k) + turn * cos
        out[4] = a * ms
        return out.ravel()

    def force(self, q: np.ndarray, b: float, shift: np.ndarray | None = None) -> np.ndarray:
        """Derivative of the energy by the unknowns."""
        return self.pull(q, b, shift) @ self.whole

    def by_strain(self, y: np.ndarray) -> np.ndarray:
        """Derivatives of the strains by the local fields [strain, field, point]."""
        _, a, c, b, d = y
        square = a * a + b * b
        inv = 1.0 / np.sqrt(square)
        inv2 = inv * inv
        cos, sin = a * inv, b * inv
        k = (a * d - b * c) * inv2
        out = np.zeros((4, *y.shape))
        out[0, 1], out[0, 3] = cos, sin
        out[1, 0] = self.inv_r0
        out[2, 1], out[2, 3] = (d - 2.0 * a * k) * inv2, -(c + 2.0 * b * k) * inv2
        out[2, 2], out[2, 4] = -b * inv2, a * inv2
        out[3, 1], out[3, 3] = -sin * cos * inv * self.inv_r0, cos * cos * inv * self.inv_r0
        return out

    def stiffness(self, q: np.ndarray, b: float, shift: np.ndarray | None = None) -> np.ndarray:
        """Second derivative of the energy."""
        y = self.local(q)
        by = self.by_strain(y)
        e = self.strains(y)
        k = e[2] + 1.0
        ns, _, ms, mt = self.stresses(e if shift is None else e - shift, b)
        h = self.stiff(by, b)
        _, a, _, bb, _ = y
        square = a * a + bb * bb
        inv2 = 1.0 / square
        inv = np.sqrt(inv2)
        cos, sin = a * inv, bb * inv
        ka, kb = by[2, 1], by[2, 3]
        mt = mt * self.inv_r0 * inv2
        ns, ms = ns * inv, ms * inv2
        h[1, 1] += ns * sin * sin - ms * (2.0 * k + 4.0 * a * ka) + mt * sin * (3.0 * cos * cos - 1.0)
        h[3, 3] += ns * cos * cos - ms * (2.0 * k + 4.0 * bb * kb) - 3.0 * mt * cos * cos * sin
        h[1, 3] += mt * cos * (3.0 * sin * sin - 1.0) - ns * sin * cos - 2.0 * ms * (a * kb + bb * ka)
        cross = 2.0 * sin * cos
        h[1, 2] += ms * cross
        h[3, 4] -= ms * cross
        h[2, 3] += ms * (2.0 * sin * sin - 1.0)
        h[1, 4] += ms * (1.0 - 2.0 * cos * cos)
        for i, j in ((1, 3), (1, 2), (3, 4), (2, 3), (1, 4)):
            h[j, i] = h[i, j]
        return self.blocks(h)

    def stiff(self, by: np.ndarray, b: float) -> np.ndarray:
        """by^T C by at the points."""
        return np.einsum("kip,kjp->ijp", by, self.stresses(by, b))

    def blocks(self, h: np.ndarray) -> np.ndarray:
        """Derivatives by the local fields, to the unknowns."""
        turned = np.einsum("ijep,ejpu->eipu", h.reshape(5, 5, self.count, POINTS), self.op)
        rows = self.count, 5 * POINTS, 12
        return self.gather(self.op.reshape(rows).transpose(0, 2, 1) @ turned.reshape(rows))


def equilibrium(el: Elements, q: np.ndarray, b: float) -> np.ndarray:
    """A minimum of the energy with the rim's height held: Newton, damped where the energy is not convex."""
    keep = np.arange(el.n) != el.rim
    metric = np.diag(np.diag(el.mass)[keep])
    damping, energy = 0.0, el.energy(q, b)
    for _ in range(200):
        f = el.force(q, b)[keep]
        k = el.stiffness(q, b)[np.ix_(keep, keep)]
        while True:
            try:
                np.linalg.cholesky(k + damping * metric)
            except np.linalg.LinAlgError:
                damping = max(2.0 * damping, 1e-4)
                continue
            step = np.linalg.solve(k + damping * metric, -f)
            trial = q.copy()
            trial[keep] += step
            after = el.energy(trial, b)
            if after <= energy * (1.0 + 1e-14) or np.abs(step).max() < 1e-12:
                break
            damping = max(4.0 * damping, 1e-4)
        q, energy = trial, after
        if np.abs(step).max() < 1e-10 and damping == 0.0:
            return q
        damping = 0.0 if damping < 2e-4 else damping / 8.0
    raise ArithmeticError("no equilibrium")


def fold(el: Elements, start: float) -> tuple[float, np.ndarray]:
    """Thickness and shape at the fold of the inverted equilibria: Newton on f = 0, K v = 0, v.v = 1."""
    q, b = equilibrium(el, el.shape_of(-1.0), start**2), start**2
    keep = np.flatnonzero(np.arange(el.n) != el.rim)
    n = keep.size

    def stiffness(q, b):
        return el.stiffness(q, b)[np.ix_(keep, keep)]

    v = eigh(stiffness(q, b), el.mass[np.ix_(keep, keep)], subset_by_index=[0, 0])[1][:, 0]
    v /= np.linalg.norm(v)
    for _ in range(30):
        k = stiffness(q, b)
        along = np.zeros(el.n)
        eps = 1e-4 / np.abs(v).max()  # only the speed of the iteration depends on this difference
        along[keep] = eps * v
        third = (stiffness(q + along, b) - stiffness(q - along, b)) / (2.0 * eps)
        change = 1e-4 * b
        f_b = (el.force(q, b + change) - el.force(q, b - change))[keep] / (2.0 * change)
        kv_b = (stiffness(q, b + change) - stiffness(q, b - change)) @ v / (2.0 * change)
        big = np.zeros((2 * n + 1, 2 * n + 1))
        big[:n, :n], big[:n, -1] = k, f_b
        big[n:-1, :n], big[n:-1, n:-1], big[n:-1, -1] = third, k, kv_b
        big[-1, n:-1] = 2.0 * v
        right = np.concatenate([el.force(q, b)[keep], k @ v, [v @ v - 1.0]])
        step = np.linalg.solve(big, -right)
        q = q.copy()
        q[keep] += step[:n]
        v, b = v + step[n:-1], b + step[-1]
        if abs(step[-1]) < 1e-11 * b and np.abs(step[:n]).max() < 1e-8:
            return float(np.sqrt(b)), q
    raise ArithmeticError("no fold")


class Motion:
    """q, v and, with a memory, a; as one vector for solve_ivp."""

    def __init__(self, el: Elements, h: float, memory: tuple[float, float] | None = None) -> None:
        self.el, self.h, self.b, self.memory = el, h, h * h, memory
        self.n = el.n
        self.size = 2 * self.n + (4 * el.weight.size if memory else 0)

    def shift(self, y: np.ndarray) -> np.ndarray | None:
        return self.memory[0] * y[2 * self.n :].reshape(4, -1) if self.memory else None

    def rhs(self, _t: float, y: np.ndarray) -> np.ndarray:
        n, el = self.n, self.el
        out = np.empty_like(y)
        out[:n] = y[n : 2 * n]
        out[n : 2 * n] = el.accelerate @ el.pull(y[:n], self.b, self.shift(y))
        if self.memory:
            out[2 * n :] = (el.strains(el.local(y[:n])).ravel() - y[2 * n :]) / self.memory[1]
        return out

    def jacobian(self, _t: float, y: np.ndarray):
        n, el = self.n, self.el
        out = np.zeros((self.size, self.size))
        out[:n, n : 2 * n] = np.eye(n)
        out[n : 2 * n, :n] = -(el.inverse_mass @ el.stiffness(y[:n], self.b, self.shift(y)))
        if not self.memory:
            return out
        g, tau = self.memory
        by = el.by_strain(el.local(y[:n]))
        strain = np.einsum("kip,ipn->knp", by, el.whole.reshape(5, -1, n))
        stress = el.stresses(strain, self.b).transpose(0, 2, 1).reshape(-1, n)
        strain = strain.transpose(0, 2, 1).reshape(-1, n)
        out[n : 2 * n, 2 * n :] = g * (el.inverse_mass @ stress.T)
        out[2 * n :, :n] = strain / tau
        rest = np.arange(2 * n, self.size)
        out[rest, rest] = -1.0 / tau
        return out

    def pattern(self) -> csc_matrix:
        """Where the Jacobian may not vanish; the inverse of the consistent mass is full."""
        n = self.n
        out = np.zeros((self.size, self.size), bool)
        out[:n, n : 2 * n] = np.eye(n, dtype=bool)
        out[n : 2 * n, :n] = out[n : 2 * n, 2 * n :] = True
        if self.memory:
            for e in range(self.el.count):
                rows = 2 * n + np.arange(self.size - 2 * n).reshape(4, self.el.count, POINTS)[:, e].ravel()
                columns = self.el.index[e][self.el.index[e] < n]
                out[np.ix_(rows, columns)] = True
            rest = np.arange(2 * n, self.size)
            out[rest, rest] = True
        return csc_matrix(out)

    def start(self, q: np.ndarray, hold: float) -> np.ndarray:
        y = np.concatenate([q, np.zeros(self.n)])
        if self.memory:
            held = self.el.strains(self.el.local(q)).ravel()
            y = np.append(y, -np.expm1(-hold / self.memory[1]) * held)
        return y

    def march(self, y0: np.ndarray, until: float, method: str, jacobian: str, rtol: float, atol: float, dense=False):
        """Motion to the moment when pole and rim are at one height."""
        def level(_t, y):
            return self.el.height(y[: self.n])

        level.terminal = True
        options = {}
        if method in ("BDF", "Radau", "LSODA"):
            if jacobian == "exact":
                options["jac"] = self.jacobian
            elif jacobian == "sparsity":
                options["jac_sparsity"] = self.pattern()
        return solve_ivp(
            self.rhs, (0.0, until), y0, method=method, rtol=rtol, atol=atol, events=level, dense_output=dense, **options
        )

    def energies(self, y: np.ndarray) -> tuple[float, float, float]:
        """Kinetic, kept, and the rate at which the memory loses."""
        n, el = self.n, self.el
        v = y[n : 2 * n]
        kinetic = 0.5 * float(v @ el.mass @ v)
        e = el.strains(el.local(y[:n]))
        kept = 0.5 * float((e * el.stresses(e, self.b)).sum())
        if not self.memory:
            return kinetic, kept, 0.0
        g, tau = self.memory
        over = e - y[2 * n :].reshape(4, -1)
        branch = float((over * el.stresses(over, self.b)).sum())
        return kinetic, (1.0 - g) * kept + 0.5 * g * branch, g * branch / tau

    def balance(self, found) -> float:
        """Largest change of kinetic + kept + lost over the first energy kept; needs dense output."""
        gauss, weights = np.polynomial.legendre.leggauss(4)
        first = sum(self.energies(found.y[:, 0])[:2])
        worst, lost = 0.0, 0.0
        for k in range(1, found.t.size):
            if self.memory:
                width = found.t[k] - found.t[k - 1]
                at = found.sol(found.t[k - 1] + 0.5 * width * (1.0 + gauss))
                lost += 0.5 * width * sum(w * self.energies(at[:, i])[2] for i, w in enumerate(weights))
            kinetic, kept, _ = self.energies(found.y[:, k])
            worst = max(worst, abs(kinetic + kept + lost - first) / first)
        return worst


def release(o) -> SimpleNamespace:
    """Fold and motion by the options `o`."""
    started = time.perf_counter()
    alpha = np.radians(o.degrees)
    expected = expected_threshold(o.nu, alpha)
    nodes = np.array(o.nodes) if o.nodes is not None else graded_mesh(alpha, expected, o.halvings)
    el = Elements(o.nu, alpha, nodes)
    h_c, shape = fold(el, 0.93 * expected)
    folded = time.perf_counter()
    memory = o.memory[:2] if o.memory else None
    motion = Motion(el, h_c * (1.0 + o.delta), memory)
    q = shape if o.start == "fold" else el.shape_of(-1.0)
    y0 = motion.start(q, o.memory[2] if o.memory else 0.0)
    found = motion.march(y0, o.until, o.method, o.jacobian, o.rtol, o.atol or 1e-2 * o.rtol, o.dense)
    ended = time.perf_counter()
    halfway = float(found.t_events[0][0]) if found.t_events and found.t_events[0].size else float("nan")
    return SimpleNamespace(
        seconds=ended - started,
        fold_seconds=folded - started,
        halfway=halfway,
        h_c=h_c,
        motion=motion,
        found=found,
        elements=el.count,
    )


def report(o) -> None:
    best = None
    for turn in range(o.repeats + (o.repeats > 1)):
        run = release(o)
        if best is None or (turn > 0 and run.seconds < best.seconds) or turn == 1:
            best = run
    o.dense = True
    again = release(o) if o.memory else best  # the loss needs shapes within the steps
    o.dense = False
    name = f"release nu={o.nu:g} alpha={o.degrees:g} delta={o.delta:g}"
    if o.memory:
        name += " memory=" + ",".join(f"{v:g}" for v in o.memory)
    if o.start != "fold":
        name += f" start={o.start}"
    if o.named:
        name += f" {o.method} {o.jacobian} rtol={o.rtol:g} halvings={o.halvings}"
    elif o.method != "Radau":
        name += f" {o.method}"
    print(
        json.dumps(
            {
                "task": name,
                "seconds": best.seconds,
                "value": best.halfway,
                "unit": "R sqrt(rho/E)",
                "repeats": o.repeats,
                "fold_seconds": best.fold_seconds,
                "h_c": best.h_c,
                "elements": best.elements,
                "unknowns": best.motion.size,
                "method": o.method,
                "jacobian": o.jacobian,
                "rtol": o.rtol,
                "steps": int(best.found.t.size) - 1,
                "rhs_evaluations": int(best.found.nfev),
                "jacobians": int(best.found.njev),
                "factorisations": int(best.found.nlu),
                "balance": again.motion.balance(again.found),
            }
        ),
        flush=True,
    )


def numbers(text: str) -> tuple[float, ...]:
    return tuple(float(v) for v in text.split(","))


def main() -> None:
    p = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    p.add_argument("--quick", action="store_true", help="repeat less")
    p.add_argument("--all", action="store_true", help="every method, Jacobian and distance")
    p.add_argument("--delta", type=float, nargs="+", default=[0.01])
    p.add_argument("--degrees", type=float, default=45.0)
    p.add_argument("--nu", type=float, default=0.3)
    p.add_argument("--halvings", type=int, default=0)
    p.add_argument("--nodes", type=numbers, default=None)
    p.add_argument("--method", default="Radau")
    p.add_argument("--jacobian", choices=["exact", "sparsity", "differences"], default="exact")
    p.add_argument("--rtol", type=float, default=1e-4)
    p.add_argument("--atol", type=float, default=None)
    p.add_argument("--until", type=float, default=1000.0)
    p.add_argument("--memory", type=numbers, default=None, help="g,tau,hold")
    p.add_argument("--start", choices=["fold", "mirror"], default="fold")
    p.add_argument("--repeats", type=int, default=None)
    o = p.parse_args()
    o.dense, o.named = False, o.all
    o.repeats = o.repeats or (1 if o.quick else 5)
    for delta in o.delta if not o.all else [0.001, 0.01, 0.05]:
        o.delta = delta
        if not o.all:
            report(o)
            if o.method == "Radau" and not o.memory and o.start == "fold":
                # The same by the other usual method for stiff systems; once is enough, it is slow.
                o.method, repeats, o.repeats = "BDF", o.repeats, 1
                report(o)
                o.method, o.repeats = "Radau", repeats
            continue
        for o.method in ("Radau", "BDF"):
            for o.jacobian in ("exact", "sparsity", "differences"):
                report(o)


if __name__ == "__main__":
    main()
