"""Recomputes with SciPy what `calotte bench cases/bench-tests/bench.toml --json` prints: every estimate, wall, memory and the mean.

Usage: PROGRAM=path/to/calotte python bench/lab/check_bench.py      (without PROGRAM: cargo run --release)
Exits with 1 and says which line failed.  Nothing here is shared with the program: boundary value problems by collocation,
nonlinear fits by curve_fit, Bisshopp and Drucker's elliptic integrals.
"""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
from scipy import optimize, special, stats
from scipy.integrate import solve_bvp

ROOT = Path(__file__).resolve().parents[2]
FILE = "cases/bench-tests/bench.toml"
G = 9.80665
failures = 0


def check(what: str, computed: float, printed: float, within: float) -> None:
    global failures
    off = abs(computed / printed - 1.0) if printed else abs(computed)
    failures += not off <= within
    print(f"{'ok  ' if off <= within else 'FAIL'} {what}: {computed:.8g}, printed {printed:.8g}, off {off:.1e}")


def number(text: str | float) -> float:
    return float(str(text).split()[0])


def drop(own: float, tip: float) -> float:
    """Drop of a clamped level strip in lengths, by collocation, the load raised in steps."""
    s = np.linspace(0.0, 1.0, 60)
    y = np.vstack([0.5 * s, 0.5 * (1 - s), 0.25 * s * s])
    for part in np.linspace(0.2, 1.0, 5):
        a, b = own * part, tip * part
        r = solve_bvp(
            lambda s, y: np.vstack([y[1], -(a * (1 - s) + b) * np.cos(y[0]), np.sin(y[0])]),
            lambda ya, yb: np.array([ya[0], yb[1], ya[2]]),
            s, y, tol=1e-10, max_nodes=50_000,
        )
        assert r.success, r.message
        s, y = r.x, r.y
    return float(y[2, -1])


def bisshopp_drucker(beta: float) -> float:
    def amplitude(phi: float) -> float:
        m = (1 + np.sin(phi)) / 2
        return special.ellipk(m) - special.ellipkinc(np.arcsin(1 / np.sqrt(2 * m)), m) - np.sqrt(beta)

    phi = optimize.brentq(amplitude, 1e-9, np.pi / 2 - 1e-12, xtol=1e-15)
    m = (1 + np.sin(phi)) / 2
    start = np.arcsin(1 / np.sqrt(2 * m))
    return 1 - 2 / np.sqrt(beta) * (special.ellipe(m) - special.ellipeinc(start, m))


def left_after(memory: dict, t: float) -> float:
    return 1 - sum(k["share"] * (1 - np.exp(-t / k["time_s"])) for k in memory["terms"])


def strips(tests: dict, by: dict, memory: dict) -> None:
    for beta in (1.0, 2.0, 5.0, 10.0):
        check(f"collocation against elliptic integrals at {beta:g}", drop(0.0, beta), bisshopp_drucker(beta), 1e-8)
    strip = tests["strip"][0]
    rho = number(tests["material"]["density"])
    h, b = number(strip["thickness"]) * 1e-3, number(strip["width"]) * 1e-3
    for kind in ("droop", "cantilever"):
        t = tests[kind][0]
        length = number(t["length"]) * 1e-3
        read = np.mean([number(d) for d in np.atleast_1d(t["drop"])]) * 1e-3 / length
        force = number(t["weight"]) * 1e-3 * G if "weight" in t else 0.0
        per = rho * G * b * h
        rigidity = optimize.brentq(
            lambda x: drop(per * length**3 / np.exp(x), force * length**2 / np.exp(x)) - read,
            np.log(per * length**3 / 12), np.log(per * length**3 * 6), xtol=1e-12,
        )
        modulus = np.exp(rigidity) * 12 / (b * h**3)
        check(kind, modulus / left_after(memory, number(t["after"])), by[t["name"]]["youngs_modulus_Pa"], 1e-7)
    t = tests["ringing"][0]
    root = optimize.brentq(lambda x: 1 + np.cos(x) * np.cosh(x), 1.5, 2.2, xtol=1e-15)
    f, length = number(t["frequency"]), number(t["length"]) * 1e-3
    modulus = 12 * rho * (2 * np.pi * f * length**2 / (root**2 * h)) ** 2
    e = by[t["name"]]
    check("ringing", modulus / left_after(memory, 1 / (2 * np.pi * f)), e["youngs_modulus_Pa"], 1e-9)
    # Small errors of a product of powers: closed form.
    relative = {"frequency": 2 * 0.15 / 7.1, "length": 4 * 0.25 / 40, "thickness": 2 * 0.02 / 2.04, "density": 5 / 1080}
    for row in e["budget"]:
        name = row["input"].split(": ")[1]
        if name in relative:
            check(f"ringing: effect of {name}", relative[name], abs(row["effect"]), 2e-3)


