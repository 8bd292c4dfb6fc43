// The colours of strain and of energy: sand over rust to plum, even in lightness, so that equal steps look equal, to colour-blind eyes
// and in grey too.

import { colouring, film, type Colouring } from "../state/scene";
import { computed } from "@preact/signals";
import { filmOf } from "../state/answers";
import type { Film, Frame } from "../types";

/** OKLab to linear sRGB. */
function linear(l: number, a: number, b: number): [number, number, number] {
  const x = (l + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const y = (l - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const z = (l - 0.0894841775 * a - 1.291485548 * b) ** 3;
  const fit = (v: number) => Math.max(0, Math.min(1, v));
  return [
    fit(4.0767416621 * x - 3.3077115913 * y + 0.2309699292 * z),
    fit(-1.2684380046 * x + 2.6097574011 * y - 0.3413193965 * z),
    fit(-0.0041960863 * x - 0.7034186147 * y + 1.707614701 * z),
  ];
}

/** Colour of a share 0..1, linear light. */
export function rampLinear(t: number): [number, number, number] {
  const u = Math.max(0, Math.min(1, t));
  const hue = ((100 - 145 * u) * Math.PI) / 180;
  const chroma = 0.045 + 0.1 * Math.sin(Math.PI * Math.min(1, 0.1 + 0.85 * u));
  return linear(0.94 - 0.62 * u, chroma * Math.cos(hue), chroma * Math.sin(hue));
}

const encode = (v: number) => (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055);

/** The same as `#rrggbb`. */
export function rampHex(t: number): string {
  return `#${rampLinear(t).map((v) => Math.round(255 * encode(v)).toString(16).padStart(2, "0")).join("")}`;
}

export const field = (f: Frame, by: Colouring): number[] | null => (by === "strain" ? f.strain : by === "energy" ? f.energy_J_per_m2 : null);

const tops = new WeakMap<Film, { strain: number; energy: number }>();

/** Largest values over all shapes of a film. */
function topOf(f: Film): { strain: number; energy: number } {
  const found = tops.get(f);
  if (found !== undefined) return found;
  const out = { strain: 0, energy: 0 };
  for (const frame of f.frames) {
    for (const v of frame.strain) out.strain = Math.max(out.strain, v);
    for (const v of frame.energy_J_per_m2) out.energy = Math.max(out.energy, v);
  }
  tops.set(f, out);
  return out;
}

/** Value at the dark end: the largest of the film shown. A lone natural shape has none; there the inverted one's stands, so that both compare. */
export const top = computed<number>(() => {
  const by = colouring.value;
  if (by === "plain" || film.value === null) return 0;
  const own = topOf(film.value)[by];
  const verdict = filmOf("verdict");
  return own > 0 || verdict === null ? own : topOf(verdict)[by];
});

/** A number of the legend with its unit. */
export function valueWords(v: number, by: Colouring): string {
  if (by === "strain") return `${Number((v * 100).toPrecision(3))} %`;
  const [scale, unit] = v >= 1e3 || v === 0 ? [1e-3, "kJ/m²"] : v >= 1 ? [1, "J/m²"] : [1e3, "mJ/m²"];
  return `${Number((v * scale).toPrecision(3))} ${v === 0 ? "" : unit}`.trim();
}
