// Units, scales, ticks and the words of numbers.

import { scaleLinear, scaleLog, type ScaleContinuousNumeric } from "d3-scale";
import type { Axis, Layer, Mark } from "./types";

export type Quantity = "length" | "force" | "pressure" | "time" | "energy" | "speed" | "frequency" | "moment" | "one" | "angle" | "stress";

/** Units by size: name, worth, and the least number shown in it where that is not the worth itself. */
const STEPS: Record<Quantity, [string, number, number?][]> = {
  length: [["µm", 1e-6], ["mm", 1e-3, 1e-4], ["m", 1]],
  force: [["µN", 1e-6], ["mN", 1e-3], ["N", 1], ["kN", 1e3]],
  pressure: [["Pa", 1], ["kPa", 1e3], ["MPa", 1e6]],
  stress: [["Pa", 1], ["kPa", 1e3], ["MPa", 1e6], ["GPa", 1e9]],
  time: [["µs", 1e-6], ["ms", 1e-3], ["s", 1]],
  energy: [["nJ", 1e-9], ["µJ", 1e-6], ["mJ", 1e-3], ["J", 1]],
  speed: [["mm/s", 1e-3], ["m/s", 1]],
  frequency: [["Hz", 1], ["kHz", 1e3, 1e4], ["MHz", 1e6]],
  moment: [["µN m", 1e-6], ["mN m", 1e-3], ["N m", 1]],
  one: [["", 1]],
  angle: [["°", Math.PI / 180]],
};

/** The unit in which numbers up to `most` (SI) read well. */
export function unitFor(quantity: Quantity, most: number): { unit: string; per: number } {
  const steps = STEPS[quantity];
  let best = steps[0] ?? ["", 1];
  for (const s of steps) if (Math.abs(most) >= (s[2] ?? s[1]) * 0.9999) best = s;
  return { unit: best[0], per: best[1] };
}

/** The largest magnitude among numbers, nulls passed over. */
export function mostOf(...lists: readonly (readonly (number | null | undefined)[])[]): number {
  let most = 0;
  for (const list of lists) for (const v of list) if (v !== null && v !== undefined && Number.isFinite(v)) most = Math.max(most, Math.abs(v));
  return most;
}

const minus = (s: string) => s.replace("-", "−");

/** A number to four significant digits, as the program prints. */
export function four(v: number, digits = 4): string {
  if (!Number.isFinite(v)) return "–";
  if (v === 0) return "0";
  const size = Math.abs(v);
  if (size >= 1e6 || size < 1e-4) return minus(v.toExponential(digits - 1));
  const places = Math.max(0, digits - 1 - Math.floor(Math.log10(size)));
  return minus(v.toFixed(Math.min(places, 9)));
}

/** The same with a unit chosen by size. */
export function withUnit(quantity: Quantity, v: number | null | undefined, digits = 4): string {
  if (v === null || v === undefined || !Number.isFinite(v)) return "–";
  // Zero has no size to choose a unit by: the plain one, as the program prints it.
  if (v === 0) return join("0", quantity === "length" ? "mm" : unitFor(quantity, 1).unit);
  const u = unitFor(quantity, v);
  return join(four(v / u.per, digits), u.unit);
}

function join(number: string, unit: string): string {
  return unit === "" || unit === "°" ? `${number}${unit}` : `${number} ${unit}`;
}

/** A value of an axis in words. */
export function onAxis(axis: Axis, v: number | null | undefined): string {
  if (v === null || v === undefined || !Number.isFinite(v)) return "–";
  const shown = (v - (axis.zero ?? 0)) / axis.per;
  return join(axis.whole ? String(Math.round(shown)) : four(shown), axis.unit);
}

export type Scale = ScaleContinuousNumeric<number, number>;

