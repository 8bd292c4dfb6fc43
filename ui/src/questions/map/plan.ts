// What a person chose to map, as options of the question, and whether the map in hand still holds.

import { computed, signal } from "@preact/signals";
import { map } from "../../state/answers";
import type { Asked } from "../../state/ask";
import { files, text } from "../../state/case";
import type { Options } from "../asking";
import { besides, choices, keyOf, usual } from "./numbers";

export interface AxisPlan {
  /** "" until a person chooses: the page's own choice. */
  key: string;
  /** As people write them, `30 deg`; "" for the usual ends. */
  from: string;
  to: string;
}

export interface Plan {
  x: AxisPlan;
  y: AxisPlan;
  margins: string;
  trips: string;
  snapping: boolean;
}

const AUTO: AxisPlan = { key: "", from: "", to: "" };
export const plan = signal<Plan>({ x: AUTO, y: AUTO, margins: "0.8, 1.25", trips: "", snapping: false });

/** The axes as they stand: chosen ones that the case has, else depth (or the rise, where depth is no number of the case) and thickness. */
export const axes = computed<[string, string]>(() => {
  const keys = choices().map((c) => c.key);
  const has = (key: string) => key !== "" && keys.includes(key);
  const { x, y } = plan.value;
  const sideways = has(x.key) ? x.key : keyOf("depth") === null && has("shape.rise") ? "shape.rise" : "depth";
  const upwards = has(y.key) ? y.key : (["wall.thickness", ...keys.filter((k) => /thickness/.test(k)), ...keys].find((k) => has(k) && k !== sideways) ?? "wall.thickness");
  return [sideways, upwards];
});

const pieces = (words: string) => words.split(/[,;]/).map((w) => w.trim()).filter((w) => w !== "");

function axisOption(key: string, chosen: AxisPlan): string {
  const [low, high] = chosen.key === key || chosen.key === "" ? [chosen.from, chosen.to] : ["", ""];
  const ends = usual(key);
  const [from, to] = [low || ends[0], high || ends[1]];
  return from === "" || to === "" ? key : `${key}=${from}..${to}`;
}

/** What to ask. Margins that are no numbers go as they are: the server says what is wrong with them. */
export function options(): Options {
  const { x, y, margins, trips, snapping } = plan.peek();
  const [kx, ky] = axes.peek();
  return {
    x: axisOption(kx, x),
    y: axisOption(ky, y),
    margin: pieces(margins).map((m) => (Number.isFinite(Number(m)) ? Number(m) : m)),
    ...(pieces(trips).length > 0 ? { trip_load: pieces(trips) } : {}),
    ...(snapping ? { snapping: true } : {}),
  };
}

/** What stays the same while only the marker moves. */
const signature = computed(() => JSON.stringify([axes.value, plan.value]));
/** That of the map in hand; a kept copy's is taken as it is. */
export const askedSignature = signal<string | null>(null);

export function askMap(): void {
  askedSignature.value = signature.peek();
  map.run(options(), 0);
}

/** Axes of the map in hand. */
export function axesOf(asked: Asked): [string, string] {
  const key = (v: unknown) => String(v ?? "").split("=")[0] ?? "";
  return [key(asked.options.x) || "depth", key(asked.options.y) || "wall.thickness"];
}

/** Whether the case is another but for the numbers of the two axes. */
export const otherCase = computed(() => {
  const asked = map.asked.value;
  if (asked === null) return false;
  const keys = axesOf(asked);
  return asked.files !== files.value || besides(asked.text, keys) !== besides(text.value, keys);
});

/** Whether the choices have changed since. */
export const otherPlan = computed(() => askedSignature.value !== null && map.asked.value !== null && askedSignature.value !== signature.value);
