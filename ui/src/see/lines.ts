// Lines on the part in the 3D view: where it ends, and where the lip begins.

import { height } from "./extent";
import { startOf, type Shape } from "./solid";

/** Outlines of rim, hole and cut faces as pairs of points; they keep the shape readable in any light. */
export function edgePoints(shape: Omit<Shape, "segments">): Float32Array {
  const { frame, film, span, wallScale, extent: e } = shape;
  // A ripple moves the faces round the axis; its own shading shows the edges.
  if (shape.ripple !== null) return new Float32Array();
  const points: number[] = [];
  const n = frame.r_m.length;
  const up = e.flip ? -1 : 1;
  const at = (i: number, side: number, theta: number): [number, number, number] => {
    const half = 0.5 * side * (film.thickness_m[i] ?? 0) * wallScale;
    const slope = frame.slope_rad[i] ?? 0;
    const r = Math.max(0, (frame.r_m[i] ?? 0) + half * Math.sin(slope));
    return [r * Math.cos(theta), height(e, frame.z_m[i] ?? 0) - up * half * Math.cos(slope), r * Math.sin(theta)];
  };
  const start = startOf(span);
  const ends = (frame.r_m[0] ?? 0) > 1e-6 * e.radius ? [0, n - 1] : [n - 1];
  const cuts = span < 6.28 ? [start, start + span] : [];
  for (const side of [1, -1]) {
    for (const i of ends) for (let c = 0; c < 96; c++) points.push(...at(i, side, start + (span * c) / 96), ...at(i, side, start + (span * (c + 1)) / 96));
    for (const theta of cuts) for (let i = 0; i + 1 < n; i++) points.push(...at(i, side, theta), ...at(i + 1, side, theta));
  }
  for (const theta of cuts) for (const i of [0, n - 1]) points.push(...at(i, 1, theta), ...at(i, -1, theta));
  return new Float32Array(points);
}

/** A thin band round the axis at a radius and a height, `wide` across. */
export function band(at: { r: number; z: number }, wide: number, span: number): { positions: Float32Array; index: number[] } {
  const count = 97;
  const positions = new Float32Array(6 * count);
  const index: number[] = [];
  const start = startOf(span);
  for (let c = 0; c < count; c++) {
    const theta = start + (span * c) / (count - 1);
    for (const side of [0, 1]) {
      const r = at.r + (side - 0.5) * wide;
      positions.set([r * Math.cos(theta), at.z, r * Math.sin(theta)], 6 * c + 3 * side);
    }
    if (c > 0) index.push(2 * c - 2, 2 * c - 1, 2 * c, 2 * c - 1, 2 * c + 1, 2 * c);
  }
  return { positions, index };
}
