// The envelope of an answer. The reports inside are the types in ./api, generated from the Rust sources.

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

export type Block =
  | { kind: "text"; text: string }
  | { kind: "head"; text: string }
  | { kind: "item"; text: string }
  | { kind: "row"; name: string; value: string }
  | { kind: "cells"; name: string; cells: string[] }
  | { kind: "table"; rows: string[][] };

export interface Sheet {
  title: string;
  blocks: Block[];
}

export interface Frame {
  name: string;
  at: number;
  row: number | null;
  branch: string | null;
  r_m: number[];
  z_m: number[];
  slope_rad: number[];
  strain: number[];
  energy_J_per_m2: number[];
  lip_m: number | null;
}

/** Shapes of one part over a path, a time, a temperature; all frames share the places `s_m`. */
export interface Film {
  over: "shapes" | "path" | "time" | "temperature";
  s_m: number[];
  thickness_m: number[];
  frames: Frame[];
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

export interface KeyForm {
  name: string;
  takes: "text" | "flag" | "choice" | "number" | "numbers" | "list" | "texts";
  choices: string[];
  dimension: string | null;
  units: string[];
  usual: [number | null, number | null];
  range: string;
  says: string;
  example: string;
  kinds: string[];
  decided_by: string | null;
  decided_default: string | null;
  tolerance: boolean;
}

export interface TableForm {
  name: string;
  says: string;
  required: boolean;
  keys: KeyForm[];
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

/** What `look` says of a case. */
export interface Look {
  title: string;
  part: {
    shape: string;
    rim_radius_m: number;
    rise_m: number;
    arc_length_m: number;
    hole_radius_m: number;
    thickness_m: number;
    rim: string;
    [key: string]: unknown;
  };
  lists_states: boolean;
  layers: number;
  strain_limit: number | null;
  notes: string[];
  inputs: { key: string; value_si: number; half_width_si: number | null; unit: string }[];
  asks: { question: Question; ok: boolean; says: string }[];
  loads: string | null;
  cautions: string[];
}
