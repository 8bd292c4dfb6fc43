// A place in the case's text that a control shows and changes: the value of a key, or some items of a list.

import { computed } from "@preact/signals";
import { findings } from "../state/answers";
import { doc, edit, rawOf, setRaw, text } from "../state/case";
import { insertItem, items, putItem } from "../text/list";
import { put, unquoted } from "../text/toml";
import { indexOfByte } from "../text/toml";
import type { Finding, KeyForm } from "../types";

export interface Place {
  /** Unique among the controls of one part of the page. */
  id: string;
  path: string;
  label: string;
  form: KeyForm;
  raw(): string | undefined;
  set(raw: string, merge: string | null): void;
  /** Items of the list that the place stands for; all of a plain value when missing. */
  at?: number[];
}

export function pathOf(table: string, key: string): string {
  return table === "" ? key : `${table}.${key}`;
}

export function placeOf(table: string, form: KeyForm, label: string, prefix = "f"): Place {
  const path = pathOf(table, form.name);
  return { id: idOf(prefix, path), path, label, form, raw: () => rawOf(path), set: (raw, merge) => setRaw(path, raw, merge) };
}

/** Some items of a list that change together. */
export function itemsOf(table: string, form: KeyForm, at: number[], label: string, prefix = "f"): Place {
  const path = pathOf(table, form.name);
  return {
    id: `${idOf(prefix, path)}-${at.join("-")}`,
    path,
    label,
    form,
    at,
    raw: () => items(rawOf(path) ?? "")[at[0] ?? 0]?.raw,
    set(raw, merge) {
      let list = rawOf(path) ?? "[]";
      for (const i of at) {
        // A list that is shorter than those beside it is filled up, so that the item comes to stand in its row.
        while (items(list).length < i) list = insertItem(list, items(list).length, '""');
        list = putItem(list, i, raw);
      }
      edit(put(text.peek(), path, list), `change of ${path}`, merge);
    },
  };
}

function idOf(prefix: string, path: string): string {
  return `${prefix}-${path.replaceAll(".", "-")}`;
}

/** The id that a finding's button moves to. */
export function fieldId(path: string): string {
  return idOf("f", path);
}

/** The value without its quotes. */
export function shownValue(place: Place): string {
  const raw = place.raw();
  return raw === undefined ? "" : unquoted(raw);
}

export interface Placed extends Finding {
  /** The key it is about, by name or by where it stands in the text; null when neither tells. */
  path: string | null;
  /** String indices. */
  start: number;
  end: number;
}

/** Findings with the place in the text that they are about. */
export const placed = computed<Placed[]>(() =>
  findings.value.map((f) => {
    const start = indexOfByte(text.value, f.from);
    const end = indexOfByte(text.value, f.to);
    if (f.file !== null) return { ...f, path: f.key, start: 0, end: 0 };
    const entries = doc.value.entries;
    const entry = entries.find((e) => e.inline && start >= e.from && start <= e.to) ?? entries.find((e) => start >= e.lineFrom && start < e.lineTo);
    return { ...f, path: f.key ?? entry?.path ?? null, start, end };
  }),
);

/** Findings to show at a control. */
export function foundAt(place: { path: string; at?: number[] | undefined }): Placed[] {
  const own = placed.value.filter((f) => f.path === place.path);
  if (place.at === undefined || own.length === 0) return own;
  const entry = doc.value.entries.find((e) => e.path === place.path);
  if (entry === undefined) return [];
  const list = items(entry.raw);
  return own.filter((f) => place.at?.some((i) => {
    const item = list[i];
    return item !== undefined && f.file === null && f.start >= entry.from + item.from && f.start <= entry.from + item.to;
  }));
}
