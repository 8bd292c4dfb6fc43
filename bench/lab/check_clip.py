"""Growth, ringing and flight of invented clips, fitted again by SciPy to the track that `calotte clip --out` writes.

PROGRAM names the program. The clips are painted here: bars whose upper edges follow a motion in closed form (growth from rest, a damped
swing about the other side, a throw), blurred by a Gaussian (`scipy.special.ndtr`), with noise, eight bits. Nothing is shared with the
program but the pictures, its track and the windows that it names. Held are
- the figures against those by `scipy.optimize.least_squares` with Huber's loss, to a hundredth of their standard error, and against
  `scipy.optimize.curve_fit` (plain squares), to half of it;
- the standard errors against Huber's covariance (1981, Robust Statistics, eq. 6.5) from a Jacobian of SciPy's own, widened by
  `scipy.stats.t` and by the correlation of the residuals (Bartlett 1946) as docs/clip.md states, to 3 %;
- the figures against the motion that was painted, to four standard errors.
"""

import csv
import json
import os
import subprocess
import tempfile
from pathlib import Path

import numpy as np
from scipy import optimize, special, stats
from skimage import io

from agree import finish, held

PROGRAM = os.environ.get("PROGRAM", "calotte")
RATE, SCALE, GRAVITY = 2000.0, 5.0, 9.81  # 1/s, px/mm, m/s²
WIDTH, HEIGHT, FRAMES = 120, 200, 300
BARS = {"line": 60, "rim-left": 24, "rim-right": 96}  # columns
WAY, SIGMA, OMEGA, ZETA, SWITCH, SPEED = -55.0, 0.27, 0.2, 0.04, 70.3, 1.15  # px and frames
HUBER = 2.5


def over_rim(k):
    """Height over the rim, px, in frame k."""
    d = WAY * OMEGA**2 / (SIGMA**2 + OMEGA**2)
    u = k - SWITCH
    damped, rate = OMEGA * np.sqrt(1 - ZETA**2), ZETA * OMEGA
    c = d - WAY
    s = (SIGMA * d + rate * c) / damped
    swing = WAY + np.exp(-rate * u) * (c * np.cos(damped * u) + s * np.sin(damped * u))
    return np.where(u < 0, d * np.exp(SIGMA * np.minimum(u, 0)), swing)


def leaves():
    k = np.linspace(SWITCH, SWITCH + 60, 600_001)
    return k[np.argmax(over_rim(k) / WAY >= 0.9)]


def flight(k):
    u = np.maximum(k - leaves(), 0)
    return np.maximum(SPEED * u - 0.5 * GRAVITY * 1e3 * SCALE / RATE**2 * u**2, 0)


def paint(folder, jumps, random):
    y = np.arange(HEIGHT)[:, None]
    for k in range(FRAMES):
        light = np.full((HEIGHT, WIDTH), 0.8)
        rise = flight(k) if jumps else 0.0
        for name, column in BARS.items():
            up = 25.0 + rise if name != "line" else 90.0 + rise + over_rim(k)
            # Mean over a pixel of a step blurred by 0.8 px: differences of the antiderivative z Φ(z) + φ(z).
            z = lambda v: (v - (HEIGHT - 1 - up)) / 0.8
            whole = lambda v: 0.8 * (z(v) * special.ndtr(z(v)) + np.exp(-0.5 * z(v) ** 2) / np.sqrt(2 * np.pi))
            light[:, column - 9 : column + 10] -= 0.65 * (whole(y + 0.5) - whole(y - 0.5))
        light += 0.015 * random.standard_normal(light.shape)
        io.imsave(folder / f"f_{k:03}.png", np.round(255 * np.clip(light, 0, 1)).astype(np.uint8), check_contrast=False)


