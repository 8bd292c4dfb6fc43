#!/usr/bin/env python3
"""What a call costs beyond its computation, and how long many thresholds take. Prints; asserts nothing.

    python bench/python/overhead.py [COUNT]

COUNT thresholds (a million where nothing is said) over wall and half-angle of a cap, on one thread for a tenth of them, on all cores for all.
"""

from __future__ import annotations

import os
import sys
import time

import numpy as np

import calotte


def per_call(call, count: int) -> float:
    """Least seconds per call over five rounds."""
    best = float("inf")
    for _ in range(5):
        begin = time.perf_counter()
        for _ in range(count):
            call()
        best = min(best, (time.perf_counter() - begin) / count)
    return best


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    cap = calotte.Case.new("cap")
    # The mass is read in a few hundred nanoseconds, so that what is measured is the call.
    one = {"wall.thickness": np.array([2e-3])}
    cap.readings("mass", one)
    call = per_call(lambda: cap.readings("mass", one), 2000)
    core = calotte._readings.gauges_of(cap, ("mass",)).core
    keys, arrays = ["wall.thickness"], [np.array([2e-3])]
    bare = per_call(lambda: core.read(keys, arrays, 1, None), 2000)
    print(f"a reading of one mass: {1e6 * call:.1f} us, of which {1e6 * bare:.1f} us in the compiled half")
    print(f"`case.look()`, on a thread of its own: {1e6 * per_call(cap.look, 500):.0f} us with its answer")

    def points(n: int) -> dict[str, tuple[np.ndarray, str]]:
        side = int(np.sqrt(n))
        h, a = np.meshgrid(np.linspace(1.0, 3.5, side), np.linspace(45.0, 75.0, n // side))
        return {"wall.thickness": (h, "mm"), "shape.half_angle": (a, "deg")}

    cap.thresholds(points(100))
    rates = []
    for threads, n in ((1, count // 10), (0, count)):
        varied = points(n)
        begin = time.perf_counter()
        found = cap.thresholds(varied, threads=threads)
        took = time.perf_counter() - begin
        rates.append(found.thickness_ratio.size / took)
        on = threads or os.cpu_count()
        print(
            f"{found.thickness_ratio.size} thresholds on {on} thread{'s' if on != 1 else ''}: {took:.1f} s, "
            f"{1e3 * on * took / found.thickness_ratio.size:.3f} ms of a core each, {found.certified.mean():.1%} certified, {len(found.notes)} notes"
        )
    print(f"scaling: {rates[1] / rates[0]:.2f} times the rate of one thread")


if __name__ == "__main__":
    main()
