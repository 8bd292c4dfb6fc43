// The envelope of an answer. Sheets, films, forms and reports inside are the types in ./api, generated from the Rust sources.

import type { Film, Sheet, TableForm } from "./api";

export type { Block, Film, Frame, KeyForm, Look, Sheet, TableForm } from "./api";

export type Level = "error" | "warning";

export interface Finding {
  level: Level;
  /** A file that the case names, or null for the case itself. */
  file: string | null;
  line: number;
  column: number;
  /** Byte offsets in the text. */
  from: number;
  to: number;
  key: string | null;
  says: string;
  hint: string | null;
}

export interface Picture {
  name: string;
  svg: string;
  /** base64; empty when only the SVG was asked for. */
  png: string;
  alt: string;
  caption: string;
}

export interface Answer<R = unknown> {
  question: Question;
  seconds: number;
  sheet: Sheet;
  report: R;
  doubtful: boolean;
  film: Film | null;
  figures: Picture[];
  tables: { name: string; csv: string }[];
}

export type Question = "look" | "verdict" | "states" | "poke" | "release" | "map" | "heat" | "modes";

export interface Refused {
  kind: "case" | "question" | "busy" | "slow" | "stopped" | "failed" | "away";
  says: string;
  help: string | null;
}

export interface Progress {
  share: number | null;
  words: string;
}

export interface About {
  program: string;
  version: string;
  limits: { body_bytes: number; quick_seconds: number; long_seconds: number };
  node_missing: boolean;
  tables: TableForm[];
  shelf: { name: string; says: string }[];
  cases: { name: string; title: string; says: string }[];
  templates: string[];
  folder: { name: string } | null;
}

export interface Stored {
  name: string;
  text: string;
  files: Record<string, string>;
}
