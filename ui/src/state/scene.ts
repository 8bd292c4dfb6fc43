// Which shape the 3D view and the section show. Panels set it (a point of the poke curve, a moment of the release); the views follow.

import { computed, signal } from "@preact/signals";
import type { Film, Frame } from "../types";
import { filmOf, listsStates, look, verdict } from "./answers";
import type { SlotName } from "./ask";

export type Colouring = "plain" | "strain" | "energy";

/** How it is looked at. */
export const cut = signal(true);
export const colouring = signal<Colouring>("plain");
/** Factor on the wall's thickness in the pictures; 1 is true to scale. */
export const wallScale = signal(1);
export const showMirror = signal(true);
export const showLip = signal(true);

/** The film shown and the place in it: a whole number is a frame, between two the shape is interpolated. */
export interface Shown {
  film: SlotName;
  place: number;
  /** On the way to another place by the straight blend of both shapes: a picture of a jump, not its motion. */
  to?: number;
  share?: number;
}

/** `null`: the inverted shape where there is one, else the natural one. */
export const shown = signal<Shown | null>(null);
/** "natural" or "inverted" while `shown` is null. */
export const rest = signal<"natural" | "inverted">("inverted");

/** Whether the natural shape (and its mirror image) stand in the 3D view too, see-through. */
export const showGhost = signal(false);

/**
 * A motion in waves laid over the shape. The displacements are in metres, as they are to be drawn: across the wall (positive to the
 * left of the meridian, the concave side of a bowl as made), along it (towards the rim), around the axis, at the natural arclengths
 * `s_m`; across and along go as cos nθ, around as sin nθ. `amplitude_m` is the largest of them, for labels.
 */
export interface Ripple {
  n: number;
  across: number[];
  along: number[];
  around: number[];
  /** Places of those numbers. */
  s_m: number[];
  amplitude_m: number;
}
export const ripple = signal<Ripple | null>(null);
/** Phase of the ripple; the views animate it unless motion is reduced. */
export const phase = signal(0);

export function frameNamed(film: Film | null, name: string): Frame | null {
  return film?.frames.find((f) => f.name === name) ?? null;
}

/** The natural shape. */
export const natural = computed<Frame | null>(() => frameNamed(filmOf("look"), "natural") ?? frameNamed(filmOf("verdict"), "natural"));
/** Whether the case in hand can be read but got no verdict, while one of the case before is still there. */
const unanswered = computed(() => verdict.stale.value && ["question", "slow", "failed"].includes(verdict.refused.value?.kind ?? ""));
/** The inverted equilibrium of the verdict in hand. */
export const inverted = computed<Frame | null>(() =>
  // A part that lists its states has no verdict; the one in hand is of the case before. So it is where the case in hand got no verdict.
  listsStates.value || unanswered.value ? null : frameNamed(filmOf("verdict"), "inverted"),
);

/** The film whose frames the views show now. */
export const film = computed<Film | null>(() => {
  const s = shown.value;
  if (s !== null) {
    const found = filmOf(s.film);
    if (found !== null) return found;
  }
  return rest.value === "inverted" && inverted.value !== null ? filmOf("verdict") : (filmOf("look") ?? filmOf("verdict"));
});

/** The shape the views show now. */
export const frame = computed<Frame | null>(() => {
  const s = shown.value;
  const f = film.value;
  if (f === null) return null;
  if (s !== null && f === filmOf(s.film)) {
    const here = between(f, s.place);
    const there = s.to === undefined ? null : between(f, s.to);
    return here !== null && there !== null ? blend(here, there, s.share ?? 0) : here;
  }
  return (rest.value === "inverted" ? inverted.value : null) ?? natural.value ?? f.frames[0] ?? null;
});

/** A frame, or what lies between two. */
export function between(f: Film, place: number): Frame | null {
  const last = f.frames.length - 1;
  const p = Math.max(0, Math.min(last, place));
  const i = Math.floor(p);
  const a = f.frames[i];
  const b = f.frames[Math.min(last, i + 1)];
  const t = p - i;
  if (a === undefined || b === undefined) return a ?? null;
  return t === 0 ? a : blend(a, b, t);
}

/** The shape a share `t` of the way from one to another. */
export function blend(a: Frame, b: Frame, t: number): Frame {
  const mix = (x: number[], y: number[]) => x.map((v, k) => v + t * ((y[k] ?? v) - v));
  return {
    name: "",
    at: a.at + t * (b.at - a.at),
    row: a.row,
    branch: a.branch,
    r_m: mix(a.r_m, b.r_m),
    z_m: mix(a.z_m, b.z_m),
    slope_rad: mix(a.slope_rad, b.slope_rad),
    strain: mix(a.strain, b.strain),
    energy_J_per_m2: mix(a.energy_J_per_m2, b.energy_J_per_m2),
    lip_m: a.lip_m,
  };
}

/** Place in the film of the value `at` (row, time, temperature); frames' `at` must grow. */
export function placeAt(f: Film, at: number): number {
  let low = 0;
  let high = f.frames.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((f.frames[middle]?.at ?? 0) <= at) low = middle;
    else high = middle;
  }
  const a = f.frames[low]?.at ?? 0;
  const b = f.frames[high]?.at ?? a;
  return b > a ? low + Math.max(0, Math.min(1, (at - a) / (b - a))) : low;
}

/** Height of the pole over the plane of the rim, for read-outs; positive as made negative turned over follow from z. */
export const poleHeight = computed(() => {
  const f = frame.value;
  if (f === null) return null;
  return (f.z_m[f.z_m.length - 1] ?? 0) - (f.z_m[0] ?? 0);
});

/** Back to what the verdict says. */
export function showRest(which: "natural" | "inverted"): void {
  shown.value = null;
  ripple.value = null;
  rest.value = which;
}

/** A point of the part: natural arclength from the pole, angle round the axis. */
export interface Pick {
  s: number;
  theta: number;
}
/** Whether a click on the part picks a point of it. */
export const picking = signal(false);
/** The points picked, at most two; the views draw them with the chord between them, on the shape shown and on its mirror image. */
export const picks = signal<Pick[]>([]);

/** Position of a point of the part in a shape, m: two across, one along the axis. */
export function pointOf(f: Frame, s_m: number[], p: Pick): [number, number, number] {
  let i = 0;
  while (i < s_m.length - 2 && (s_m[i + 1] ?? 0) < p.s) i++;
  const a = s_m[i] ?? 0;
  const b = s_m[i + 1] ?? a;
  const t = b > a ? Math.max(0, Math.min(1, (p.s - a) / (b - a))) : 0;
  const at = (x: number[]) => (x[i] ?? 0) + t * ((x[i + 1] ?? x[i] ?? 0) - (x[i] ?? 0));
  const r = at(f.r_m);
  return [r * Math.cos(p.theta), r * Math.sin(p.theta), at(f.z_m)];
}

/** Straight distance between two points of the part in a shape, m. */
export function distance(f: Frame, s_m: number[], a: Pick, b: Pick): number {
  const p = pointOf(f, s_m, a);
  const q = pointOf(f, s_m, b);
  return Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
}

/** The mirror image of a shape in the plane of its rim. */
export function mirrored(f: Frame): Frame {
  const rim = f.z_m[f.z_m.length - 1] ?? 0;
  return { ...f, name: "mirror image", z_m: f.z_m.map((z) => 2 * rim - z), slope_rad: f.slope_rad.map((a) => -a), lip_m: null };
}

export const hasVerdict = computed(() => verdict.answer.value !== null);
export const hasLook = computed(() => look.answer.value !== null);
