// The hysteresis of a heated disc: which branch it is on at a temperature, where it jumps, and where that is in the film.

import type { Film } from "../../types";
import type { HeatJump, HeatReport, HeatRow } from "../reports";

export type Branch = "near" | "far";

export const stable = (r: HeatRow) => r.unstable === 0 && r.unstable_n.length === 0;

export interface State {
  temperature_K: number;
  branch: Branch;
  /** What the last move did, in words; "" when nothing jumped. */
  said: string;
}

/** Whether a branch ends before `t` by this jump. */
export function beyond(jump: HeatJump | null, t: number): boolean {
  if (jump === null) return false;
  return jump.on === "heating" ? t >= jump.temperature_K : t <= jump.temperature_K;
}

/** Ends of the temperatures followed, stable rows only. */
export function range(report: HeatReport): [number, number] {
  const all = [...report.near, ...report.far].filter(stable).map((r) => r.temperature_K);
  return all.length === 0 ? [report.wall.temperature_K, report.wall.temperature_K + 1] : [Math.min(...all), Math.max(...all)];
}

/** The state after the temperature has gone to `t`. The branch is kept as long as it can hold: that is the hysteresis. */
export function move(report: HeatReport, from: State, t: number): State {
  if (from.branch === "near" && beyond(report.trip, t) && report.far.length > 0) {
    // A trip whose other side resets at once would swing to and fro; the far branch must hold there.
    if (!beyond(report.reset, t)) return { temperature_K: t, branch: "far", said: "trip" };
  }
  if (from.branch === "far" && beyond(report.reset, t) && !beyond(report.trip, t)) return { temperature_K: t, branch: "near", said: "reset" };
  return { temperature_K: t, branch: from.branch, said: "" };
}

/** The stretch of stable rows of a branch that holds temperature `t`: indices of the rows on both sides and the share between them. */
function bracket(rows: readonly HeatRow[], t: number): { i: number; j: number; share: number } | null {
  let best: { i: number; j: number; share: number } | null = null;
  let least = Infinity;
  rows.forEach((a, i) => {
    const b = rows[i + 1];
    if (b !== undefined && stable(a) && stable(b)) {
      const [low, high] = [Math.min(a.temperature_K, b.temperature_K), Math.max(a.temperature_K, b.temperature_K)];
      if (t >= low && t <= high && high > low && least > 0) {
        best = { i, j: i + 1, share: (t - a.temperature_K) / (b.temperature_K - a.temperature_K) };
        least = 0;
      }
    }
    // Near the limit itself the last stable row stands for what lies between it and the jump.
    const off = Math.abs(a.temperature_K - t);
    if (stable(a) && off < least) {
      best = { i, j: i, share: 0 };
      least = off;
    }
  });
  return best;
}

/** Travel of the centre on a branch at a temperature; null where the branch has no stable row. */
export function travelAt(report: HeatReport, branch: Branch, t: number): number | null {
  const rows = report[branch];
  const at = bracket(rows, t);
  if (at === null) return null;
  const [a, b] = [rows[at.i]?.travel_m ?? NaN, rows[at.j]?.travel_m ?? NaN];
  return a + at.share * (b - a);
}

/** Place in the film of a branch at a temperature; null when the film does not show the branch. */
export function filmPlace(report: HeatReport, film: Film, branch: Branch, t: number): number | null {
  const rows = report[branch];
  const fits = film.frames.map((f, i) => ({ f, i })).filter(({ f }) => f.branch === branch && (f.row === null || (rows[f.row] !== undefined && stable(rows[f.row] as HeatRow))));
  if (fits.length === 0) return null;
  let best = fits[0]?.i ?? 0;
  let least = Infinity;
  for (let k = 0; k < fits.length; k++) {
    const [a, b] = [fits[k], fits[k + 1]];
    if (a === undefined) continue;
    if (b !== undefined && b.i === a.i + 1 && (a.f.at - t) * (b.f.at - t) <= 0 && a.f.at !== b.f.at) return a.i + (t - a.f.at) / (b.f.at - a.f.at);
    const off = Math.abs(a.f.at - t);
    if (off < least) {
      least = off;
      best = a.i;
    }
  }
  return best;
}

export interface Piece {
  branch: Branch;
  stable: boolean;
  rows: HeatRow[];
}

/** Branches cut where stability changes; pieces share the row at the cut. */
export function pieces(report: HeatReport): Piece[] {
  const out: Piece[] = [];
  for (const branch of ["near", "far"] as const) {
    const own: Piece[] = [];
    for (const r of report[branch]) {
      const piece = own[own.length - 1];
      if (piece !== undefined && piece.stable === stable(r)) piece.rows.push(r);
      else own.push({ branch, stable: stable(r), rows: [...(piece?.rows.slice(-1) ?? []), r] });
    }
    out.push(...own);
  }
  return out.filter((p) => p.rows.length > 1);
}
