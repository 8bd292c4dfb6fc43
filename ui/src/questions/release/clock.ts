// The clock of the player: how fast time runs, where it skips, how a moment reads. No drawing.

import type { Film } from "../../types";
import type { History, ReleaseReport } from "../reports";

/** A snap lasts this long on the screen unless a person sets another speed, s. */
const SNAP_ON_SCREEN = 3;
/** What would take longer than this on the screen, and in which nothing happens fast, is skipped through. */
const PATIENCE = 4;
export const SLOWEST = 5000;

/** Real seconds per second on the screen. */
export function usualSpeed(report: ReleaseReport): number {
  const over = report.snap === null ? report.evidence.followed_s / 5 : report.snap.snap_time_s / SNAP_ON_SCREEN;
  return Math.max(1 / SLOWEST, Math.min(1, over));
}

export function endOf(report: ReleaseReport): number {
  const times = report.history.time_s;
  return times[times.length - 1] ?? report.evidence.followed_s;
}

export interface Pace {
  /** Real seconds per second on the screen. */
  rate: number;
  /** Where this pace ends. */
  until: number;
  /** What is skipped through, in words; "" at the speed chosen. */
  skips: string;
}

/** How fast time runs at `t` with the speed chosen. */
export function paceAt(report: ReleaseReport, t: number, speed: number): Pace {
  const end = endOf(report);
  const snap = report.snap;
  if (snap === null) return { rate: speed, until: end, skips: "" };
  const quiet = Math.max(0, snap.wait_s - 0.5 * snap.snap_time_s);
  if (t < quiet && quiet / speed > PATIENCE) return { rate: quiet / 2, until: quiet, skips: report.outcome === "waits" ? "Skips quickly through the wait." : "Skips quickly until the snap." };
  const tail = Math.max(snap.end_s + 3 * snap.snap_time_s, report.ringing?.to_s ?? 0, (report.jump?.takeoff_s ?? 0) + snap.snap_time_s);
  if (t >= tail && (end - tail) / speed > 2 * PATIENCE) return { rate: (end - tail) / 3, until: end, skips: "Skips quickly through what follows." };
  return { rate: speed, until: t < quiet ? quiet : t < tail ? Math.min(tail, end) : end, skips: "" };
}

/** Time at a place of the film. */
export function timeAt(film: Film, place: number): number {
  const last = film.frames.length - 1;
  const i = Math.max(0, Math.min(last, Math.floor(place)));
  const a = film.frames[i]?.at ?? 0;
  const b = film.frames[Math.min(last, i + 1)]?.at ?? a;
  return a + (place - i) * (b - a);
}

/** Rows of the history between two times, thinned to what a plot can show; the ends are kept. */
export function rowsBetween(history: History, from: number, to: number, log: boolean, most = 900): number[] {
  const t = history.time_s;
  let a = 0;
  while (a + 1 < t.length && (t[a + 1] ?? 0) <= from) a++;
  let b = t.length - 1;
  while (b > a && (t[b - 1] ?? 0) >= to) b--;
  const out: number[] = [];
  if (b - a <= most) {
    for (let i = a; i <= b; i++) out.push(i);
    return out;
  }
  // Even in what is drawn: in time, or in its logarithm.
  const where = (v: number) => (log ? Math.log(Math.max(v, from, 1e-12)) : v);
  const step = (where(to) - where(from)) / most;
  let next = -Infinity;
  for (let i = a; i <= b; i++) {
    const w = where(t[i] ?? 0);
    if (w >= next || i === b) {
      out.push(i);
      next = w + step;
    }
  }
  return out;
}

/** Value of a column at a time, on the straight between two rows. */
export function valueAt(times: readonly number[], values: readonly number[], t: number): number {
  let low = 0;
  let high = times.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((times[middle] ?? 0) <= t) low = middle;
    else high = middle;
  }
  const [a, b, va, vb] = [times[low] ?? 0, times[high] ?? 0, values[low] ?? NaN, values[high] ?? NaN];
  return b > a ? va + ((t - a) / (b - a)) * (vb - va) : va;
}
