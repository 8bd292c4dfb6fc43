// The case as a form: every key that the server knows, grouped as a person thinks of a part.

import { useComputed } from "@preact/signals";
import { about } from "../state/answers";
import { doc, edit, rawOf, setRaw, text, valueOf } from "../state/case";
import { isList } from "../text/list";
import { addTable, dropTable, hasTable, quoted } from "../text/toml";
import type { KeyForm, TableForm } from "../types";
import { Field, Stray, Ticked } from "./field";
import { Files } from "./files";
import { FieldFindings } from "./finding";
import { GROUPS, ROWS, labelOf, tableLabel } from "./labels";
import { foundAt, pathOf } from "./place";
import { Rows, beginList } from "./rows";

export function Form() {
  const tables = about.value?.tables ?? [];
  if (tables.length === 0) return <p class="soft">The form is made from what the server knows of a case; it is not here yet. The text can be changed all the same.</p>;
  const grouped = GROUPS.flatMap((g) => g.tables);
  const others = tables.filter((t) => !grouped.includes(t.name));
  return (
    <form class="case-form" onSubmit={(e) => e.preventDefault()} autocomplete="off">
      {[...GROUPS, { name: "More", tables: others.map((t) => t.name) }].map((g) => {
        const own = g.tables.flatMap((n) => tables.filter((t) => t.name === n));
        return own.length === 0 ? null : (
          <div key={g.name} class="form-group" role="group" aria-label={g.name}>
            <h3>{g.name}</h3>
            {own.map((t) => (
              <Table key={t.name} table={t} />
            ))}
          </div>
        );
      })}
      <StrayTables known={tables.map((t) => t.name)} />
      <Files />
    </form>
  );
}

/** Whether a key goes with the kind that is chosen. */
function belongs(key: KeyForm, table: string): boolean {
  if (key.kinds.length === 0 || key.decided_by === null) return true;
  const kind = valueOf(pathOf(table, key.decided_by)) ?? key.decided_default;
  return kind === null ? false : key.kinds.includes(kind);
}

function Table({ table }: { table: TableForm }) {
  const has = useComputed(() => table.name === "" || hasTable(doc.value, table.name)).value;
  const kind = table.keys.find((k) => k.name === "kind");
  if (!has && !table.required) return <Absent table={table} kind={kind} />;
  return <Present table={table} kind={kind} />;
}

function Absent({ table, kind }: { table: TableForm; kind: KeyForm | undefined }) {
  const label = tableLabel(table.name);
  const id = `add-${table.name}`;
  return (
    <div class="table-absent">
      {kind !== undefined && kind.choices.length > 0 ? (
        <>
          <label for={id}>{label}</label>
          <select id={id} class="text-main" value="" onChange={(e) => setRaw(`${table.name}.kind`, quoted(e.currentTarget.value))}>
            <option value="">none</option>
            {kind.choices.map((c) => (
              <option key={c} value={c}>
                {c}
              </option>
            ))}
          </select>
        </>
      ) : (
        <button type="button" class="small" id={id} title={table.says} onClick={() => edit(addTable(text.peek(), table.name), `adding of ${label.toLowerCase()}`)}>
          + {label}
        </button>
      )}
    </div>
  );
}

