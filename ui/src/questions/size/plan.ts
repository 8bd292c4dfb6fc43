// What may change and what is wished, as options of the question.

import { computed, signal } from "@preact/signals";
import { canAsk, look } from "../../state/answers";
import { gauges } from "../gauges";
import type { Options } from "../asking";
import { around } from "../map/numbers";

export interface VaryRow {
  /** "" for the page's own choice. */
  key: string;
  /** As people write them; `null` while the ends around the number as it is are taken. */
  from: string | null;
  to: string | null;
}

export interface Plan {
  vary: readonly VaryRow[];
  wishes: readonly string[];
}

export const plan = signal<Plan>({ vary: [{ key: "", from: null, to: null }], wishes: [""] });
export const change = (next: Partial<Plan>) => (plan.value = { ...plan.value, ...next });

/** The numbers of the case. */
export const keys = computed<string[]>(() => (look.answer.value?.report.inputs ?? []).map((i) => i.key));

/** Rows as they stand: chosen numbers that the case has, with their ends. */
export const rows = computed(() =>
  plan.value.vary.map((row, i) => {
    const free = keys.value.filter((k) => !plan.value.vary.some((o, j) => j !== i && o.key === k));
    const key = keys.value.includes(row.key) ? row.key : (free.find((k) => /^wall\.thickness/.test(k)) ?? free.find((k) => /thickness/.test(k)) ?? free[0] ?? "");
    const [from, to] = around(key);
    return { key, from: row.from ?? from, to: row.to ?? to };
  }),
);

export const options = computed<Options>(() => ({
  vary: rows.value.map((r) => `${r.key}=${r.from.trim()}..${r.to.trim()}`),
  wish: plan.value.wishes.map((w) => w.trim()).filter((w) => w !== ""),
}));

/** Ends that followed the case stay as they were asked: taking a solution must not move them. */
export function freeze(): void {
  change({ vary: rows.peek() });
}

const EXAMPLES: Record<string, string[]> = {
  margin: ["stays", "margin >= 10 %", "margin >= 3 % for 99 % of the batch", "largest margin"],
  "waiting margin": ["waiting margin >= 5 %"],
  wait: ["wait = 2 s after a 5 s hold"],
  "trip load": ["trip load = 3.2 N ± 0.2 N"],
  "trip temperature": ["trip temperature = 92 degC ± 2 K"],
  "reset temperature": ["reset temperature >= 70 degC"],
  delta: ["delta <= 15 K"],
  "snap ratio": ["snap ratio = 50 % ± 5 %"],
  "peak strain": ["peak strain <= 25 %"],
  mass: ["mass <= 12 g", "smallest mass"],
};

/** Wishes that can make sense for the case, as examples to start from. */
export const examples = (): string[] => (canAsk("size").ok ? gauges().flatMap((g) => EXAMPLES[g] ?? []) : []);
