// The tour borrows the page: what stood there is remembered before the first step and put back when a person wants it.

import { batch, signal } from "@preact/signals";
import { openQuestion } from "../questions/open";
import { listsStates, look, verdict } from "../state/answers";
import { files, name, savedText, take, text } from "../state/case";
import { colouring, cut, picking, picks, rest, ripple, showLip, showMirror, shown, wallScale } from "../state/scene";
import type { Stored } from "../types";

const SCENE = { cut, colouring, wallScale, showMirror, showLip, rest, shown, picking, picks, openQuestion } as const;

interface Before {
  stored: Stored;
  savedText: string;
  scene: { [K in keyof typeof SCENE]: (typeof SCENE)[K]["value"] };
}

let before: Before | null = null;

export function remember(): void {
  const scene = Object.fromEntries(Object.entries(SCENE).map(([k, s]) => [k, s.peek()])) as Before["scene"];
  before = { stored: { name: name.peek(), text: text.peek(), files: files.peek() }, savedText: savedText.peek(), scene };
}

/** Everything as it was before the tour; the tour's own case stays one step of undo away. */
export function putBack(): void {
  const was = before;
  if (was === null) return;
  batch(() => {
    if (text.peek() !== was.stored.text || files.peek() !== was.stored.files) {
      take(was.stored, "leave the tour");
      savedText.value = was.savedText;
    }
    name.value = was.stored.name;
    ripple.value = null;
    for (const [k, s] of Object.entries(SCENE)) (s as { value: unknown }).value = was.scene[k as keyof typeof SCENE];
  });
}

/** The case that was wanted last: one that comes later than it was wanted is not taken in hand any more. */
let wanted = "";

/** Forgets what was there; points picked for the tour go, and a case that is still on its way is not taken any more. */
export function forget(): void {
  before = null;
  wanted = "";
  picking.value = false;
  picks.value = [];
}

/** What keeps the tour from showing its case; "" while all is well. */
export const trouble = signal("");

const fetched = new Map<string, Stored>();

/** Takes a worked case in hand, unless it is there already, unchanged; null where it is not to be had, or another was wanted meanwhile. */
export async function worked(which: string): Promise<Stored | null> {
  wanted = which;
  try {
    let stored = fetched.get(which);
    if (stored === undefined) {
      const response = await fetch(`./api/cases/${which}`);
      if (!response.ok) throw new Error(`the server does not give the worked case ${which} (${response.status})`);
      stored = (await response.json()) as Stored;
      fetched.set(which, stored);
    }
    if (wanted !== which) return null;
    trouble.value = "";
    if (text.peek() !== stored.text) take(stored, `the tour opens ${which}`);
    return stored;
  } catch (e) {
    if (wanted !== which) return null;
    trouble.value = `The tour needs the server: ${e instanceof Error ? e.message : String(e)}.`;
    return null;
  }
}

/** Whether look and verdict are of the text in hand. */
export function settled(): boolean {
  const fresh = look.answer.value !== null && !look.stale.value && !look.busy.value;
  return fresh && (listsStates.value || (verdict.answer.value !== null && !verdict.stale.value && !verdict.busy.value));
}