function Present({ table, kind }: { table: TableForm; kind: KeyForm | undefined }) {
  const label = tableLabel(table.name);
  // What stands where changes seldom; values are followed by the controls themselves.
  const plan = useComputed(() => {
    const isIn = (k: KeyForm) => rawOf(pathOf(table.name, k.name));
    const own = table.keys.filter((k) => belongs(k, table.name));
    // What only the chosen kind has is asked for at once. Of a shape's many sizes two are enough; the others wait under "More".
    const special = own.filter((k) => k.kinds.length > 0);
    const asks = table.name !== "shape" || special.filter((k) => isIn(k) !== undefined).length < 2;
    const wanted = (k: KeyForm) => isIn(k) !== undefined || k === kind || table.name === "" || (asks && special.includes(k)) || foundAt({ path: pathOf(table.name, k.name) }).length > 0;
    const lists = own.filter((k) => isList(isIn(k)));
    const names = own.map((k) => k.name);
    const stray = doc.value.entries.filter((e) => inTable(e.path, table.name) && !names.includes(e.path.slice(table.name === "" ? 0 : table.name.length + 1))).map((e) => e.path);
    return JSON.stringify({
      shown: own.filter((k) => !lists.includes(k) && wanted(k)).map((k) => k.name),
      lists: lists.map((k) => k.name),
      more: own.filter((k) => !wanted(k)).map((k) => k.name),
      stray,
      empty: table.required && own.every((k) => isIn(k) === undefined),
    });
  });
  const { shown, lists, more, stray, empty } = JSON.parse(plan.value) as { shown: string[]; lists: string[]; more: string[]; stray: string[]; empty: boolean };
  const keys = (names: string[]) => table.keys.filter((k) => names.includes(k.name));
  const rows = ROWS[table.name];
  const together = keys(lists).filter((k) => rows?.keys.includes(k.name)).sort((a, b) => (rows?.keys.indexOf(a.name) ?? 0) - (rows?.keys.indexOf(b.name) ?? 0));
  const alone = keys(lists).filter((k) => !together.includes(k));
  const rowWord = table.name === "wall" && !lists.includes("arc") ? "Piece" : (rows?.row ?? "Item");
  const toList = (k: KeyForm) => () => beginList(pathOf(table.name, k.name), lists.map((n) => pathOf(table.name, n)));
  return (
    <div class="table" data-table={table.name}>
      {table.name !== "" && (
        <div class="table-head">
          <h4>{label}</h4>
          {!table.required && (
            <button type="button" class="small" onClick={() => edit(dropTable(text.peek(), table.name), `taking out of ${label.toLowerCase()}`)} aria-label={`Take out ${label.toLowerCase()}`}>
              Take out
            </button>
          )}
        </div>
      )}
      <FieldFindings id={`table-${table.name}`} place={{ path: table.name }} />
      {keys(shown).map((k) => (
        <Key key={k.name} table={table.name} form={k} onList={toList(k)} />
      ))}
      {together.length > 0 && <Rows table={table} row={rowWord} keys={together} />}
      {alone.map((k) => (
        <Rows key={k.name} table={table} row={k.name === "arc" ? "Piece" : "Item"} keys={[k]} />
      ))}
      {stray.map((path) => (
        <Stray key={path} path={path} />
      ))}
      {more.length > 0 && (
        <details class="more" open={empty || (table.name !== "" && foundAt({ path: table.name }).length > 0) ? true : undefined}>
          <summary>
            More <span class="soft">({summary(table.name, more)})</span>
          </summary>
          {keys(more).map((k) => (
            <Key key={k.name} table={table.name} form={k} onList={toList(k)} />
          ))}
        </details>
      )}
    </div>
  );
}

function summary(table: string, names: string[]): string {
  const first = names.slice(0, 3).map((n) => labelOf(table, n).toLowerCase());
  return names.length > 3 ? `${first.join(", ")} …` : first.join(", ");
}

function inTable(path: string, table: string): boolean {
  return table === "" ? !path.includes(".") : path.startsWith(`${table}.`);
}

/** A key that is no list yet: its control, or where its list begins. */
function Key({ table, form, onList }: { table: string; form: KeyForm; onList: () => void }) {
  const present = useComputed(() => rawOf(pathOf(table, form.name)) !== undefined).value;
  if (!present && (form.takes === "list" || form.takes === "texts")) return <ListStart table={table} form={form} onStart={onList} />;
  return <Field table={table} form={form} onList={form.takes === "numbers" || form.takes === "list" ? onList : undefined} />;
}

function ListStart({ table, form, onStart }: { table: string; form: KeyForm; onStart: () => void }) {
  return (
    <div class="field">
      <div class="field-head">
        <span class="field-label">{labelOf(table, form.name)}</span>
        <button type="button" class="small" aria-label={`Begin the list: ${labelOf(table, form.name)}`} onClick={onStart}>
          Begin the list
        </button>
      </div>
      <p class="soft field-says">
        <Ticked text={form.says} />
      </p>
    </div>
  );
}

/** Tables in the text that no case has. */
function StrayTables({ known }: { known: string[] }) {
  const names = useComputed(() => [...new Set(doc.value.tables.map((t) => t.name))].filter((n) => n !== "" && !known.includes(n) && !known.includes(n.split(".")[0] ?? "")).join("\n")).value;
  if (names === "") return null;
  return (
    <div class="form-group" role="group" aria-label="Not known">
      <h3>Not known</h3>
      {names.split("\n").map((name) => (
        <div key={name} class="table">
          <div class="table-head">
            <h4>
              <code>[{name}]</code>
            </h4>
            <button type="button" class="small" onClick={() => edit(dropTable(text.peek(), name), `taking out of ${name}`)} aria-label={`Take out ${name}`}>
              Take out
            </button>
          </div>
          <FieldFindings id={`table-${name}`} place={{ path: name }} />
        </div>
      ))}
    </div>
  );
}
