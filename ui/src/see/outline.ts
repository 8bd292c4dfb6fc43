// The meridian in section as SVG paths. Pure functions: metres in, pixels out.

import type { Film, Frame } from "../types";
import type { Ripple } from "../state/scene";
import { height, type Extent } from "./extent";

export interface Sheet {
  /** Pixels per metre. */
  scale: number;
  /** Where axis and height 0 lie. */
  x: number;
  y: number;
}

export type Point = [number, number];
type Grid = Pick<Film, "s_m" | "thickness_m">;

const put = (p: Sheet, side: number, r: number, h: number): Point => [p.x + side * r * p.scale, p.y - h * p.scale];

/** Points of one face of the wall: `face` 1 outer, -1 inner, 0 the middle; `side` 1 right, -1 left of the axis. */
export function face(f: Frame, grid: Grid, e: Extent, p: Sheet, side: 1 | -1, which: -1 | 0 | 1, wallScale: number, from = 0, to = f.r_m.length - 1): Point[] {
  const up = e.flip ? -1 : 1;
  const out: Point[] = [];
  for (let i = from; i <= to; i++) {
    const half = 0.5 * which * (grid.thickness_m[i] ?? 0) * wallScale;
    const slope = f.slope_rad[i] ?? 0;
    const r = Math.max(0, (f.r_m[i] ?? 0) + half * Math.sin(slope));
    out.push(put(p, side, r, height(e, f.z_m[i] ?? 0) - up * half * Math.cos(slope)));
  }
  return out;
}

export function pathOf(points: Point[], closed = false): string {
  let d = "";
  for (let i = 0; i < points.length; i++) {
    const [x, y] = points[i] ?? [0, 0];
    d += `${i === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`;
  }
  return closed && d !== "" ? `${d}Z` : d;
}

/** The wall of one half, closed. */
export function wall(f: Frame, grid: Grid, e: Extent, p: Sheet, side: 1 | -1, wallScale: number, from = 0, to = f.r_m.length - 1): string {
  return pathOf([...face(f, grid, e, p, side, 1, wallScale, from, to), ...face(f, grid, e, p, side, -1, wallScale, from, to).reverse()], true);
}

/** The shape with a ripple laid on, where the section plane cuts it: `swing` is the share of it on that side, -1..1. */
export function rippled(f: Frame, ripple: Ripple, swing: number): Frame {
  const out = { ...f, r_m: [...f.r_m], z_m: [...f.z_m] };
  for (let i = 0; i < f.r_m.length; i++) {
    const c = Math.cos(f.slope_rad[i] ?? 0);
    const s = Math.sin(f.slope_rad[i] ?? 0);
    const across = swing * (ripple.across[i] ?? 0);
    const along = swing * (ripple.along[i] ?? 0);
    out.r_m[i] = (f.r_m[i] ?? 0) + along * c - across * s;
    out.z_m[i] = (f.z_m[i] ?? 0) + along * s + across * c;
  }
  return out;
}

/** Index of the first place at or behind arclength `s`. */
export function indexAt(s_m: number[], s: number): number {
  const i = s_m.findIndex((v) => v >= s);
  return i < 0 ? s_m.length - 1 : i;
}
