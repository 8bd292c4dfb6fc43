// An answer's sheet as the plain text that the terminal prints: the same columns, the same line ends.

import type { Block, Sheet } from "../types";

const WIDTH = 92;
const INDENT = 31;
const CELL = 30;

const count = (text: string) => [...text].length;

export function sheetText(sheet: Sheet): string {
  const lines = sheet.blocks.map((block) => {
    switch (block.kind) {
      case "text":
        return wrap(block.text, "", "");
      case "head":
        return `\n${block.text}`;
      case "item":
        return wrap(block.text, "  - ", "    ");
      case "row":
        return wrap(block.value, `  ${padEnd(block.name, 28)} `, " ".repeat(INDENT));
      case "cells":
        return line(block.name, block.cells);
      case "table":
        return table(block);
    }
  });
  return `${[sheet.title, ...lines].join("\n").trimEnd()}\n`;
}

const padEnd = (text: string, width: number) => text + " ".repeat(Math.max(0, width - count(text)));
const padStart = (text: string, width: number) => " ".repeat(Math.max(0, width - count(text))) + text;

function wrap(text: string, first: string, indent: string): string {
  let out = first;
  let column = count(first);
  let fresh = true;
  for (const word of text.split(/\s+/).filter((w) => w !== "")) {
    const n = count(word);
    if (!fresh && column + 1 + n > WIDTH) {
      out += `\n${indent}`;
      column = count(indent);
      fresh = true;
    }
    if (!fresh) {
      out += " ";
      column += 1;
    }
    out += word;
    column += n;
    fresh = false;
  }
  return out;
}

function line(name: string, cells: string[]): string {
  let out = `  ${name}`;
  cells.forEach((cell, i) => {
    out += " ".repeat(Math.max(1, INDENT + CELL * i - count(out))) + cell;
  });
  return out.trimEnd();
}

function table(block: Extract<Block, { kind: "table" }>): string {
  // A page kept by an earlier program has none.
  const right: number[] | undefined = block.right;
  const columns = Math.max(0, ...block.rows.map((r) => r.length));
  const widths = Array.from({ length: columns }, (_, i) => Math.max(0, ...block.rows.map((r) => count(r[i] ?? ""))));
  return block.rows.map((row) => line(row.map((cell, i) => (right?.[i] !== undefined ? padStart(cell, right[i]) : padEnd(cell, widths[i] ?? 0))).join("  "), [])).join("\n");
}