def wall(tests: dict, found: dict) -> None:
    t = tests["thickness"][0]
    angles = np.radians([number(a) for a in t["angles"]])
    rows = np.array([[number(x) for x in r] for r in t["readings"]]) * 1e-3
    n, k = rows.shape
    design = np.hstack([np.kron(np.eye(n), np.ones((k, 1))), np.tile(np.column_stack([np.cos(angles), np.sin(angles)]), (n, 1))])
    x, squares, *_ = np.linalg.lstsq(design, rows.ravel(), rcond=None)
    even = np.sum((rows - rows.mean(axis=1, keepdims=True)) ** 2)
    freedom = rows.size - n - 2
    for i, w in enumerate(found["wall"]):
        check(f"wall at row {i + 1}", x[i], w["thickness_m"], 1e-9)
    check("wall: scatter", np.sqrt(squares[0] / freedom), found["scatter_m"], 1e-7)
    check("wall: wave", np.hypot(x[-2], x[-1]), found["lopsided"]["amplitude_m"], 1e-7)
    check("wall: direction", np.arctan2(x[-1], x[-2]), found["lopsided"]["direction_rad"], 1e-6)
    ratio = (even - squares[0]) / 2 / (squares[0] / freedom)
    check("wall: chance of no wave", stats.f.sf(ratio, 2, freedom), found["lopsided"]["chance"], 1e-5)


def relaxation(memory: dict) -> None:
    with open(ROOT / "cases/relaxation.csv", encoding="utf-8") as f:
        table = [r for r in csv.reader(line for line in f if not line.startswith("#"))][1:]
    t, y = np.array(table, dtype=float).T
    y = y * 1e6
    k = len(memory["terms"])

    def series(t, whole, *p):
        shares, logs = np.array(p[:k]), np.array(p[k:])
        return whole * (1 - np.sum(shares[:, None] * (1 - np.exp(-t / np.exp(logs)[:, None])), axis=0))

    start = [y[0], *np.full(k, 0.18 / k), *np.log(np.geomspace(t[0] * 5, t[-1] / 10, k))]
    p, cov = optimize.curve_fit(series, t, y, start, sigma=y, xtol=1e-14, ftol=1e-14, maxfev=20_000)
    errors = np.sqrt(np.diag(cov))
    check("memory: instantaneous modulus", p[0], memory["instantaneous_SI"], 1e-5)
    check("memory: its error", errors[0] / p[0], memory["instantaneous_relative_error"], 2e-2)
    for i, term in enumerate(memory["terms"]):
        check(f"memory: share {i + 1}", p[1 + i], term["share"], 1e-4)
        check(f"memory: time {i + 1}", np.exp(p[1 + k + i]), term["time_s"], 1e-4)
        check(f"memory: error of share {i + 1}", errors[1 + i], term["share_error"], 2e-2)
        check(f"memory: error of time {i + 1}", errors[1 + k + i], term["time_relative_error"], 2e-2)


def together(answer: dict) -> None:
    all_ = answer["estimates"]
    logs = np.log([e["youngs_modulus_Pa"] for e in all_])
    names = sorted({b["input"] for e in all_ for b in e["budget"]})
    effects = np.array([[sum(b["effect"] for b in e["budget"] if b["input"] == n) for n in names] for e in all_])
    inverse = np.linalg.inv(effects @ effects.T)
    weights = inverse.sum(axis=1) / inverse.sum()
    c = answer["combined"]
    mean = weights @ logs
    check("together: modulus", np.exp(mean), c["youngs_modulus_Pa"], 1e-8)
    check("together: deviation", 1 / np.sqrt(inverse.sum()), c["relative_deviation"], 1e-6)
    squares = (logs - mean) @ inverse @ (logs - mean)
    check("together: chi squared", squares, c["chi_squared"], 1e-5)
    check("together: chance", stats.chi2.sf(squares, len(all_) - 1), c["chance"], 1e-5)


def main() -> int:
    program = os.environ.get("PROGRAM")
    command = [program] if program else ["cargo", "run", "-q", "--release", "--"]
    printed = subprocess.run([*command, "bench", FILE, "--json"], check=True, capture_output=True, text=True, cwd=ROOT).stdout
    answer = json.loads(printed)
    tests = tomllib.loads((ROOT / FILE).read_text(encoding="utf-8"))
    by = {e["test"]: e for e in answer["estimates"]}
    strips(tests, by, answer["memory"])
    wall(tests, answer["thickness"][0])
    relaxation(answer["memory"])
    for m in answer["hardness"][0]["maps"]:
        s = answer["hardness"][0]["shore_a"]
        known = {
            "gent": 0.0981e6 * (56 + 7.62336 * s) / (0.137505 * (254 - 2.54 * s)),
            "logarithmic": 1e6 * 10 ** (0.0235 * s - 0.6403),
            "flat-punch": 0.75 * (0.55 + 0.075 * s) / (2 * 0.395e-3 * 25.4e-6 * (100 - s)),
        }
        if m["map"] in known:
            check(f"hardness: {m['map']}", known[m["map"]], m["youngs_modulus_Pa"], 1e-12)
    together(answer)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
