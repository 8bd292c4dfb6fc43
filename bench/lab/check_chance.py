"""Recomputes with SciPy what `cargo run -p calotte-chance --example table` prints.

Usage: python bench/lab/check_chance.py      exits with 1 and says which line failed.

Relative tolerances are our own aim, not SciPy's: where SciPy itself is known to be coarser the row says so.
"""

from __future__ import annotations

import json
import subprocess
import sys

import numpy as np
from scipy import odr, optimize, special, stats


def line_with_errors(v: list[float]) -> list[float]:
    """The least weighted squares along the slope, its derivative by a complex step; the same sum by orthogonal distance regression."""
    x, y, sx, sy = np.array(v).reshape(4, -1)

    def squares(b):
        w = 1.0 / (sy**2 + b**2 * sx**2)
        a = np.sum(w * (y - b * x)) / np.sum(w)
        return np.sum(w * (y - a - b * x) ** 2), a

    slope = optimize.brentq(lambda b: squares(b + 1e-30j)[0].imag / 1e-30, -1.0, -0.3, xtol=1e-15)
    least = squares(slope)[0]
    fit = odr.ODR(odr.RealData(x, y, sx=sx, sy=sy), odr.unilinear, beta0=[-0.5, 5.5]).run()
    # It stops when the sum stops falling by rounding, so its sum is a little above the least one.
    assert 0.0 <= fit.sum_square / least - 1.0 < 1e-8, fit.sum_square
    return [slope, squares(slope)[1], None, None, least]


def with_loss(loss: str):
    def fit(v: list[float]) -> list[float]:
        x, y = np.array(v).reshape(2, -1)
        f = optimize.least_squares(
            lambda p: (p[0] + p[1] * x - y) / 0.2, [6.0, -0.5], loss=loss, f_scale=1.5, xtol=1e-15, ftol=1e-15, gtol=1e-12
        )
        return list(f.x)

    return fit


SCIPY = {  # name: function of the arguments, relative tolerance
    "gamma": (lambda a, x: [special.gammainc(a, x), special.gammaincc(a, x)], 1e-11),
    "beta": (lambda a, b, x: [special.betainc(a, b, x), special.betaincc(a, b, x)], 1e-11),
    "normal quantile": (lambda p: [special.ndtri(p)], 1e-13),
    "chi_squared quantile": (lambda p, n: [stats.chi2.ppf(p, n)], 1e-10),
    "student": (lambda x, n: [stats.t.cdf(x, n)], 1e-10),
    "student quantile": (lambda p, n: [stats.t.ppf(p, n)], 1e-9),
    "fisher quantile": (lambda p, a, b: [stats.f.ppf(p, a, b)], 1e-9),
    "clopper-pearson": (
        lambda k, n, level: list(stats.binomtest(int(k), int(n)).proportion_ci(level, method="exact")),
        1e-10,
    ),
    "wilson": (lambda k, n, level: list(stats.binomtest(int(k), int(n)).proportion_ci(level, method="wilson")), 1e-12),
    "york": (lambda *v: line_with_errors(v), 1e-11),
    "huber": (lambda *v: with_loss("huber")(v), 1e-6),
    "cauchy": (lambda *v: with_loss("cauchy")(v), 1e-6),
    "quantiles": (lambda *v: list(np.quantile(v, [0.0, 0.1, 0.5, 0.77, 1.0])), 1e-14),
}


def main() -> int:
    printed = subprocess.run(
        ["cargo", "run", "-q", "-p", "calotte-chance", "--example", "table"], check=True, capture_output=True, text=True
    ).stdout
    worst: dict[str, tuple[float, str]] = {}
    counts: dict[str, int] = {}
    failures = 0
    for line in printed.splitlines():
        name, arguments, values = json.loads(line)
        function, within = SCIPY[name]
        counts[name] = counts.get(name, 0) + 1
        for ours, theirs in zip(values, function(*arguments), strict=True):
            if theirs is None:
                continue
            # Below the smallest normal number no digits are kept on either side.
            off = 0.0 if ours == theirs or max(abs(ours), abs(theirs)) < 1e-300 else abs(ours / theirs - 1.0) if theirs else abs(ours)
            if not off <= within:
                failures += 1
                print(f"FAIL {name} {arguments[:4]}: {ours!r}, SciPy {theirs!r}, off {off:.1e}, wanted {within:.0e}")
            if off >= worst.get(name, (0.0, ""))[0]:
                worst[name] = (off, str(arguments[:3]))
    for name in SCIPY:
        if name not in counts:
            failures += 1
            print(f"FAIL {name}: no row was printed")
            continue
        off, where = worst[name]
        print(f"{name}: {counts[name]} rows, largest difference {off:.1e} at {where}")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
