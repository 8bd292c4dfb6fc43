// The part as a closed surface with its true wall: outer face, inner face, rim, edge of the hole, cut faces. Buffers are kept and
// written in place; they are made anew only when the number of points changes.

import { BufferAttribute, BufferGeometry } from "three";
import type { Film, Frame } from "../types";
import type { Ripple } from "../state/scene";
import { height, type Extent } from "./extent";

/** What a surface is made from. */
export interface Shape {
  frame: Frame;
  film: Pick<Film, "s_m" | "thickness_m">;
  extent: Extent;
  wallScale: number;
  /** Part of the round that is drawn, rad. */
  span: number;
  segments: number;
  ripple: Ripple | null;
  phase: number;
  /** Colour of every place, linear; and of the cut faces (`null`: as the place). */
  colours: (i: number) => readonly [number, number, number];
  cutColour: readonly [number, number, number] | null;
}

/** Angle at which the round begins: the opening of a cut part looks at the viewer. */
export const startOf = (span: number) => Math.PI / 2 + (2 * Math.PI - span) / 2;

export class Solid {
  readonly geometry = new BufferGeometry();
  private key = "";
  private places = 0;
  private positions = new Float32Array();
  private normals = new Float32Array();
  private colours = new Float32Array();

  /** Place of the film and angle of a vertex, for picking. */
  placeOf(vertex: number): number {
    const round = 2 * this.places + 4;
    const p = vertex % round;
    if (p < this.places) return p;
    if (p < 2 * this.places) return p - this.places;
    return p < 2 * this.places + 2 ? this.places - 1 : 0;
  }

  /** Writes the shape. */
  write(s: Shape): void {
    const n = s.film.s_m.length;
    const closed = s.span > 6.28;
    const columns = s.segments + 1;
    const key = [n, s.segments, closed, s.extent.flip].join();
    if (key !== this.key) this.make(key, n, s.segments, closed, s.extent.flip);
    const round = 2 * n + 4;
    // Profile: position and normal of every place on both faces, heights as drawn.
    const up = s.extent.flip ? -1 : 1;
    const { r_m: r, z_m: z, slope_rad: slope } = s.frame;
    const rip = s.ripple === null ? null : laid(s.ripple, s.film.s_m);
    const start = startOf(s.span);
    const swing = Math.cos(s.phase);
    for (let c = 0; c < columns; c++) {
      const theta = start + (s.span * c) / s.segments;
      const cos = Math.cos(theta);
      const sin = Math.sin(theta);
      const wave = rip === null ? 0 : swing * Math.cos(rip.n * theta);
      const side = rip === null ? 0 : swing * Math.sin(rip.n * theta);
      const base = c * round;
      for (let i = 0; i < n; i++) {
        const ca = Math.cos(slope[i] ?? 0);
        const sa = Math.sin(slope[i] ?? 0);
        // Outward: to the right of the meridian, the convex side of a bowl as made.
        const half = 0.5 * (s.film.thickness_m[i] ?? 0) * s.wallScale;
        let rr = r[i] ?? 0;
        let zz = z[i] ?? 0;
        let around = 0;
        if (rip !== null) {
          const across = (rip.across[i] ?? 0) * wave;
          const along = (rip.along[i] ?? 0) * wave;
          rr += along * ca - across * sa;
          zz += along * sa + across * ca;
          around = (rip.around[i] ?? 0) * side;
        }
        const h = height(s.extent, zz);
        const a = Math.max(0, rr + half * sa);
        const b = Math.max(0, rr - half * sa);
        this.vertex(base + i, a * cos - around * sin, h - up * half * ca, a * sin + around * cos, sa * cos, -up * ca, sa * sin);
        this.vertex(base + n + i, b * cos - around * sin, h + up * half * ca, b * sin + around * cos, -sa * cos, up * ca, -sa * sin);
      }
      // Rim and edge of the hole: along the meridian, outwards.
      for (const [at, i, sign] of [[2 * n, n - 1, 1], [2 * n + 2, 0, -1]] as const) {
        const ca = sign * Math.cos(slope[i] ?? 0);
        const sa = sign * Math.sin(slope[i] ?? 0);
        for (const k of [0, 1]) {
          const from = 3 * (base + k * n + i);
          this.vertex(base + at + k, this.positions[from] ?? 0, this.positions[from + 1] ?? 0, this.positions[from + 2] ?? 0, ca * cos, up * sa, ca * sin);
        }
      }
      for (let p = 0; p < round; p++) this.colour(base + p, s.colours(this.placeOf(p)));
    }
    if (!closed) {
      // Cut faces: the two end columns again, with normals of the plane.
      for (const [k, c] of [[0, 0], [1, columns - 1]] as const) {
        const theta = start + (s.span * c) / s.segments;
        const sign = k === 0 ? 1 : -1;
        for (let i = 0; i < 2 * n; i++) {
          const from = 3 * (c * round + i);
          const to = columns * round + k * 2 * n + i;
          this.vertex(to, this.positions[from] ?? 0, this.positions[from + 1] ?? 0, this.positions[from + 2] ?? 0, sign * Math.sin(theta), 0, -sign * Math.cos(theta));
          this.colour(to, s.cutColour ?? s.colours(i % n));
        }
      }
    }
    for (const name of ["position", "color"]) (this.geometry.getAttribute(name) as BufferAttribute).needsUpdate = true;
    if (rip !== null) this.geometry.computeVertexNormals();
    (this.geometry.getAttribute("normal") as BufferAttribute).needsUpdate = true;
  }

