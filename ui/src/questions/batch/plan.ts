// What a person asks of a batch, as options of the question.

import { computed, signal } from "@preact/signals";
import { look } from "../../state/answers";
import type { Options } from "../asking";

export interface WindowRow {
  gauge: string;
  from: string;
  to: string;
}

export interface PairRow {
  a: string;
  b: string;
  r: string;
}

export interface Plan {
  count: string;
  seed: string;
  /** By key; a key that is not here has the usual distribution. */
  laws: Readonly<Record<string, string>>;
  /** Measured values by key, as typed. */
  measured: Readonly<Record<string, string>>;
  windows: readonly WindowRow[];
  together: readonly PairRow[];
  want: string;
}

/** Distributions as the desk names them; the first is taken where nothing is said. */
export const LAWS: readonly (readonly [name: string, words: string])[] = [
  ["cut-normal", "normal, cut off"],
  ["normal", "normal, with tails"],
  ["uniform", "uniform"],
  ["triangular", "triangular"],
  ["log-normal", "log-normal"],
];
/** Not a name of the desk: values are sent in its place. */
export const MEASURED = "measured";

export const plan = signal<Plan>({ count: "100000", seed: "1", laws: {}, measured: {}, windows: [], together: [], want: "" });
export const change = (next: Partial<Plan>) => (plan.value = { ...plan.value, ...next });

/** Numbers of the case with a tolerance. */
export const toleranced = computed(() => (look.answer.value?.report.inputs ?? []).filter((i) => (i.half_width_si ?? 0) > 0));

/** A whole number where one stands there, else the words as they are: the server says what is wrong with them. */
const whole = (typed: string): number | string => (/^\d+$/.test(typed.trim()) ? Number(typed) : typed.trim());

export const options = computed<Options>(() => {
  const p = plan.value;
  const keys = toleranced.value.map((i) => i.key);
  const distribution = keys.flatMap((key) => {
    const law = p.laws[key];
    if (law === undefined || law === LAWS[0]?.[0]) return [];
    return [`${key}=${law === MEASURED ? `${p.measured[key] ?? ""};` : law}`];
  });
  const window = p.windows.map((w) => `${w.gauge}=${w.from.trim()}..${w.to.trim()}`);
  const together = p.together.map((t) => `${t.a},${t.b}=${t.r.trim()}`);
  return {
    ...(p.count.trim() === "" ? {} : { count: whole(p.count) }),
    ...(p.seed.trim() === "" ? {} : { seed: whole(p.seed) }),
    ...(distribution.length > 0 ? { distribution } : {}),
    ...(window.length > 0 ? { window } : {}),
    ...(together.length > 0 ? { together } : {}),
    ...(p.want.trim() === "" ? {} : { want: p.want.trim() }),
  };
});
