// Which shape the 3D view and the section show. Panels set it (a point of the poke curve, a moment of the release); the views follow.

import { computed, signal } from "@preact/signals";
import type { Film, Frame } from "../types";
import { filmOf, look, verdict } from "./answers";
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
}

/** `null`: the inverted shape where there is one, else the natural one. */
export const shown = signal<Shown | null>(null);
/** "natural" or "inverted" while `shown` is null. */
export const rest = signal<"natural" | "inverted">("inverted");

/** A vibration laid over the shape: waves n, displacements per node of the film's places (already scaled, m), phase in radians. */
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
/** The inverted equilibrium of the verdict in hand. */
export const inverted = computed<Frame | null>(() => frameNamed(filmOf("verdict"), "inverted"));

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
  if (s !== null && f === filmOf(s.film)) return between(f, s.place);
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
  if (t === 0) return a;
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

export const hasVerdict = computed(() => verdict.answer.value !== null);
export const hasLook = computed(() => look.answer.value !== null);
