// The case in hand: its text, the files that it names, and what was undone. Form and text both change it through `edit`.

import { batch, computed, signal } from "@preact/signals";
import { kept } from "../keep/kept";
import { put, scan, unquoted } from "../text/toml";
import type { Stored } from "../types";

/** The case file's text. */
export const text = signal("");
/** Whether there is a case in hand: one whose text was all deleted is one too, and is said to be wrong. */
export const begun = signal(false);
/** How many cases were taken in hand so far: a change of it is another case, not the same one changed. */
export const opened = signal(0);
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
  name: string;
  saved: string;
  what: string;
}

const MOST_STEPS = 400;
const past = signal<Step[]>([]);
const future = signal<Step[]>([]);
let mergeKey: string | null = null;
let mergedAt = 0;
let pressed = false;

export const canUndo = computed(() => past.value.length > 0);
export const canRedo = computed(() => future.value.length > 0);
/** What would be undone, in words. */
export const undoes = computed(() => past.value[past.value.length - 1]?.what ?? "");
/** What would be done again. */
export const redoes = computed(() => future.value[future.value.length - 1]?.what ?? "");

function now(what: string): Step {
  return { text: text.peek(), files: files.peek(), name: name.peek(), saved: savedText.peek(), what };
}

function remember(what: string): void {
  past.value = [...past.peek(), now(what)].slice(-MOST_STEPS);
  future.value = [];
}

/** What is moved while a pointer is down is one step of undo, however slowly it goes; the next press begins another. */
function press(down: boolean): void {
  pressed = down;
  mergeKey = null;
}
if (typeof document !== "undefined") {
  document.addEventListener("pointerdown", () => press(true), true);
  for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, () => press(false), true);
}

/** Whether a change goes on with the one before. */
const joins = (merge: string | null) => merge !== null && merge === mergeKey && (pressed || performance.now() - mergedAt < 1000);

/**
 * Changes the text. Moves with the same `merge` while a pointer is down, or each within a second of the one before (keys), are one step
 * of undo.
 */
export function edit(next: string, what: string, merge: string | null = null): void {
  // A kept copy shows answers about its own case: another text would have none.
  if (kept !== null || next === text.peek()) return;
  if (!joins(merge)) remember(what);
  mergeKey = merge;
  mergedAt = performance.now();
  future.value = [];
  begun.value = true;
  text.value = next;
}

/** Changes the files that the case names. */
export function editFiles(next: Record<string, string>, what: string, merge: string | null = null): void {
  if (!joins(merge)) remember(what);
  mergeKey = merge;
  mergedAt = performance.now();
  future.value = [];
  files.value = next;
}

/** Sets one value to TOML `raw`, or takes it out with `null`. */
export function setRaw(path: string, raw: string | null, merge: string | null = null): void {
  edit(put(text.peek(), path, raw), raw === null ? `taking out ${path}` : `change of ${path}`, merge);
}

function swap(from: typeof past, to: typeof past): void {
  const step = from.peek()[from.peek().length - 1];
  if (step === undefined) return;
  from.value = from.peek().slice(0, -1);
  to.value = [...to.peek(), now(step.what)];
  mergeKey = null;
  batch(() => {
    files.value = step.files;
    name.value = step.name;
    savedText.value = step.saved;
    text.value = step.text;
  });
}

export const undo = () => swap(past, future);
export const redo = () => swap(future, past);

/** Takes another case in hand; can be undone like any change. */
export function take(stored: Stored, what = `opening of ${stored.name}`): void {
  remember(what);
  mergeKey = null;
  batch(() => {
    files.value = stored.files;
    name.value = stored.name.endsWith(".toml") ? stored.name : `${stored.name}.toml`;
    savedText.value = stored.text;
    text.value = stored.text;
    opened.value++;
    begun.value = true;
  });
}

/** The first case of a visit: nothing to undo. */
export function begin(stored: Stored, saved = stored.text): void {
  take(stored);
  savedText.value = saved;
  past.value = [];
}
