"""Recomputes with SciPy what `calotte logbook` says about the worked logbook without its memory.

Margins, their errors and slopes come from the answer; everything after them (chances, scores, exact counts, comparison of trip
loads, line with errors in both, posterior of thickness factor and scatter by sums on a grid) is recomputed here.
Usage: python bench/lab/check_logbook.py PROGRAM...      exits with 1 and says which line failed.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from scipy import odr, stats

CASES = Path(__file__).resolve().parents[2] / "cases" / "logbook"
failed = []


def holds(name: str, found: float, due: float, within: float) -> None:
    ok = abs(found - due) <= within
    print(f"{'ok ' if ok else 'NOT'} {name}: {found:.6g}, SciPy {due:.6g} (within {within:.2g})")
    if not ok:
        failed.append(name)


def answer(program: list[str]) -> dict:
    """The worked logbook with the memory and the trip loads taken away: probits of outcomes alone; and with the loads."""
    with tempfile.TemporaryDirectory() as folder:
        case = (CASES / "case.toml").read_text().split("[memory]")[0] + "[load]" + (CASES / "case.toml").read_text().split("[load]")[1]
        (Path(folder) / "case.toml").write_text(case)
        rows = (CASES / "trials.csv").read_text().splitlines()
        (Path(folder) / "all.csv").write_text("\n".join(rows) + "\n")
        head = rows[1].split(",")
        keep = [i for i, name in enumerate(head) if not name.startswith(("trip_load", "note"))]
        plain = [",".join(row.split(",")[i] for i in keep) for row in rows[1:]]
        (Path(folder) / "outcomes.csv").write_text("\n".join(plain) + "\n")
        out = {}
        for name in ("outcomes", "all"):
            run = [*program, "logbook", f"{folder}/{name}.csv", "--case", f"{folder}/case.toml", "--json"]
            out[name] = json.loads(subprocess.run(run, capture_output=True, check=False).stdout)
        return out


def main() -> int:
    told = answer(sys.argv[1:] or ["cargo", "run", "-q", "--release", "--"])
    r = told["outcomes"]
    set_ = r["assumed"]
    m = np.array([s["margin"] for s in r["specimens"]])
    sd = np.array([s["margin_sd"] for s in r["specimens"]])
    by = np.array([s["margin_by_thickness"] for s in r["specimens"]])
    stays = np.array([s["trials"][0]["outcome"] == "stays" for s in r["specimens"]])
    lapse, step = set_["lapse"], set_["trial_scatter"]

    # Chances as described, their scores and the exact chance of the count.
    p = (1 - lapse) * stats.norm.cdf(m / np.hypot(np.hypot(sd, 1e-6), step)) + lapse / 3
    rest = (1 - lapse) * stats.norm.sf(m / np.hypot(np.hypot(sd, 1e-6), step)) + lapse / 3
    d = r["as_described"]
    holds("log score", d["log_score"], np.mean(np.log(np.where(stays, p, rest))), 1e-9)
    seen = stays.astype(float)
    holds("Brier score", d["brier"], np.mean((p - seen) ** 2 + (rest - (1 - seen)) ** 2 + (lapse / 3) ** 2), 1e-9)
    holds("expected to stay", d["counts"][2]["expected"], p.sum(), 1e-9)
    pmf = np.array([1.0])
    for q in p:
        pmf = np.convolve(pmf, [1 - q, q])
    at = pmf[int(seen.sum())]
    holds("chance of the count", d["counts"][2]["chance"], pmf[pmf <= at * (1 + 1e-9)].sum(), 1e-9)

    # Posterior of thickness factor and scatter: a probit with flat priors of the logarithms, by sums.
    sought = {s["name"]: s for s in r["sought"]}
    k, s = sought["thickness_factor"], sought["margin_scatter"]
    lk = np.linspace(*np.log(k["prior_bounds"]), 1201)
    ls = np.linspace(*np.log(s["prior_bounds"]), 201)
    mean = m[:, None, None] + by[:, None, None] * lk[None, :, None]
    wide = np.sqrt(sd[:, None, None] ** 2 + np.exp(2 * ls)[None, None, :] + step**2)
    like = np.where(stays[:, None, None], stats.norm.cdf(mean / wide), stats.norm.sf(mean / wide))
    log = np.log((1 - lapse) * like + lapse / 3).sum(axis=0)
    density = np.exp(log - log.max())
    density /= density.sum()
    for name, one, axis, x in [("thickness", k, 1, lk), ("scatter", s, 0, ls)]:
        share = density.sum(axis=axis)
        centre = (share * x).sum()
        deviation = np.sqrt((share * (x - centre) ** 2).sum())
        # Four standard errors of the chains' own draws.
        error = 4 * deviation / np.sqrt(one["effective_draws"])
        holds(f"posterior of the {name}: deviation", one["log_sd"], deviation, error)
        quantile = np.interp(0.5, np.cumsum(share), x)
        holds(f"posterior of the {name}: median", np.log(one["median"]), quantile, 1.3 * error)

    # Trip loads as described.
    c = next(c for c in told["all"]["compared"] if c["what"] == "trip load")
    rows = [row for row in c["rows"] if row["computed_si"] is not None]
    x, y = (np.log([row[key] for row in rows]) for key in ("computed_si", "read_si"))
    sx, sy = (np.array([row[key] for row in rows]) for key in ("computed_sd", "read_sd"))
    squares = (((y - x) ** 2) / (sx**2 + sy**2)).sum()
    holds("trip loads: chi squared", c["chi_squared"], squares, 1e-9 * squares)
    holds("trip loads: its chance", c["chance"], stats.chi2.sf(squares, len(rows)), 1e-10)
    fit = odr.ODR(odr.RealData(x, y, sx=sx, sy=sy), odr.unilinear, beta0=[1.0, 0.0]).run()
    holds("line: slope", c["line"]["slope"], fit.beta[0], 1e-3 * abs(fit.sd_beta[0]) + 1e-5)
    holds("line: intercept", c["line"]["intercept"], fit.beta[1], 1e-3 * abs(fit.sd_beta[1]) + 1e-5)
    print(f"{len(failed)} failed" if failed else "all agree")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