/** A scale from SI to pixels with ticks that are round in the unit shown. */
export interface Placed {
  /** Pixels of an SI value. */
  at: (v: number) => number;
  /** SI value at pixels. */
  back: (px: number) => number;
  ticks: { v: number; text: string }[];
  from: number;
  to: number;
}

const SUPER: Record<string, string> = { "-": "⁻", "0": "⁰", "1": "¹", "2": "²", "3": "³", "4": "⁴", "5": "⁵", "6": "⁶", "7": "⁷", "8": "⁸", "9": "⁹" };

function decade(v: number): string {
  const e = Math.round(Math.log10(v));
  if (Math.abs(10 ** e / v - 1) > 1e-6) return "";
  if (e >= -3 && e <= 4) return e < 0 ? v.toFixed(-e) : String(Math.round(v));
  return `10${String(e).replace(/./g, (c) => SUPER[c] ?? c)}`;
}

export function place(axis: Axis, ends: [number, number], pixels: [number, number], wanted: number): Placed {
  const zero = axis.zero ?? 0;
  const shown = (v: number) => (v - zero) / axis.per;
  const log = axis.scale === "log";
  const scale: Scale = (log ? scaleLog() : scaleLinear()).domain([shown(axis.from ?? ends[0]), shown(axis.to ?? ends[1])]).range(pixels);
  if (axis.tight !== true && axis.from === undefined && axis.to === undefined) scale.nice(log ? undefined : wanted);
  const [a = 0, b = 1] = scale.domain();
  let values = scale.ticks(wanted);
  const decades = Math.log10(b / a);
  if (axis.whole) values = values.filter((v) => Number.isInteger(v));
  let words: (v: number) => string;
  if (log) {
    const only = decades > 1.5 ? values.filter((v) => decade(v) !== "") : values;
    const every = Math.max(1, Math.ceil(only.length / wanted));
    values = only.filter((_, i) => i % every === 0);
    words = decades > 1.5 ? decade : (v) => four(v, 2);
  } else {
    const format = scale.tickFormat(wanted);
    words = (v) => (Math.abs(v) >= 1e6 || (v !== 0 && Math.abs(b - a) < 1e-4) ? minus(v.toExponential(1)) : minus(format(v)).replaceAll(",", " "));
  }
  return {
    at: (v) => scale(shown(v)),
    back: (px) => scale.invert(px) * axis.per + zero,
    ticks: values.map((v) => ({ v: v * axis.per + zero, text: words(v) })),
    from: a * axis.per + zero,
    to: b * axis.per + zero,
  };
}

/** Ends of the data over one axis. */
export function endsOf(layers: readonly Layer[], marks: readonly Mark[], which: "x" | "y", axis: Axis): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  const log = axis.scale === "log";
  const take = (v: number | null | undefined) => {
    if (v === null || v === undefined || !Number.isFinite(v) || (log && v <= 0)) return;
    low = Math.min(low, v);
    high = Math.max(high, v);
  };
  for (const l of layers) {
    if (l.kind === "arrow") {
      take(l.from[which === "x" ? 0 : 1]);
      take(l.to[which === "x" ? 0 : 1]);
    } else if (l.kind === "zone") {
      continue;
    } else if (l.kind === "curve" && l.aside) continue;
    else if (which === "x") l.x.forEach(take);
    else if (l.kind === "band") {
      l.low.forEach(take);
      l.high.forEach(take);
    } else l.y.forEach(take);
  }
  for (const m of marks) if (m.kind === which) take(m.at);
  if (axis.withZero && !log) take(0);
  if (low > high) return log ? [1, 10] : [0, 1];
  if (low === high) {
    const d = Math.abs(low) * 0.1 || 1;
    return log ? [low / 2, high * 2] : [low - d, high + d];
  }
  if (axis.tight) return [low, high];
  if (log) {
    const f = (high / low) ** 0.03;
    return [low / f, high * f];
  }
  const d = (high - low) * 0.04;
  return [low === 0 && axis.withZero ? 0 : low - d, high + d];
}
