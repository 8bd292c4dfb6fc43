"""Recomputes with SciPy what `cargo run -p calotte-chance --example points` prints: Sobol points and Sobol indices.

Usage: python bench/lab/check_indices.py      exits with 1 and says which line failed.

Points are compared with `scipy.stats.qmc.Sobol(scramble=False)` to the last bit. Indices of Ishigami's function are compared with
`scipy.stats.sobol_indices` and must lie within five standard errors of both estimates.
"""

from __future__ import annotations

import json
import subprocess
import sys

import numpy as np
from scipy import stats


def ishigami(x: np.ndarray) -> np.ndarray:
    return np.sin(x[0]) + 7.0 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def main() -> int:
    printed = subprocess.run(
        ["cargo", "run", "-q", "-p", "calotte-chance", "--example", "points"], check=True, capture_output=True, text=True
    ).stdout
    rows = [json.loads(line) for line in printed.splitlines()]
    points = [(i, p) for name, [i], p in rows if name == "point"]
    dimensions = len(points[0][1])
    theirs = stats.qmc.Sobol(dimensions, scramble=False).random(2048)
    failures = 0
    for i, ours in points:
        if not np.array_equal(np.array(ours), theirs[i]):
            failures += 1
            print(f"FAIL point {i} differs from SciPy's")
    print(f"points: {len(points)} of {dimensions} dimensions, the same bits")
    uniform = stats.uniform(loc=-np.pi, scale=2 * np.pi)
    runs = [
        stats.sobol_indices(func=ishigami, n=4096, dists=[uniform] * 3, rng=np.random.default_rng(seed)) for seed in range(12)
    ]
    of_theirs = {
        "first": np.array([r.first_order for r in runs]),
        "total": np.array([r.total_order for r in runs]),
    }
    indices = [(i, v) for name, [i], v in rows if name == "ishigami"]
    for i, [first, first_error, total, total_error] in indices:
        for name, ours, error in [("first", first, first_error), ("total", total, total_error)]:
            all_of = of_theirs[name][:, i]
            spread = np.hypot(error, all_of.std(ddof=1) / np.sqrt(len(all_of)))
            off = abs(ours - all_of.mean())
            print(f"ishigami x{i + 1}, {name}: {ours:.5f} ± {error:.5f}, SciPy {all_of.mean():.5f}")
            if not off <= 5 * spread + 1e-4:
                failures += 1
                print(f"FAIL ishigami x{i + 1}, {name}: off by {off:.1e}, errors {spread:.1e}")
    if len(points) < 40 or len(indices) != 3:
        failures += 1
        print("FAIL rows are missing")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
