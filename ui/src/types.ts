// The envelope of an answer. What goes over the wire is in ./wire, what lies inside it in ./api; both are generated from the Rust
// sources. Here stand the page's names for it, and what the page knows better than the server says.

import type { AnswerLine, Kind, Refused as Said } from "./wire";

export type { Block, Film, Frame, KeyForm, Look, Sheet, TableForm } from "./api";
export type { About, CaseFiles as Stored, FigureLine as Picture, FindingLine as Finding, ProgressLine as Progress, Wants } from "./wire";

export type Question = "look" | "verdict" | "states" | "poke" | "release" | "map" | "heat" | "modes" | "spread" | "size";

/** An answer whose report is of type `R`. */
export type Answer<R = unknown> = Omit<AnswerLine, "question" | "report"> & { question: Question; report: R };

/** `away`: said by the page itself, of a server that cannot be reached. */
export type Refused = Omit<Said, "kind"> & { kind: Kind | "away" };
