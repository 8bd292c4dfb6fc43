// A single-file copy of the page carries its case and its answers in a script of data; with them the page needs no server.

import type { Asked, SlotName } from "../state/ask";
import type { About, Answer, Stored } from "../types";

export interface Kept {
  /** When it was kept, ISO 8601. */
  at: string;
  about: About;
  stored: Stored;
  answers: Partial<Record<SlotName, { answer: Answer; asked: Asked }>>;
}

function read(): Kept | null {
  const data = document.getElementById("kept")?.textContent;
  if (data === undefined || data === null || data.trim() === "") return null;
  try {
    return JSON.parse(data) as Kept;
  } catch {
    return null;
  }
}

/** `null` in a page that a server gave. */
export const kept = read();
