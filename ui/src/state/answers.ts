// What the page knows about the case in hand. `look` and `verdict` follow every change by themselves; the other questions are asked
// when their panel is opened, and say when the case has changed since.

import { computed, effect, signal } from "@preact/signals";
import { kept } from "../keep/kept";
import type { About, Answer, Film, Finding, Look, Question, Refused } from "../types";
import { Slot, away, shut, type SlotName } from "./ask";
import { begun, files, text } from "./case";

export const about = signal<About | null>(kept?.about ?? null);

export const look = new Slot<Look>("look", "look");
/** Reports are the types of ./api; panels name them where they read them. */
export const verdict = new Slot<unknown>("verdict", "verdict");
export const states = new Slot<unknown>("states", "states");
export const poke = new Slot<unknown>("poke", "poke");
/** A push of the pole by hand, for dragging. */
export const hand = new Slot<unknown>("hand", "poke");
export const release = new Slot<unknown>("release", "release");
export const map = new Slot<unknown>("map", "map", {});
export const heat = new Slot<unknown>("heat", "heat");
export const modes = new Slot<unknown>("modes", "modes");
/** A batch within its tolerances. */
export const spread = new Slot<unknown>("spread", "spread", {});
/** Sizes that give what is wished. */
export const size = new Slot<unknown>("size", "size", {});

export const slots: Record<SlotName, Slot<unknown>> = { look: look as Slot<unknown>, verdict, states, poke, hand, release, map, heat, modes, spread, size };

/** Findings about the text in hand. */
export const findings = computed<Finding[]>(() => look.findings.value);
/** Whether the text in hand is no case: the answers shown are those of the last one that was. */
export const broken = computed(() => findings.value.some((f) => f.level === "error"));

/** Whether the question makes sense for the case, and why not. */
export function canAsk(question: Question): { ok: boolean; says: string } {
  const found = look.answer.value?.report.asks.find((a) => a.question === question);
  return found ?? { ok: false, says: "The case is not read yet." };
}

/** Parts of lines and arcs have a list of stable states in the place of a verdict. */
export const listsStates = computed(() => look.answer.value?.report.lists_states ?? false);

export function filmOf(slot: SlotName): Film | null {
  return (slots[slot].answer.value as Answer | null)?.film ?? null;
}

/** What the program is; throws when there is no server, or one that does not answer this page (`shut`: why). */
export async function readAbout(): Promise<About> {
  const response = await fetch("./api/about");
  const found = (await response.json()) as About & { refused?: Refused };
  shut.value = response.ok ? null : (found.refused ?? { kind: "away", says: `The server says ${response.status}.`, help: null });
  if (!response.ok) throw new Error(shut.value?.says);
  return found;
}

/** Begins to follow the case; call once. */
export function follow(): void {
  if (kept !== null) return;
  effect(() => {
    text.value;
    files.value;
    if (!begun.value) return;
    look.run();
    if (!listsStates.peek()) verdict.run({ depth: true });
  });
  // The kind of part decides which question stands for the verdict; it is known when `look` has answered. After a part that lists its
  // states the verdict was not asked for above.
  effect(() => {
    if (look.answer.value === null || look.stale.peek() || listsStates.value) return;
    if (!verdict.busy.peek() && !verdict.tried()) verdict.run({ depth: true });
  });
  let pause = 500;
  let trying = false;
  const again = async () => {
    try {
      about.value = await readAbout();
      trying = false;
      away.value = false;
      pause = 500;
      if (begun.peek()) {
        look.run();
        if (!listsStates.peek()) verdict.run({ depth: true });
      }
    } catch {
      pause = Math.min(pause * 1.6, 5000);
      setTimeout(again, pause);
    }
  };
  effect(() => {
    if (!away.value || trying) return;
    trying = true;
    setTimeout(again, pause);
  });
}
