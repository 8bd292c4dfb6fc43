// The bar on top: which case, and what one does with it as a whole.

import { useEffect, useRef } from "preact/hooks";
import { Sign } from "../answer/signs";
import { kept } from "../keep/kept";
import { SaveMenu } from "../keep/savemenu";
import { KeptNote } from "../keep/keptnote";
import { about } from "../state/answers";
import { away, shut } from "../state/ask";
import { canRedo, canUndo, name, redo, redoes, savedText, text, undo, undoes, valueOf } from "../state/case";
import { presenter, still, systemStill, theme } from "../state/settings";
import { startTour } from "../tour/state";
import { CasesButton } from "./cases";
import { CopyLink } from "./copylink";
import { openFiles, saveToDisk, says } from "./openfiles";

export function TopBar() {
  useUndoKeys();
  const title = valueOf("title") ?? name.value;
  const changed = text.value !== savedText.value;
  useEffect(() => {
    document.title = title === "" ? "calotte" : `${title} – calotte`;
  }, [title]);
  return (
    <header class="top">
      <div class="top-name">
        <h1>calotte</h1>
        <p class="top-title" title={title}>
          {title}
          {changed && kept === null && <span class="soft"> (changed)</span>}
        </p>
      </div>
      {kept === null && (
        <div class="top-tools" role="group" aria-label="The case">
          <CasesButton />
          <OpenButton />
          <button type="button" onClick={saveToDisk}>
            Save case
          </button>
          <CopyLink />
          <button type="button" disabled={!canUndo.value} onClick={undo} title={canUndo.value ? `Undo the ${undoes.value} (Ctrl+Z)` : "Nothing to undo"} aria-label={canUndo.value ? `Undo the ${undoes.value}` : "Undo"} aria-keyshortcuts="Control+Z">
            <Sign name="undo" />
            <span class="wide-word"> Undo</span>
          </button>
          <button type="button" disabled={!canRedo.value} onClick={redo} title={canRedo.value ? `Redo the ${redoes.value} (Ctrl+Y)` : "Nothing to redo"} aria-label={canRedo.value ? `Redo the ${redoes.value}` : "Redo"} aria-keyshortcuts="Control+Y">
            <Sign name="redo" />
            <span class="wide-word"> Redo</span>
          </button>
        </div>
      )}
      <div class="top-tools top-end" role="group" aria-label="The page">
        <SaveMenu />
        <button type="button" onClick={() => startTour()}>
          Tour
        </button>
        <details class="view-menu" onKeyDown={(e) => e.key === "Escape" && e.currentTarget.removeAttribute("open")}>
          <summary class="button">View</summary>
          <div class="view-panel">
            <fieldset>
              <legend>Colours</legend>
              {(["system", "light", "dark"] as const).map((t) => (
                <label key={t}>
                  <input type="radio" name="theme" checked={theme.value === t} onChange={() => (theme.value = t)} /> {t === "system" ? "as the system" : t}
                </label>
              ))}
            </fieldset>
            <label>
              <input type="checkbox" checked={still.value || systemStill.value} disabled={systemStill.value} onChange={(e) => (still.value = e.currentTarget.checked)} /> less movement
              {systemStill.value && <span class="soft"> (the system asks for it)</span>}
            </label>
            <label>
              <input type="checkbox" checked={presenter.value} onChange={(e) => (presenter.value = e.currentTarget.checked)} /> presenter view
            </label>
            <p class="soft">
              {about.value === null ? "calotte" : `${about.value.program} ${about.value.version}`}
            </p>
          </div>
        </details>
      </div>
      <p class="top-says" role="status" aria-live="polite">
        {says.value}
      </p>
      <Notices />
    </header>
  );
}

function Notices() {
  return (
    <>
      <KeptNote />
      {shut.value !== null && kept === null && (
        <p class="notice" role="alert">
          <strong>The server does not answer this page:</strong> {shut.value.says}. {shut.value.help} Nothing you changed is lost: “Save case” keeps it as a file.
        </p>
      )}
      {away.value && shut.value === null && kept === null && (
        <p class="notice" role="alert">
          <strong>The server is away.</strong> Start it again with <code>calotte serve</code>; the page goes on by itself, and nothing you changed is lost.
        </p>
      )}
      {about.value?.node_missing && (
        <p class="notice" role="note">
          This program was built without Node and has no page of its own. Install Node and build it again.
        </p>
      )}
    </>
  );
}

function OpenButton() {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <button type="button" onClick={() => input.current?.click()} title="A .toml file, with the .csv files that it names; or drop them anywhere on the page">
        Open
      </button>
      <input
        ref={input}
        type="file"
        class="hidden-label"
        tabIndex={-1}
        aria-label="Case files"
        multiple
        accept=".toml,.csv"
        onChange={(e) => {
          const field = e.currentTarget;
          void openFiles(field.files ?? []).then(() => (field.value = ""));
        }}
      />
    </>
  );
}

/** The page's undo holds everywhere: in the text, in a box, beside them. */
function useUndoKeys() {
  useEffect(() => {
    if (kept !== null) return;
    const keys = (e: KeyboardEvent) => {
      if (!(e.ctrlKey || e.metaKey) || e.altKey || document.querySelector("dialog[open]") !== null) return;
      const key = e.key.toLowerCase();
      if (key !== "z" && key !== "y") return;
      e.preventDefault();
      if (key === "y" || e.shiftKey) redo();
      else undo();
    };
    const over = (e: DragEvent) => {
      if (e.dataTransfer?.types.includes("Files")) e.preventDefault();
    };
    const drop = (e: DragEvent) => {
      if (!e.dataTransfer?.types.includes("Files")) return;
      e.preventDefault();
      void openFiles(e.dataTransfer.files);
    };
    document.addEventListener("keydown", keys);
    document.addEventListener("dragover", over);
    document.addEventListener("drop", drop);
    return () => {
      document.removeEventListener("keydown", keys);
      document.removeEventListener("dragover", over);
      document.removeEventListener("drop", drop);
    };
  }, []);
}
