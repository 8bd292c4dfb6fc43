// Which side of the threshold is which, read off what the map holds: points of margin curves (below 1 the part stays) and the
// verdict of the case itself. A place takes the verdict of the nearest known one with no threshold between.

import type { MapReport, PlaneCurve } from "../../api";

export type Side = "stays" | "returns";
type Point = [number, number];

/** Places as shares of the drawing, 0 to 1 both ways. */
export type ToPlane = (x: number, y: number) => Point;

export interface Known {
  at: Point;
  side: Side;
}

/** What is known. `here`: the case's own place and verdict, where that is one of the two. */
export function known(report: MapReport, plane: ToPlane, here: Known | null): Known[] {
  const out: Known[] = here === null ? [] : [here];
  for (const m of report.margins) {
    if (m.ratio === 1) continue;
    const side: Side = m.ratio < 1 ? "stays" : "returns";
    for (const c of m.curves) c.x_si.forEach((x, i) => out.push({ at: plane(x, c.y_si[i] ?? NaN), side }));
  }
  return out.filter(({ at }) => at.every((v) => v >= 0 && v <= 1));
}

function cross(a: Point, b: Point, c: Point, d: Point): boolean {
  const turn = (p: Point, q: Point, r: Point) => (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
  return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}

const segments = (curves: readonly PlaneCurve[], plane: ToPlane): [Point, Point][] =>
  curves.flatMap((c) => {
    const points = c.x_si.map((x, i) => plane(x, c.y_si[i] ?? NaN));
    return points.slice(1).map((p, i): [Point, Point] => [points[i] ?? p, p]);
  });

export function sideAt(at: Point, all: readonly Known[], threshold: readonly [Point, Point][]): Side | null {
  const far = (k: Known) => Math.hypot(k.at[0] - at[0], k.at[1] - at[1]);
  const near = [...all].sort((a, b) => far(a) - far(b)).slice(0, 6);
  return near.find((k) => !threshold.some(([a, b]) => cross(a, b, at, k.at)))?.side ?? null;
}

function distance(p: Point, [a, b]: [Point, Point], aspect: number): number {
  const [px, py, ax, ay, bx, by] = [p[0] * aspect, p[1], a[0] * aspect, a[1], b[0] * aspect, b[1]];
  const [dx, dy] = [bx - ax, by - ay];
  const t = dx === 0 && dy === 0 ? 0 : Math.max(0, Math.min(1, ((px - ax) * dx + (py - ay) * dy) / (dx * dx + dy * dy)));
  return Math.hypot(px - ax - t * dx, py - ay - t * dy);
}

/** Where each side's word has most room; nothing for a side that the map does not show. */
export function places(report: MapReport, plane: ToPlane, here: Known | null): { side: Side; at: Point }[] {
  const all = known(report, plane, here);
  const threshold = segments(report.threshold, plane);
  if (all.length === 0 || threshold.length === 0) return [];
  const lines = [...threshold, ...segments(report.margins.flatMap((m) => m.curves), plane), ...segments(report.waiting.flatMap((w) => w.curves), plane), ...segments(report.validity.flatMap((v) => v.curves), plane), ...segments(report.trip_loads.flatMap((t) => t.curves), plane)];
  const best = new Map<Side, { room: number; at: Point }>();
  for (let i = 2; i < 22; i++)
    for (let j = 1; j < 16; j++) {
      const at: Point = [i / 24, j / 16];
      const side = sideAt(at, all, threshold);
      if (side === null) continue;
      const room = Math.min(at[0] * 2, (1 - at[0]) * 2, at[1], 1 - at[1], ...lines.map((l) => distance(at, l, 2)));
      if (room > (best.get(side)?.room ?? 0.03) + 1e-9) best.set(side, { room, at });
    }
  return [...best].map(([side, { at }]) => ({ side, at }));
}
