// The numbers of the case as axes: which there are, where the case lies on them, and how it is moved there.

import type { Axis } from "../../api";
import { about, look } from "../../state/answers";
import { doc, setRaw, valueOf } from "../../state/case";
import { put, quoted } from "../../text/toml";
import { takeApart, withNumber, type Written } from "../../text/quantity";
import { fromSi, toSi } from "../../text/units";

export interface Choice {
  key: string;
  label: string;
}

const inputs = () => look.answer.value?.report.inputs ?? [];
const given = (key: string) => inputs().find((i) => i.key === key);

/** The key behind `depth`, where the case has one: a cap of given radius whose half-angle is given. */
export function keyOf(axis: string): string | null {
  if (axis !== "depth") return given(axis) === undefined ? null : axis;
  const cap = valueOf("shape.kind") === "cap" || valueOf("shape.kind") === undefined;
  return cap && given("shape.half_angle") !== undefined && given("shape.radius") !== undefined ? "shape.half_angle" : null;
}

/** What can be an axis: `depth` and every number above zero. */
export function choices(): Choice[] {
  const numbers = inputs().filter((i) => i.value_si > 0);
  return [{ key: "depth", label: "depth of the part" }, ...numbers.map((i) => ({ key: i.key, label: words(i.key) }))];
}

/** `wall.thickness` -> "thickness (wall)". */
export function words(key: string): string {
  if (key === "depth") return "depth";
  const dot = key.lastIndexOf(".");
  return dot < 0 ? key.replaceAll("_", " ") : `${key.slice(dot + 1).replaceAll("_", " ")} (${key.slice(0, dot)})`;
}

function dimensionOf(key: string): string | null {
  const dot = key.indexOf(".");
  const table = about.value?.tables.find((t) => t.name === key.slice(0, dot));
  return table?.keys.find((k) => k.name === key.slice(dot + 1).replace(/[.[].*$/, ""))?.dimension ?? null;
}

interface Held {
  path: string;
  written: Written;
  /** SI value and unit both ways. */
  si: number;
  per: number;
  dimension: string | null;
}

/** The number as it stands in the text; `null` where it cannot be moved (a list, a number of the shelf). */
function held(axis: string): Held | null {
  const path = keyOf(axis);
  if (path === null) return null;
  const raw = doc.value.entries.find((e) => e.path === path)?.raw;
  if (raw === undefined || raw.trimStart().startsWith("[")) return null;
  const written = takeApart(valueOf(path) ?? "");
  if (written === null || written.number === 0) return null;
  const dimension = dimensionOf(path);
  const si = toSi(written.number, written.unit, dimension);
  if (si !== null) return { path, written, si, per: 0, dimension };
  // A unit that this page's table lacks: `look` has read the same number.
  const read = given(path);
  if (read === undefined) return null;
  return { path, written, si: read.value_si, per: read.value_si / written.number, dimension };
}

/** Where the case lies on the axis; the text's own number where it can be read, so that the marker keeps up with the hand. */
export function hereOn(axis: string, report: Axis | null): number | null {
  const h = held(axis);
  if (h !== null) return h.si;
  const path = keyOf(axis);
  if (path !== null) return given(path)?.value_si ?? null;
  return report !== null && report.key === axis ? report.here_si : null;
}

export function canMove(axis: string): boolean {
  return held(axis) !== null;
}

/** Why the marker stands still on this axis. */
export function whyFixed(axis: string): string {
  if (axis === "depth") return "depth is no number of this case (its shape is given in another way), so the marker keeps its place on that axis; choose one of the numbers of the shape to move it";
  if (doc.value.entries.every((e) => e.path !== axis)) return `${axis} does not stand in the case itself (it comes from the shelf or from a file), so the marker keeps its place on that axis`;
  return `${axis} is no single number, so the marker keeps its place on that axis`;
}

/** Half-width of the tolerance on the axis, SI. */
export function halfWidth(axis: string): number | null {
  const path = keyOf(axis);
  return path === null ? null : (given(path)?.half_width_si ?? null);
}

/** Puts the case at the value: four digits, unit and tolerance kept. Moves of one drag are one step of undo. */
export function moveOn(axis: string, si: number): void {
  const h = held(axis);
  if (h === null || !(si > 0)) return;
  const number = h.per > 0 ? si / h.per : fromSi(si, h.written.unit, h.dimension);
  if (number === null || !(number > 0)) return;
  const step = 10 ** (Math.floor(Math.log10(number)) - 3);
  const value = withNumber(h.written, number, step);
  const raw = doc.value.entries.find((e) => e.path === h.path)?.raw ?? "";
  setRaw(h.path, /^["']/.test(raw.trim()) ? quoted(value) : value, "map");
}

/** The case without the numbers of the two axes: a map stays the same while this does. */
export function besides(text: string, axes: readonly string[]): string {
  return axes.reduce((t, a) => {
    const path = a === "depth" ? "shape.half_angle" : a;
    return put(t, path, null);
  }, text);
}

/** The usual ends of an axis, as people write them; empty where the server's own are taken. */
export function usual(axis: string): [string, string] {
  const here = hereOn(axis, null);
  if (here === null) return ["", ""];
  if (axis === "depth") return endsOf(axis, here / 2, Math.min(2 * here, (150 * Math.PI) / 180));
  return axis.endsWith("poisson_ratio") ? endsOf(axis, 0.05, 0.5) : endsOf(axis, here / 3, here * 3);
}

/** Ends around the number as it is, 40 % (temperatures: 40 K) down and up, as people write them; empty where it has no such ends. */
export function around(key: string): [string, string] {
  const here = hereOn(key, null);
  if (here === null) return ["", ""];
  if (dimensionOf(key)?.toLowerCase() === "temperature") return endsOf(key, here - 40, here + 40);
  const most = key.endsWith("poisson_ratio") ? 0.5 : key.endsWith("half_angle") ? (150 * Math.PI) / 180 : Infinity;
  return endsOf(key, here * 0.6, Math.min(here * 1.4, most));
}

/** Ends that hold a whole range with a little room, as people write them; empty where it has no such ends. */
export function holding(axis: string, low: number, high: number): [string, string] {
  if (!(low > 0) || !(high > low)) return ["", ""];
  const room = 0.04 * (high - low);
  const most = axis.endsWith("poisson_ratio") ? 0.5 : axis === "depth" || axis.endsWith("half_angle") ? (150 * Math.PI) / 180 : Infinity;
  const ends = endsOf(axis, Math.max(low - room, low * 0.9), Math.max(high, Math.min(high + room, most)));
  return ends[0] === ends[1] ? ["", ""] : ends;
}

/** Two SI values in the unit of the case, three digits. */
function endsOf(axis: string, low: number, high: number): [string, string] {
  const path = keyOf(axis);
  const input = path === null ? undefined : given(path);
  if (path === null || input === undefined) return ["", ""];
  const dimension = dimensionOf(path);
  // A number that cannot be moved (a list, the shelf) still has its unit from `look`.
  const unit = held(axis)?.written.unit ?? input.unit;
  const write = (si: number): string => {
    const number = fromSi(si, unit, dimension);
    return number === null || !(number > 0) ? "" : `${Number(number.toPrecision(3))} ${unit}`.trim();
  };
  const ends: [string, string] = [write(low), write(high)];
  return ends.includes("") ? ["", ""] : ends;
}
