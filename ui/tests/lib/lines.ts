// The terminal's words taken apart by how they stand on the screen, and the page's by its elements, to be laid side by side.

import type { Locator } from "@playwright/test";

export interface Entry {
  kind: "head" | "text" | "item" | "row" | "cells";
  /** Cells, white space within them made single. */
  cells: string[];
}

const single = (s: string) => s.replaceAll(/\s+/g, " ").trim();

/** Columns before the value of a row. */
const INDENT = 31;

/** Title and entries of what the program prints. */
export function ofTerminal(out: string): { title: string; entries: Entry[] } {
  const [title = "", ...lines] = out.trimEnd().split("\n");
  const entries: Entry[] = [];
  let blank = false;
  const on = (kind: Entry["kind"], line: string) => {
    const last = entries[entries.length - 1];
    if (last?.kind === kind) last.cells.push(`${last.cells.pop() ?? ""} ${single(line)}`);
  };
  for (const line of lines) {
    const last = entries[entries.length - 1];
    if (line.trim() === "") {
      blank = true;
      continue;
    }
    if (!line.startsWith(" ")) {
      if (blank) entries.push({ kind: "head", cells: [single(line)] });
      else if (last?.kind === "text") on("text", line);
      else entries.push({ kind: "text", cells: [single(line)] });
    } else if (line.startsWith("  - ")) {
      entries.push({ kind: "item", cells: [single(line.slice(4))] });
    } else if (last?.kind === "item" && /^ {4}\S/.test(line)) {
      on("item", line);
    } else if (last?.kind === "row" && line.startsWith(" ".repeat(INDENT)) && !/\S {2,}\S/.test(line)) {
      on("row", line);
    } else {
      const cells = line.trim().split(/ {2,}/).map(single);
      // A name with one value beside it, at the column of values: a row. Its value never holds two blanks side by side.
      const row = /^ {2}\S/.test(line) && line[INDENT - 1] === " " && line[INDENT] !== " " && line.length > INDENT && !/\S {2,}\S/.test(line.slice(INDENT));
      entries.push(row ? { kind: "row", cells: [single(line.slice(0, INDENT)), single(line.slice(INDENT))] } : { kind: "cells", cells });
    }
    blank = false;
  }
  return { title: single(title), entries };
}

/** Entries of a sheet on the page, everything folded away included. */
export async function ofPage(sheet: Locator): Promise<Entry[]> {
  return sheet.evaluate((root) => {
    const clean = (e: Element | null) => (e?.textContent ?? "").replaceAll(/\s+/g, " ").trim();
    const out: { kind: "head" | "text" | "item" | "row" | "cells"; cells: string[] }[] = [];
    for (const el of root.querySelectorAll("h3, h4, .sheet-head, p, li, dl > div, tr")) {
      const last = out[out.length - 1];
      if (el.matches("h3, h4, .sheet-head")) out.push({ kind: "head", cells: [clean(el)] });
      else if (el.matches("p")) {
        if (last?.kind === "text") last.cells = [`${last.cells[0] ?? ""} ${clean(el)}`];
        else out.push({ kind: "text", cells: [clean(el)] });
      } else if (el.matches("li")) out.push({ kind: "item", cells: [clean(el)] });
      else if (el.matches("tr")) out.push({ kind: "cells", cells: [...el.children].map(clean).filter((c) => c !== "") });
      else out.push({ kind: "row", cells: [clean(el.querySelector("dt")), [...el.querySelectorAll("dd")].map(clean).join(" ")] });
    }
    return out;
  });
}

/** Sections that both sides show elsewhere than in the sheet are taken out: head and all that follows it up to the next. */
export function without(entries: Entry[], head: RegExp): Entry[] {
  let inside = false;
  return entries.filter((e) => {
    if (e.kind === "head") inside = head.test(e.cells[0] ?? "");
    return !inside;
  });
}

/** As one text each, for the comparison of long names that leave no gap before their value. */
export const flat = (e: Entry): string => e.cells.join(" ");
