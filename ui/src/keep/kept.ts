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
    const found = JSON.parse(data) as Kept;
    // Files are compared as objects to see whether an answer is about the case in hand: equal ones become one again.
    const files = JSON.stringify(found.stored.files);
    for (const held of Object.values(found.answers)) if (JSON.stringify(held.asked.files) === files) held.asked.files = found.stored.files;
    return found;
  } catch {
    return null;
  }
}

/** `null` in a page that a server gave. */
export const kept = read();

// What only asks hides itself by this in a copy (styles/keep.css).
if (kept !== null) document.documentElement.dataset.kept = "yes";

/** The day of the copy as people write it, in the reader's time; empty in a page that a server gave. */
export const keptOn = kept === null ? "" : new Date(kept.at).toLocaleDateString(undefined, { year: "numeric", month: "long", day: "numeric" });

/** Why nothing can be asked or changed here; `null` where it can. */
export const keptSays = kept === null ? null : `A copy of ${keptOn}: start calotte to ask more.`;
