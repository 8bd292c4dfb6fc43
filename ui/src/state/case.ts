// The case in hand: its text, the files that it names, and what was undone. Form and text both change it through `edit`.

import { computed, signal } from "@preact/signals";
import { put, scan, unquoted } from "../text/toml";
import type { Stored } from "../types";

/** The case file's text. */
export const text = signal("");
/** Contents of the CSV files that the case names. */
export const files = signal<Record<string, string>>({});
/** File name shown, and offered when saving. */
export const name = signal("case.toml");
/** Text as it was opened or last saved; differs while there is something to save. */
export const savedText = signal("");

export const doc = computed(() => scan(text.value));

/** The value at `table.name` as a person wrote it, quotes taken off; undefined when the case has none. */
export function valueOf(path: string): string | undefined {
  const entry = doc.value.entries.find((e) => e.path === path);
  return entry === undefined ? undefined : unquoted(entry.raw);
}

/** The same with its TOML quotes. */
export function rawOf(path: string): string | undefined {
  return doc.value.entries.find((e) => e.path === path)?.raw;
}

interface Step {
  text: string;
  files: Record<string, string>;
  what: string;
}

const MOST_STEPS = 400;
const past = signal<Step[]>([]);
const future = signal<Step[]>([]);
let mergeKey: string | null = null;
let mergedAt = 0;

export const canUndo = computed(() => past.value.length > 0);
export const canRedo = computed(() => future.value.length > 0);
/** What would be undone, in words. */
export const undoes = computed(() => past.value[past.value.length - 1]?.what ?? "");

/**
 * Changes the text. Moves with the same `merge` within a second are one step of undo: a slider's way counts once.
 */
export function edit(next: string, what: string, merge: string | null = null): void {
  if (next === text.peek()) return;
  const now = performance.now();
  const joins = merge !== null && merge === mergeKey && now - mergedAt < 1000;
  if (!joins) {
    past.value = [...past.peek(), { text: text.peek(), files: files.peek(), what }].slice(-MOST_STEPS);
  }
  mergeKey = merge;
  mergedAt = now;
  future.value = [];
  text.value = next;
}

/** Sets one value to TOML `raw`, or takes it out with `null`. */
export function setRaw(path: string, raw: string | null, merge: string | null = null): void {
  edit(put(text.peek(), path, raw), raw === null ? `take out ${path}` : `change ${path}`, merge);
}

function swap(from: typeof past, to: typeof past): void {
  const step = from.peek()[from.peek().length - 1];
  if (step === undefined) return;
  from.value = from.peek().slice(0, -1);
  to.value = [...to.peek(), { text: text.peek(), files: files.peek(), what: step.what }];
  mergeKey = null;
  files.value = step.files;
  text.value = step.text;
}

export const undo = () => swap(past, future);
export const redo = () => swap(future, past);

/** Takes another case in hand; can be undone like any change. */
export function take(stored: Stored, what = `open ${stored.name}`): void {
  past.value = [...past.peek(), { text: text.peek(), files: files.peek(), what }].slice(-MOST_STEPS);
  future.value = [];
  mergeKey = null;
  files.value = stored.files;
  name.value = stored.name.endsWith(".toml") ? stored.name : `${stored.name}.toml`;
  savedText.value = stored.text;
  text.value = stored.text;
}

/** The first case of a visit: nothing to undo. */
export function begin(stored: Stored): void {
  take(stored);
  past.value = [];
}
