// A sheet as the program prints it: rows, items, tables, by sections.

import type { ComponentChildren } from "preact";
import type { Block, Sheet } from "../types";
import "../styles/answer.css";

export interface Section {
  /** "" for what stands before the first head. */
  head: string;
  blocks: Block[];
}

export function sectionsOf(sheet: Sheet): Section[] {
  const out: Section[] = [{ head: "", blocks: [] }];
  for (const b of sheet.blocks) {
    if (b.kind === "head") out.push({ head: b.text, blocks: [] });
    else out[out.length - 1]?.blocks.push(b);
  }
  return out.filter((s) => s.head !== "" || s.blocks.length > 0);
}

/** The value of a row of the sheet, by its name; the first one. */
export function rowOf(sheet: Sheet | undefined, name: string | RegExp): string | null {
  for (const b of sheet?.blocks ?? []) if (b.kind === "row" && (typeof name === "string" ? b.name === name : name.test(b.name))) return b.value;
  return null;
}

/** Blocks of one section. */
export function Blocks({ blocks }: { blocks: readonly Block[] }) {
  const out: ComponentChildren[] = [];
  for (let i = 0; i < blocks.length; ) {
    const kind = blocks[i]?.kind;
    let j = i;
    while (j < blocks.length && blocks[j]?.kind === kind) j++;
    out.push(<Run key={i} blocks={blocks.slice(i, j)} />);
    i = j;
  }
  return <>{out}</>;
}

/** Blocks of one kind in a row. */
function Run({ blocks }: { blocks: readonly Block[] }) {
  const first = blocks[0];
  if (first === undefined) return null;
  switch (first.kind) {
    case "text":
      return (
        <>
          {blocks.map((b, i) => (b.kind === "text" ? <p key={i}>{b.text}</p> : null))}
        </>
      );
    case "item":
      return (
        <ul class="sheet-items">
          {blocks.map((b, i) => (b.kind === "item" ? <li key={i}>{b.text}</li> : null))}
        </ul>
      );
    case "row": {
      // A row without a name goes on with the one before.
      const rows: { name: string; values: string[] }[] = [];
      for (const b of blocks) {
        if (b.kind !== "row") continue;
        const last = rows[rows.length - 1];
        if (b.name === "" && last !== undefined) last.values.push(b.value);
        else rows.push({ name: b.name, values: [b.value] });
      }
      return (
        <dl class="sheet-rows">
          {rows.map((r, i) => (
            <div key={i}>
              <dt>{r.name === "" ? " " : r.name}</dt>
              {r.values.map((v, k) => (
                <dd key={k}>{v}</dd>
              ))}
            </div>
          ))}
        </dl>
      );
    }
    case "cells": {
      const rows = blocks.flatMap((b) => (b.kind === "cells" ? [[b.name, ...b.cells]] : []));
      return <Grid rows={rows} named />;
    }
    case "table":
      return (
        <>
          {blocks.map((b, i) => (b.kind === "table" ? <Grid key={i} rows={b.rows} /> : null))}
        </>
      );
    case "head":
      return null;
  }
}

/** The first row heads; `named`: the first column names its rows. Rows shorter than the longest are filled up. */
function Grid({ rows, named = false }: { rows: readonly (readonly string[])[]; named?: boolean }) {
  const [head = [], ...body] = rows;
  const columns = Math.max(...rows.map((r) => r.length));
  const fill = (r: readonly string[]) => Array.from({ length: columns }, (_, i) => r[i] ?? "");
  return (
    <div class="sheet-scroll" tabIndex={0} role="group" aria-label="Table">
      <table class="sheet-table">
        <thead>
          <tr>
            {fill(head).map((c, i) => (c === "" ? <td key={i} /> : <th key={i} scope="col">{c}</th>))}
          </tr>
        </thead>
        <tbody>
          {body.map((r, k) => (
            <tr key={k}>{fill(r).map((c, i) => (named && i === 0 ? <th key={i} scope="row">{c}</th> : <td key={i}>{c}</td>))}</tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/**
 * A whole sheet. Sections whose head is in `open` stand open, the others unfold; `skip` leaves some out.
 */
export function SheetView({ sheet, open = () => false, skip = () => false, level = 3 }: { sheet: Sheet; open?: (head: string) => boolean; skip?: (head: string) => boolean; level?: 3 | 4 }) {
  const H = level === 3 ? "h3" : "h4";
  return (
    <div class="sheet">
      {sectionsOf(sheet)
        .filter((s) => !skip(s.head))
        .map((s) =>
          s.head === "" || open(s.head) ? (
            <section key={s.head} class="sheet-section">
              {s.head !== "" && <H>{s.head}</H>}
              <Blocks blocks={s.blocks} />
            </section>
          ) : (
            <details key={s.head} class="sheet-section">
              <summary>
                <span class="sheet-head">{s.head}</span>
              </summary>
              <Blocks blocks={s.blocks} />
            </details>
          ),
        )}
    </div>
  );
}
