// The server's own figures and tables: the same question asked again, this time with them.

import { ask, type SlotName } from "../state/ask";
import { slots } from "../state/answers";
import type { Answer, Picture } from "../types";

export interface Papers {
  figures: Picture[];
  tables: { name: string; csv: string }[];
}

/** Figures and tables of the answer in hand; throws with words when the server does not give them. */
export async function papers(name: SlotName, signal?: AbortSignal): Promise<Papers> {
  const slot = slots[name];
  const answer: Answer | null = slot.answer.peek();
  const asked = slot.asked.peek();
  if (answer === null || asked === null) throw new Error("This question has no answer yet.");
  if (answer.figures.length > 0 || answer.tables.length > 0) return answer;
  const out = await ask(slot.question, asked, { figures: true, tables: true }, undefined, undefined, signal);
  if (out.answer === null) throw new Error([out.refused?.says, out.refused?.help].filter((s) => s).join(" "));
  return { figures: out.answer.figures, tables: out.answer.tables };
}
