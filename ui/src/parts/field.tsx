// One key of the case as a control with its label, its findings and, on demand, what it means.

import { useComputed, useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { about } from "../state/answers";
import { files, rawOf, setRaw } from "../state/case";
import { isList } from "../text/list";
import { quoted, unquoted } from "../text/toml";
import type { KeyForm } from "../types";
import { Box } from "./box";
import { FieldFindings } from "./finding";
import { labelOf } from "./labels";
import { EmptyNumber, NumberControl } from "./number";
import { foundAt, placeOf, type Place } from "./place";

/** Keys that name a file beside the case. */
export const FILE_KEYS = ["file", "table", "moduli", "expansions"];

interface FieldProps {
  table: string;
  form: KeyForm;
  /** Turns one value into a list, where lists are taken. */
  onList?: (() => void) | undefined;
}

export function Field({ table, form, onList }: FieldProps) {
  const place = placeOf(table, form, labelOf(table, form.name));
  const present = useComputed(() => rawOf(place.path) !== undefined).value;
  const found = foundAt(place).length > 0;
  const describedBy = found ? `${place.id}-finding` : undefined;
  return (
    <div class="field" data-path={place.path}>
      <FieldHead place={place} table={table}>
        <p>
          {present && form.name !== "kind" && (
            <button type="button" class="small" onClick={() => setRaw(place.path, null)}>
              Take out {place.label.toLowerCase()}
            </button>
          )}{" "}
          {onList !== undefined && (
            <button type="button" class="small" onClick={onList}>
              Write as a list
            </button>
          )}
        </p>
      </FieldHead>
      <Control place={place} table={table} present={present} describedBy={describedBy} />
      <FieldFindings id={place.id} place={place} />
    </div>
  );
}

/** Label, and the explanation behind its question mark. */
export function FieldHead({ place, table, children, group }: { place: Place; table: string; children?: ComponentChildren; group?: boolean }) {
  const open = useSignal(false);
  const form = place.form;
  const id = `${place.id}-about`;
  return (
    <>
      <div class="field-head">
        {group ? <span class="field-label">{place.label}</span> : <label for={place.id}>{place.label}</label>}
        <button type="button" class="ask" aria-expanded={open.value} aria-controls={id} aria-label={`About: ${place.label}`} onClick={() => (open.value = !open.value)}>
          ?
        </button>
      </div>
      <div id={id} class="field-about" hidden={!open.value}>
        {open.value && (
          <>
            <p>
              <Ticked text={form.says} />
            </p>
            <p class="soft">
              {form.range !== "" && <>Possible: {form.range}. </>}
              Example: <code>{form.example}</code>. In the text: <code>{table === "" ? form.name : `[${table}] ${form.name}`}</code>
            </p>
            {children}
          </>
        )}
      </div>
    </>
  );
}

/** Words in backticks set as code. */
export function Ticked({ text }: { text: string }) {
  return (
    <>
      {text.split("`").map((part, i) => (i % 2 === 1 ? <code key={i}>{part}</code> : part))}
    </>
  );
}

interface ControlProps {
  place: Place;
  table: string;
  present: boolean;
  describedBy: string | undefined;
}

function Control({ place, table, present, describedBy }: ControlProps) {
  const takes = place.form.takes;
  if (takes === "number" || takes === "numbers") {
    return present ? <NumberControl place={place} describedBy={describedBy} /> : <EmptyNumber place={place} describedBy={describedBy} />;
  }
  if (takes === "choice" || takes === "flag") return <Choice place={place} describedBy={describedBy} />;
  if (table === "material" && place.form.name === "name") return <ShelfMenu place={place} describedBy={describedBy} />;
  return <TextValue place={place} describedBy={describedBy} />;
}

function TextValue({ place, describedBy }: { place: Place; describedBy: string | undefined }) {
  const raw = useComputed(() => place.raw()).value;
  const isFile = FILE_KEYS.includes(place.form.name);
  const options = isFile ? Object.keys(files.value) : [];
  return (
    <>
      <Box
        id={place.id}
        class="text-main"
        value={raw === undefined ? "" : unquoted(raw)}
        late={raw === undefined}
        placeholder={raw === undefined ? `e.g. ${place.form.example}` : undefined}
        describedBy={describedBy}
        invalid={foundAt(place).some((f) => f.level === "error")}
        list={options.length > 0 ? `${place.id}-list` : undefined}
        onType={(typed) => place.set(quoted(typed), `text ${place.id}`)}
      />
      {options.length > 0 && (
        <datalist id={`${place.id}-list`}>
          {options.map((o) => (
            <option key={o} value={o} />
          ))}
        </datalist>
      )}
    </>
  );
}

function Choice({ place, describedBy }: { place: Place; describedBy: string | undefined }) {
  const raw = useComputed(() => place.raw()).value;
  const flag = place.form.takes === "flag";
  const value = raw === undefined ? "" : unquoted(raw);
  const choices = flag ? ["true", "false"] : place.form.choices;
  return (
    <select
      id={place.id}
      class="text-main"
      value={value}
      aria-describedby={describedBy}
      aria-invalid={foundAt(place).some((f) => f.level === "error") ? "true" : undefined}
      onChange={(e) => {
        const picked = e.currentTarget.value;
        setRaw(place.path, picked === "" ? null : flag ? picked : quoted(picked));
      }}
    >
      {(raw === undefined || place.form.name !== "kind") && <option value="">{raw === undefined && place.form.name === "kind" ? "choose" : "not said"}</option>}
      {raw !== undefined && value !== "" && !choices.includes(value) && <option value={value}>{value} (not known)</option>}
      {choices.map((c) => (
        <option key={c} value={c}>
          {flag ? (c === "true" ? "yes" : "no") : c}
        </option>
      ))}
    </select>
  );
}

const OWN = "\u0000own";

/** Materials on the shelf as a menu; a label of one's own when the numbers are given. */
function ShelfMenu({ place, describedBy }: { place: Place; describedBy: string | undefined }) {
  const raw = useComputed(() => place.raw()).value;
  const shelf = about.value?.shelf ?? [];
  const value = raw === undefined ? "" : unquoted(raw);
  const own = raw !== undefined && !shelf.some((m) => m.name === value);
  return (
    <>
      <select
        id={place.id}
        class="text-main"
        value={own ? OWN : value}
        aria-describedby={describedBy}
        onChange={(e) => {
          const picked = e.currentTarget.value;
          if (picked === OWN) place.set(quoted("my material"), null);
          else setRaw(place.path, picked === "" ? null : quoted(picked));
        }}
      >
        <option value="">none: the numbers are given below</option>
        {shelf.map((m) => (
          <option key={m.name} value={m.name}>
            {m.name}: {m.says}
          </option>
        ))}
        <option value={OWN}>a label of my own</option>
      </select>
      {own && (
        <Box
          id={`${place.id}-own`}
          class="text-main"
          label="Label of the material"
          value={value}
          describedBy={describedBy}
          invalid={foundAt(place).some((f) => f.level === "error")}
          onType={(typed) => place.set(quoted(typed), `text ${place.id}`)}
        />
      )}
    </>
  );
}

/** A value in the text that the form has no place for: as it is written, with what is wrong about it. */
export function Stray({ path }: { path: string }) {
  const raw = useComputed(() => rawOf(path)).value ?? "";
  const id = `f-${path.replaceAll(".", "-")}`;
  const name = path.slice(path.lastIndexOf(".") + 1);
  const list = isList(raw);
  return (
    <div class="field field-stray" data-path={path}>
      <div class="field-head">
        <label for={id}>
          <code>{name}</code> <span class="soft">(does not belong here)</span>
        </label>
      </div>
      <div class="number-row">
        <Box
          id={id}
          class="number-main"
          value={list ? raw : unquoted(raw)}
          disabled={list}
          invalid={foundAt({ path }).some((f) => f.level === "error")}
          describedBy={`${id}-finding`}
          onType={(typed) => setRaw(path, quoted(typed), `text ${id}`)}
        />
        <button type="button" class="small" onClick={() => setRaw(path, null)} aria-label={`Take out ${name}`}>
          Take out
        </button>
      </div>
      <FieldFindings id={id} place={{ path }} />
    </div>
  );
}
