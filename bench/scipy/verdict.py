"""Times the tasks a researcher would script today and prints one JSON object a line.

Keys: task, seconds (median of `repeats` runs after one to warm up), value, unit.
Usage: python bench/scipy/verdict.py [--quick]
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one core, as on the other side

import numpy as np  # noqa: E402

from cap import Cap, threshold  # noqa: E402


def timed(run, repeats: int):
    """Median seconds of `run` and its last result."""
    result = run()
    seconds = []
    for _ in range(repeats):
        start = time.perf_counter()
        result = run()
        seconds.append(time.perf_counter() - start)
    return statistics.median(seconds), result


def say(task: str, seconds: float, value: float, unit: str, **more) -> None:
    print(json.dumps({"task": task, "seconds": seconds, "value": value, "unit": unit, **more}), flush=True)


def main(quick: bool) -> None:
    repeats = 3 if quick else 11
    for degrees, h in ((20, 0.005), (60, 0.05)):
        cap = Cap(nu=0.3, alpha=np.radians(degrees), h=h)
        seconds, solution = timed(lambda: cap.solve(1e-8), repeats)
        found = cap.measures(solution)
        say(
            f"inverted nu=0.3 alpha={degrees} h/R={h}",
            seconds,
            found["stretching"] + found["bending"],
            "E R^3",
            repeats=repeats,
            nodes=int(solution.x.size),
            **found,
        )
    repeats = 1 if quick else 5
    for degrees, low, high in ((60, 0.05, 0.2), (90, 0.1, 0.4)):
        run = lambda: threshold(0.3, np.radians(degrees), low, high, 1e-6, 1e-6)  # noqa: E731
        seconds, (value, _, solves) = timed(run, repeats)
        say(f"threshold nu=0.3 alpha={degrees}", seconds, value, "h/R", repeats=repeats, solves=solves)


if __name__ == "__main__":
    main("--quick" in sys.argv[1:])
