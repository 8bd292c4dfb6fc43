// Lists of the case as rows: corners, layers, places along the wall, terms of a memory. Lists that go together gain and lose a row
// together, so that they stay of one length.

import { useComputed } from "@preact/signals";
import { about } from "../state/answers";
import { doc, edit, rawOf, setRaw, text } from "../state/case";
import { dropItem, insertItem, isList, items } from "../text/list";
import { put, quoted, scan, unquoted } from "../text/toml";
import type { KeyForm, TableForm } from "../types";
import { Box } from "./box";
import { FieldHead } from "./field";
import { FieldFindings } from "./finding";
import { labelOf } from "./labels";
import { NumberControl } from "./number";
import { foundAt, itemsOf, pathOf, placeOf } from "./place";

const length = (path: string) => items(rawOf(path) ?? "").length;

/** Lists of pieces: one shorter than the corners between which the pieces lie. */
const PIECES = ["shape.arc", "wall.thickness", "wall.thickness_end"];

/** The text with row `at` of the lists doubled (`"more"`) or taken out. */
export function changeRow(before: string, paths: string[], at: number, what: "more" | "less"): string {
  const found = scan(before).entries;
  const listAt = (path: string) => found.find((e) => e.path === path && isList(e.raw));
  const corners = items(listAt("shape.r")?.raw ?? "").length;
  const all = [...paths];
  if (paths.includes("shape.r")) all.push(...PIECES.filter((p) => items(listAt(p)?.raw ?? "").length === corners - 1));
  let next = before;
  for (const path of all) {
    const raw = listAt(path)?.raw;
    if (raw === undefined) continue;
    const own = items(raw);
    const i = paths.includes(path) ? at : Math.max(0, Math.min(own.length - 1, at - (what === "more" ? 0 : 1)));
    const copied = own[i]?.raw;
    if (copied === undefined) continue;
    next = put(next, path, what === "more" ? insertItem(raw, i + 1, copied) : dropItem(raw, i));
  }
  return next;
}

interface RowsProps {
  table: TableForm;
  row: string;
  keys: KeyForm[];
}

export function Rows({ table, row, keys }: RowsProps) {
  const paths = keys.map((k) => pathOf(table.name, k.name));
  const rows = useComputed(() => Math.max(0, ...paths.map(length))).value;
  const word = row.toLowerCase();
  return (
    <fieldset class="rows" data-path={paths[0]}>
      <legend class="hidden-label">{row} by {word}</legend>
      {keys.map((k) => (
        <FieldHead key={k.name} place={placeOf(table.name, k, labelOf(table.name, k.name))} table={table.name} group>
          <p>
            <button type="button" class="small" onClick={() => setRaw(pathOf(table.name, k.name), null)}>
              Take out this list
            </button>{" "}
            {k.takes === "numbers" && length(pathOf(table.name, k.name)) > 0 && (
              <button
                type="button"
                class="small"
                onClick={() => {
                  const path = pathOf(table.name, k.name);
                  setRaw(path, items(rawOf(path) ?? "")[0]?.raw ?? null);
                }}
              >
                One for all (that of the first {word})
              </button>
            )}
          </p>
        </FieldHead>
      ))}
      <ol class="row-list">
        {Array.from({ length: rows }, (_, i) => (
          <li key={i} class="row">
            <span class="row-name">
              {row} {i + 1}
            </span>
            <div class="row-boxes">
              {keys.map((k) => (
                <Cell key={k.name} table={table} form={k} at={i} row={`${word} ${i + 1}`} alone={keys.length === 1} />
              ))}
            </div>
            <div class="row-buttons">
              <button type="button" class="small" aria-label={`Add a ${word} after ${word} ${i + 1}`} title="One more like this" onClick={() => edit(changeRow(text.peek(), paths, i, "more"), `adding of a ${word}`)}>
                +
              </button>
              <button type="button" class="small" aria-label={`Take out ${word} ${i + 1}`} title="Take out" disabled={rows < 2} onClick={() => edit(changeRow(text.peek(), paths, i, "less"), `taking out of ${word} ${i + 1}`)}>
                −
              </button>
            </div>
          </li>
        ))}
      </ol>
      {rows === 0 && (
        <button type="button" class="small" onClick={() => paths.forEach((p) => setRaw(p, '[""]', `rows ${table.name}`))}>
          Add a {word}
        </button>
      )}
      {paths.map((path) => (
        <FieldFindings key={path} id={`rows-${path.replaceAll(".", "-")}`} place={{ path }} />
      ))}
    </fieldset>
  );
}

function Cell({ table, form, at, row, alone }: { table: TableForm; form: KeyForm; at: number; row: string; alone: boolean }) {
  const label = labelOf(table.name, form.name);
  const place = itemsOf(table.name, form, [at], `${label}, ${row}`);
  const raw = useComputed(() => place.raw()).value;
  const listId = `rows-${pathOf(table.name, form.name).replaceAll(".", "-")}-finding`;
  const wrong = foundAt(place).length > 0;
  const id = at === 0 ? placeOf(table.name, form, label).id : place.id;
  const describedBy = wrong ? listId : undefined;
  return (
    <div class="cell">
      {!alone && (
        <span class="cell-name soft" aria-hidden="true">
          {label}
        </span>
      )}
      {form.takes === "texts" ? (
        <TextCell id={id} label={`${label}, ${row}`} value={raw === undefined ? "" : unquoted(raw)} invalid={wrong} describedBy={describedBy} shelf={form.name === "name"} onType={(typed) => place.set(quoted(typed), `text ${place.id}`)} />
      ) : (
        <NumberControl place={{ ...place, id }} whole labelled={`${label}, ${row}`} describedBy={describedBy} />
      )}
    </div>
  );
}

function TextCell(props: { id: string; label: string; value: string; invalid: boolean; describedBy: string | undefined; shelf: boolean; onType: (typed: string) => void }) {
  const { shelf, ...rest } = props;
  return (
    <>
      <Box {...rest} list={shelf ? `${props.id}-list` : undefined} />
      {shelf && (
        <datalist id={`${props.id}-list`}>
          {(about.value?.shelf ?? []).map((m) => (
            <option key={m.name} value={m.name}>
              {m.says}
            </option>
          ))}
        </datalist>
      )}
    </>
  );
}

/** Begins a list: as many items as the lists beside it have, each still to be filled; or the one value for each. */
export function beginList(path: string, beside: string[]): void {
  const rows = Math.max(1, ...beside.map(length));
  const one = doc.peek().entries.find((e) => e.path === path)?.raw;
  setRaw(path, `[${Array.from({ length: rows }, () => one ?? '""').join(", ")}]`);
}
