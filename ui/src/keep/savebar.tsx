// Buttons under a plot: keep it as SVG, PNG or CSV, or keep the server's own figures and tables of the question.
//
//   <SaveBar name="force" svg={() => ref.current} csv={() => text} question="poke" />
//
// `name`: file name without ending. `svg`: gives the drawing as it stands (or its SVG text). `csv`: gives the table behind it; leave out
// when there is none. `question`: the slot whose paper figures are offered too; leave out for none.
// Mark what is in the drawing for the pointer alone with data-keep="no".

import { useSignal } from "@preact/signals";
import type { SlotName } from "../state/ask";
import "../styles/keep.css";
import { download } from "./download";
import { papers, type Papers } from "./figures";
import { kept } from "./kept";
import { PaperButtons } from "./papers";
import { standalone, toPng } from "./picture";

export interface SaveBarProps {
  name: string;
  svg: () => SVGSVGElement | string | null | undefined;
  csv?: (() => string | null) | undefined;
  question?: SlotName | undefined;
}

export function SaveBar({ name, svg, csv, question }: SaveBarProps) {
  const says = useSignal("");
  const found = useSignal<Papers | null>(null);
  const busy = useSignal(false);

  const drawing = (): string => {
    const it = svg();
    if (it === null || it === undefined) throw new Error("There is nothing drawn yet.");
    return typeof it === "string" ? it : standalone(it);
  };
  const doing = (what: () => Promise<void> | void) => async () => {
    try {
      says.value = "";
      await what();
    } catch (e) {
      says.value = e instanceof Error ? e.message : String(e);
    }
  };
  const paper = async (slot: SlotName) => {
    busy.value = true;
    try {
      found.value = await papers(slot);
      if (found.value.figures.length === 0 && found.value.tables.length === 0) says.value = "The server draws no figures of this answer.";
    } finally {
      busy.value = false;
    }
  };

  return (
    <div class="savebar">
      <div class="savebar-row" role="group" aria-label={`Save ${name}`}>
        <span class="soft">Save</span>
        <button type="button" onClick={doing(() => download(`${name}.svg`, drawing(), "image/svg+xml"))}>
          SVG
        </button>
        <button type="button" onClick={doing(async () => download(`${name}.png`, await toPng(drawing())))}>
          PNG
        </button>
        {csv && (
          <button
            type="button"
            onClick={doing(() => {
              const rows = csv();
              if (rows === null) throw new Error("There is no table yet.");
              download(`${name}.csv`, rows, "text/csv");
            })}
          >
            CSV
          </button>
        )}
        {question && kept === null && (
          <button type="button" disabled={busy.value} aria-busy={busy.value} onClick={doing(() => paper(question))}>
            {busy.value ? "Drawing…" : "Figures for paper…"}
          </button>
        )}
      </div>
      {found.value && <PaperButtons papers={found.value} prefix={question ?? name} />}
      <p class="savebar-says" role="status">
        {says.value}
      </p>
    </div>
  );
}