def read(jumps):
    with tempfile.TemporaryDirectory() as folder:
        folder, out = Path(folder), Path(folder) / "out"
        paint(folder, jumps, np.random.default_rng(11 + jumps))
        lines = [f"--{name}={column},4,{column},{HEIGHT - 5}" for name, column in BARS.items() if jumps or name == "line"]
        command = [PROGRAM, "clip", str(folder / "f_*.png"), "--linear", "--out", out, "--fps", str(RATE), "--scale", f"{SCALE} px/mm"]
        command += ["--gravity", f"{GRAVITY} m/s^2", "--shutter", "1 us", "--let-go", "0 s", *lines, *([] if jumps else ["--seated"])]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        answer = json.loads((out / "answer.json").read_text())
        rows = list(csv.DictReader(l for l in (out / "track.csv").open() if not l.startswith("#")))
    return answer, {name: np.array([float(r[name]) for r in rows]) for name in rows[0]}


def refit(curve, start, t, x, e):
    """Least Huber loss and Huber's covariance; then the widening, then plain squares."""
    size = np.maximum(np.abs(start), 1e-9)
    miss = lambda p: (curve(t, *(p * size)) - x) / e
    fit = optimize.least_squares(miss, start / size, loss="huber", f_scale=HUBER, x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=5000)
    r, n, p = miss(fit.x), len(t), len(start)
    step = 1e-6
    columns = [(miss(fit.x + step * d) - miss(fit.x - step * d)) / (2 * step) for d in np.eye(p)]
    jacobian = np.array(columns).T
    inside = np.abs(r) <= HUBER
    mean = inside.mean()
    k = 1 + p / n * inside.var() / mean**2
    factor = k**2 * np.sum(np.clip(r, -HUBER, HUBER) ** 2) / (n - p) / mean**2
    covariance = factor * np.linalg.inv(jacobian.T @ jacobian) * np.outer(size, size)
    rho = np.sum(r[1:] * r[:-1]) / np.sum(r**2)
    follow = np.sqrt((1 + rho) / (1 - rho)) if 2 / np.sqrt(n) < rho < 1 else 1.0
    widened = follow * stats.t.ppf(0.975, n - p) / stats.norm.ppf(0.975)
    plain, _ = optimize.curve_fit(curve, t, x, fit.x * size, e, xtol=1e-14, ftol=1e-14, maxfev=20_000)
    return fit.x * size, covariance, widened, plain


def compare(what, figure, value, error, plain, true):
    scatter = next(p["deviation"] for p in figure["parts"] if p["what"] == "scatter of the edge")
    held(f"{what}, Huber", figure["value"], value, 0.01 * error)
    held(f"{what}, plain squares", figure["value"], plain, 0.5 * error)
    held(f"{what}, its standard error", scatter, error, 0.03 * error)
    held(f"{what}, as painted", figure["value"], true, 4 * figure["deviation"])


def damped(t, b, a, rate, omega, phase):
    return b + a * np.exp(-rate * t) * np.cos(omega * t + phase)


def within(track, window, x="height_m", e="deviation_m"):
    keep = (track["time_s"] >= window[0] - 1e-12) & (track["time_s"] <= window[1] + 1e-12)
    return track["time_s"][keep] - window[0], track[x][keep], track[e][keep]


def swing(answer, track):
    figures = answer["figures"]
    t, x, e = within(track, answer["ringing"]["window_s"])
    omega = OMEGA * RATE * np.sqrt(1 - ZETA**2)
    start = np.array([WAY / SCALE * 1e-3, 2e-3, ZETA * OMEGA * RATE, omega, 0.0])
    # The phase first, by linear least squares.
    basis = np.exp(-start[2] * t)[:, None] * np.column_stack([np.cos(omega * t), -np.sin(omega * t)])
    c, s = np.linalg.lstsq(basis, x - start[0], rcond=None)[0]
    start[1], start[4] = np.hypot(c, s), np.arctan2(s, c)
    p, covariance, widened, plain = refit(damped, start, t, x, e)
    compare("ringing frequency (Hz)", figures["ringing_frequency_Hz"], p[3] / 2 / np.pi, widened * np.sqrt(covariance[3, 3]) / 2 / np.pi, plain[3] / 2 / np.pi, omega / 2 / np.pi)
    zeta = lambda p: p[2] / np.hypot(p[2], p[3])
    slope = np.array([p[3] ** 2, -p[2] * p[3]]) / np.hypot(p[2], p[3]) ** 3
    error = widened * np.sqrt(slope @ covariance[2:4, 2:4] @ slope)
    compare("damping ratio", figures["damping_ratio"], zeta(p), error, zeta(plain), ZETA)


