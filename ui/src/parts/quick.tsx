// The few sliders that a person moves most, beside the picture: thickness and the sizes that the shape is given by.

import { useComputed, useSignal } from "@preact/signals";
import { about, broken, listsStates, verdict } from "../state/answers";
import { kept } from "../keep/kept";
import { doc, rawOf } from "../state/case";
import { isList, items } from "../text/list";
import { takeApart } from "../text/quantity";
import { unquoted } from "../text/toml";
import { toSi } from "../text/units";
import { FieldFindings } from "./finding";
import { labelOf } from "./labels";
import { NumberControl } from "./number";
import { foundAt, itemsOf, placeOf, type Place } from "./place";

const WANTED: [string, string][] = [
  ["wall", "thickness"],
  ["layers", "thickness"],
  ["shape", "half_angle"],
  ["shape", "rise"],
  ["shape", "rim_diameter"],
  ["shape", "radius"],
  ["shape", "arc_length"],
  ["material", "youngs_modulus"],
  ["rim", "radial"],
];
const MOST = 3;

/** Which numbers to offer: `table.key`, with the items for a list; as words, so that moving one does not lay the strip out anew. */
function offered(): string {
  const picked: string[] = [];
  for (const [table, key] of WANTED) {
    const raw = rawOf(`${table}.${key}`);
    if (raw === undefined) continue;
    if (isList(raw)) picked.push(...groups(raw, rigid(table)).slice(0, 2).map((at) => `${table}.${key}.${at.join(",")}`));
    else if (movable(raw)) picked.push(`${table}.${key}`);
  }
  return picked.slice(0, MOST).join("\n");
}

function movable(raw: string): boolean {
  const w = takeApart(unquoted(raw));
  return w !== null && w.number !== 0;
}

function rigid(table: string): number[] {
  if (table !== "wall") return [];
  return items(rawOf("wall.rigid") ?? "").map((i) => Number(unquoted(i.raw)) - 1);
}

/** Items written alike move together; the thinnest first. */
function groups(raw: string, without: number[]): number[][] {
  const found: { raw: string; size: number; at: number[] }[] = [];
  items(raw).forEach((item, i) => {
    const w = takeApart(unquoted(item.raw));
    if (w === null || w.number === 0 || without.includes(i)) return;
    const same = found.find((f) => f.raw === item.raw);
    if (same !== undefined) same.at.push(i);
    else found.push({ raw: item.raw, size: toSi(w.number, w.unit, "Length") ?? w.number, at: [i] });
  });
  return found.sort((a, b) => a.size - b.size).map((f) => f.at);
}

export function Quick() {
  // A phone shows one of them until asked; a desk all.
  const all = useSignal(false);
  const words = useComputed(() => (doc.value.entries.length === 0 ? "" : offered())).value;
  const tables = about.value?.tables ?? [];
  const places = words === "" ? [] : words.split("\n").flatMap((w): Place[] => {
    const [table = "", key = "", at] = w.split(".");
    const form = tables.find((t) => t.name === table)?.keys.find((k) => k.name === key);
    if (form === undefined) return [];
    if (at === undefined) return [placeOf(table, form, table === "shape" || table === "wall" || table === "material" ? labelOf(table, key) : `${labelOf(table, key)} (${table})`, "q")];
    const list = at.split(",").map(Number);
    return [itemsOf(table, form, list, `${labelOf(table, key)}, ${piece(table, list)}`, "q")];
  });
  return (
    <>
      <div class="quick-head">
        <h2>Quick changes</h2>
        <Word />
        {places.length > 1 && (
          <button type="button" class="small quick-all" aria-expanded={all.value} aria-controls="quick-list" onClick={() => (all.value = !all.value)}>
            {all.value ? "Fewer sliders" : `All ${places.length} sliders`}
          </button>
        )}
      </div>
      {places.length === 0 && <p class="soft quick-none">{kept !== null ? "A kept copy: the case cannot be changed here." : "No single size to move; the form below has them all."}</p>}
      <fieldset class="quick-list" id="quick-list" data-all={all.value ? "yes" : "no"} disabled={kept !== null} aria-label="Sizes">
        {places.map((p) => (
          <div class="quick-item" key={p.id}>
            <label for={p.id}>{p.label}</label>
            <NumberControl place={p} describedBy={foundAt(p).length > 0 ? `${p.id}-finding` : undefined} />
            <FieldFindings id={p.id} place={p} />
          </div>
        ))}
      </fieldset>
    </>
  );
}

/** On a phone the answer may be out of sight while a slider is moved: its one word stands beside it. The answer itself is read out. */
function Word() {
  const report = (listsStates.value ? null : verdict.answer.value?.report) as { verdict?: string } | null | undefined;
  const word = report?.verdict;
  if (word === undefined || broken.value) return null;
  return (
    <span class="quick-word" aria-hidden="true">
      {word.charAt(0).toUpperCase() + word.slice(1)}
      {verdict.stale.value ? " …" : ""}
    </span>
  );
}

function piece(table: string, at: number[]): string {
  const word = table === "layers" ? "layer" : rawOf("wall.arc") !== undefined ? "place" : "piece";
  const numbers = at.map((i) => i + 1);
  const last = numbers.pop();
  return numbers.length === 0 ? `${word} ${last}` : `${word}s ${numbers.join(", ")} and ${last}`;
}
