// How large the scene is and which way up it stands; the same for every shape of a film, so that nothing jumps while it plays.

import { computed } from "@preact/signals";
import { film, inverted, natural } from "../state/scene";
import type { Film, Frame } from "../types";

export interface Extent {
  /** Largest radius, m. */
  radius: number;
  /** Heights drawn, m; 0 is the plane of the natural rim, or the table over time. */
  low: number;
  high: number;
  /** Film heights grow downwards in the pictures (a bowl as made stands as a dome), but over time they are heights over the table. */
  flip: boolean;
  /** z of the rim plane. */
  rim: number;
}

/** Height drawn of a film's z. */
export const height = (e: Extent, z: number) => (e.flip ? e.rim - z : z);

const known = new WeakMap<Film, { radius: number; low: number; high: number; wall: number }>();

function ofFilm(f: Film) {
  const found = known.get(f);
  if (found !== undefined) return found;
  const out = { radius: 0, low: Infinity, high: -Infinity, wall: Math.max(0, ...f.thickness_m) };
  for (const frame of f.frames) widen(out, frame);
  known.set(f, out);
  return out;
}

function widen(out: { radius: number; low: number; high: number }, f: Frame): void {
  for (const r of f.r_m) out.radius = Math.max(out.radius, r);
  for (const z of f.z_m) {
    out.low = Math.min(out.low, z);
    out.high = Math.max(out.high, z);
  }
}

/** Extent of what is shown; `null` before the first shape. */
export const extent = computed<Extent | null>(() => {
  const f = film.value;
  const made = natural.value;
  if (f === null || made === null) return null;
  const all = { ...ofFilm(f) };
  const rim = made.z_m[made.z_m.length - 1] ?? 0;
  const flip = f.over !== "time";
  if (flip) {
    widen(all, made);
    if (inverted.value !== null) widen(all, inverted.value);
    // Room for the mirror image, whether it is drawn or not.
    all.high = Math.max(all.high, 2 * rim - Math.min(...made.z_m));
  } else {
    all.low = Math.min(all.low, 0);
  }
  const half = all.wall / 2;
  return flip
    ? { radius: all.radius + half, low: rim - all.high - half, high: rim - all.low + half, flip, rim }
    : { radius: all.radius + half, low: all.low - half, high: all.high + half, flip, rim };
});

/** A round length (1, 2 or 5 times a power of ten) not above `most`. */
export function roundBelow(most: number): number {
  const p = 10 ** Math.floor(Math.log10(most));
  const m = most / p;
  return (m >= 5 ? 5 : m >= 2 ? 2 : 1) * p;
}

/** A length in words, for scale bars. */
export function lengthWords(m: number): string {
  const trim = (x: number) => String(Number(x.toPrecision(4)));
  if (m >= 1) return `${trim(m)} m`;
  if (m >= 0.9999e-3) return `${trim(m * 1e3)} mm`;
  return `${trim(m * 1e6)} µm`;
}