  private vertex(i: number, x: number, y: number, z: number, nx: number, ny: number, nz: number): void {
    const k = 3 * i;
    this.positions[k] = x;
    this.positions[k + 1] = y;
    this.positions[k + 2] = z;
    this.normals[k] = nx;
    this.normals[k + 1] = ny;
    this.normals[k + 2] = nz;
  }

  private colour(i: number, c: readonly [number, number, number]): void {
    const k = 3 * i;
    this.colours[k] = c[0];
    this.colours[k + 1] = c[1];
    this.colours[k + 2] = c[2];
  }

  private make(key: string, n: number, segments: number, closed: boolean, flip: boolean): void {
    this.key = key;
    this.places = n;
    const round = 2 * n + 4;
    const columns = segments + 1;
    const count = columns * round + (closed ? 0 : 4 * n);
    this.positions = new Float32Array(3 * count);
    this.normals = new Float32Array(3 * count);
    this.colours = new Float32Array(3 * count);
    const index: number[] = [];
    const quad = (a: number, b: number, c: number, d: number, turn: boolean) => {
      if (turn) index.push(a, c, b, b, c, d);
      else index.push(a, b, c, b, d, c);
    };
    for (let c = 0; c < segments; c++) {
      const here = c * round;
      const next = here + round;
      for (let i = 0; i + 1 < n; i++) {
        quad(here + i, here + i + 1, next + i, next + i + 1, flip);
        quad(here + n + i, here + n + i + 1, next + n + i, next + n + i + 1, !flip);
      }
      quad(here + 2 * n, here + 2 * n + 1, next + 2 * n, next + 2 * n + 1, flip);
      quad(here + 2 * n + 2, here + 2 * n + 3, next + 2 * n + 2, next + 2 * n + 3, !flip);
    }
    if (!closed)
      for (const k of [0, 1]) {
        const base = columns * round + k * 2 * n;
        for (let i = 0; i + 1 < n; i++) quad(base + i, base + i + 1, base + n + i, base + n + i + 1, (k === 0) !== flip);
      }
    this.geometry.setIndex(index);
    this.geometry.setAttribute("position", new BufferAttribute(this.positions, 3));
    this.geometry.setAttribute("normal", new BufferAttribute(this.normals, 3));
    this.geometry.setAttribute("color", new BufferAttribute(this.colours, 3));
  }
}

/** The ripple at the places of a film. */
export function laid(ripple: Ripple, s_m: number[]): Ripple {
  const from = ripple.s_m;
  if (from.length === s_m.length && from.every((s, i) => s === s_m[i])) return ripple;
  const at = (values: number[]) => {
    let j = 0;
    return s_m.map((s) => {
      while (j < from.length - 2 && (from[j + 1] ?? 0) < s) j++;
      const a = from[j] ?? 0;
      const b = from[j + 1] ?? a;
      const t = b > a ? Math.max(0, Math.min(1, (s - a) / (b - a))) : 0;
      return (values[j] ?? 0) + t * ((values[j + 1] ?? values[j] ?? 0) - (values[j] ?? 0));
    });
  };
  return { ...ripple, across: at(ripple.across), along: at(ripple.along), around: at(ripple.around) };
}
