// "Save": the case, the view, the answer, every figure and table, and the page with its results as one file.

import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { listsStates, slots } from "../state/answers";
import type { SlotName } from "../state/ask";
import { sectionSvg, viewPng } from "../see/save";
import { files, name, savedText, text } from "../state/case";
import "../styles/keep.css";
import { download, sizeWords, stem } from "./download";
import { papers, type Papers } from "./figures";
import { kept } from "./kept";
import { oneFile, oneFileSize } from "./onefile";
import { PaperButtons } from "./papers";
import { sheetText } from "./words";

const NAMES: Partial<Record<SlotName, string>> = {
  verdict: "Verdict",
  states: "Stable states",
  poke: "Poke",
  hand: "Push by hand",
  release: "Let go",
  map: "Map",
  heat: "Heat",
  modes: "Modes",
  spread: "Batch",
  size: "Size",
};

export function SaveMenu() {
  const dialog = useRef<HTMLDialogElement>(null);
  const open = useSignal(false);
  return (
    <>
      <button
        type="button"
        aria-haspopup="dialog"
        onClick={() => {
          open.value = true;
          dialog.current?.showModal();
        }}
      >
        Save…
      </button>
      <dialog
        ref={dialog}
        class="save-dialog"
        aria-labelledby="save-title"
        onClose={() => (open.value = false)}
        onClick={(e) => {
          if (e.target === e.currentTarget) e.currentTarget.close();
        }}
      >
        <div class="save-head">
          <h2 id="save-title">Save</h2>
          <button type="button" onClick={() => dialog.current?.close()}>
            Close
          </button>
        </div>
        {open.value && <Everything />}
      </dialog>
    </>
  );
}

function Everything() {
  const says = useSignal("");
  const doing = (what: () => Promise<string> | string) => async () => {
    try {
      says.value = await what();
    } catch (e) {
      says.value = e instanceof Error ? e.message : String(e);
    }
  };
  const bare = stem(name.value);
  const saved = (file: string, content: string | Blob, type?: string) => {
    download(file, content, type);
    return `Saved ${file}.`;
  };
  const main: SlotName = listsStates.value ? "states" : "verdict";
  const answered = (Object.keys(NAMES) as SlotName[]).filter((s) => slots[s].answer.value !== null);
  return (
    <>
      <section class="save-part">
        <h3>The case</h3>
        <p class="soft">What you described, to be opened again here or in the terminal.</p>
        <div class="save-buttons">
          <button
            type="button"
            onClick={doing(() => {
              savedText.value = text.peek();
              return saved(`${bare}.toml`, text.peek(), "application/toml");
            })}
          >
            {bare}.toml
          </button>
          {Object.entries(files.value).map(([file, content]) => (
            <button type="button" key={file} onClick={doing(() => saved(file, content, "text/csv"))}>
              {file}
            </button>
          ))}
        </div>
      </section>
      <section class="save-part">
        <h3>This view</h3>
        <p class="soft">As it stands now, with its colours and the moment shown.</p>
        <div class="save-buttons">
          <button type="button" onClick={doing(async () => saved(`${bare}-view.png`, await viewPng(2)))}>
            3D view (PNG)
          </button>
          <button type="button" onClick={doing(() => saved(`${bare}-section.svg`, sectionSvg(), "image/svg+xml"))}>
            Section (SVG)
          </button>
        </div>
      </section>
      <section class="save-part">
        <h3>The answers</h3>
        {answered.length === 0 && <p class="soft">No question has an answer yet.</p>}
        {answered.map((slot) => (
          <QuestionRow key={slot} slot={slot} main={slot === main} bare={bare} doing={doing} saved={saved} />
        ))}
      </section>
      {kept === null ? <Copy bare={bare} doing={doing} saved={saved} /> : null}
      <p class="save-says" role="status">
        {says.value}
      </p>
    </>
  );
}

interface Doing {
  bare: string;
  doing: (what: () => Promise<string> | string) => () => Promise<void>;
  saved: (file: string, content: string | Blob, type?: string) => string;
}

function QuestionRow({ slot, main, bare, doing, saved }: Doing & { slot: SlotName; main: boolean }) {
  const found = useSignal<Papers | null>(null);
  const busy = useSignal(false);
  const held = slots[slot];
  const answer = held.answer.value;
  if (answer === null) return null;
  const title = NAMES[slot] ?? slot;
  const file = main ? bare : `${bare}-${slot}`;
  return (
    <div class="save-question">
      <strong>{title}</strong>
      {held.stale.value && <span class="soft"> (of the case before the last change)</span>}
      <div class="save-buttons">
        <button type="button" aria-label={`${title} in words`} onClick={doing(() => saved(`${file}.txt`, sheetText(answer.sheet)))}>
          Words (txt)
        </button>
        <button type="button" aria-label={`${title} as JSON`} onClick={doing(() => saved(`${file}.json`, `${JSON.stringify(answer.report, null, 2)}\n`, "application/json"))}>
          JSON
        </button>
        {kept === null && found.value === null && (
          <button
            type="button"
            disabled={busy.value}
            aria-label={`${title}: figures and tables`}
            onClick={doing(async () => {
              busy.value = true;
              try {
                found.value = await papers(slot);
                const n = found.value.figures.length + found.value.tables.length;
                return n === 0 ? "The server draws no figures of this answer." : "";
              } finally {
                busy.value = false;
              }
            })}
          >
            {busy.value ? "Drawing…" : "Figures and tables…"}
          </button>
        )}
      </div>
      {found.value && <PaperButtons papers={found.value} prefix={file} />}
    </div>
  );
}

function Copy({ bare, doing, saved }: Doing) {
  const size = useSignal("");
  const cannot = useSignal("");
  const answers = Object.values(slots).map((s) => s.answer.value);
  useEffect(() => {
    let gone = false;
    oneFileSize().then(
      (bytes) => {
        if (!gone) size.value = sizeWords(bytes);
      },
      (e: unknown) => {
        if (!gone) cannot.value = e instanceof Error ? e.message : String(e);
      },
    );
    return () => {
      gone = true;
    };
  }, answers);
  return (
    <section class="save-part">
      <h3>This page with its results as one file</h3>
      <p class="soft">
        Opens from disk without a server or a network: to hand out, to mail, to keep beside the parts. Holds the answers shown now; films and plots work, asking does not.
      </p>
      {cannot.value !== "" && <p class="soft">{cannot.value}</p>}
      <div class="save-buttons">
        <button type="button" disabled={size.value === ""} onClick={doing(async () => saved(`${bare}.html`, await oneFile(), "text/html"))}>
          {bare}.html {size.value !== "" && `(${size.value})`}
        </button>
      </div>
    </section>
  );
}