def growth(answer, track):
    window = answer["growth"]["window_s"]
    t, x, e = within(track, window)
    last = t[-1]
    curve = lambda t, x0, a, sigma: x0 + a * np.exp(sigma * (t - last))
    p, covariance, widened, plain = refit(curve, np.array([1e-6, x[-1], SIGMA * RATE]), t, x, e)
    compare("growth rate (1/s)", answer["figures"]["growth_rate_per_s"], p[2], widened * np.sqrt(covariance[2, 2]), plain[2], SIGMA * RATE)


def throw(answer, track):
    t, x, e = within(track, answer["flight"]["window_s"], "pole_height_m", "pole_deviation_m")
    figures, g = answer["figures"], GRAVITY
    free = lambda t, z, v, g, a, rate, omega, phase: z + v * t - 0.5 * g * t**2 + damped(t, 0.0, a, rate, omega, phase)
    known = lambda t, z, v, *rest: free(t, z, v, g, *rest)
    omega = OMEGA * RATE * np.sqrt(1 - ZETA**2)
    basis = np.column_stack([np.ones_like(t), t, *(np.exp(-ZETA * OMEGA * RATE * t) * f(omega * t) for f in (np.cos, lambda v: -np.sin(v)))])
    z, v, c, s = np.linalg.lstsq(basis, x + 0.5 * g * t**2, rcond=None)[0]
    rest = [np.hypot(c, s), ZETA * OMEGA * RATE, omega, np.arctan2(s, c)]
    p, covariance, widened, plain = refit(known, np.array([z, v, *rest]), t, x, e)
    # Rest: the rows before the snap as the page says, a tenth of those before the steepest.
    steepest = np.argmax(np.abs(track["height_m"][4:] - track["height_m"][:-4])) + 2
    first = slice(0, steepest // 10)
    w = 1 / track["pole_deviation_m"][first] ** 2
    level = np.sum(w * track["pole_height_m"][first]) / np.sum(w)
    scatter = np.sum(w * (track["pole_height_m"][first] - level) ** 2) / (len(w) - 1)
    slope = np.array([1, p[1] / g])
    # The level at rest goes in before Student's widening, which is that of the fit.
    student = stats.t.ppf(0.975, len(t) - 6) / stats.norm.ppf(0.975)
    error = student * np.hypot(widened / student * np.sqrt(slope @ covariance[:2, :2] @ slope), np.sqrt(max(scatter, 1) / np.sum(w)))
    height = lambda p: p[0] + p[1] ** 2 / 2 / g - level
    painted = (SPEED**2 * RATE**2 / 2 / (g * 1e3 * SCALE) + WAY) / SCALE * 1e-3
    compare("jump height (m)", figures["jump_height_m"], height(p), error, height(plain), painted)
    q, covariance, widened, plain = refit(free, np.array([p[0], p[1], g, *p[2:]]), t, x, e)
    compare("gravity (m/s²)", figures["gravity_fitted_m_per_s2"], q[2], widened * np.sqrt(covariance[2, 2]), plain[2], g)


for jumps in (False, True):
    print("a part that jumps" if jumps else "a part that rests")
    answer, track = read(jumps)
    swing(answer, track)
    growth(answer, track)
    if jumps:
        throw(answer, track)
    held("way (m)", answer["figures"]["way_m"]["value"], -WAY / SCALE * 1e-3, 4 * answer["figures"]["way_m"]["deviation"])
finish()
