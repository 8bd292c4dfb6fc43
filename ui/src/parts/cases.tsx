// The dialog of cases: worked ones, templates to begin with, and those of the server's folder.

import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { about } from "../state/answers";
import { name } from "../state/case";
import { folderFiles, openFromFolder, openStock, saveToFolder } from "./openfiles";

const TEMPLATES: Record<string, string> = {
  cap: "A cap cut from a sphere",
  disc: "A bimetal disc",
  key: "A rubber key",
  cone: "A coned spring",
  bowl: "A folding bowl",
};

export function CasesButton() {
  const dialog = useRef<HTMLDialogElement>(null);
  const open = useSignal(false);
  const pick = (what: Promise<void>) => {
    dialog.current?.close();
    void what;
  };
  const known = about.value;
  return (
    <>
      <button
        type="button"
        aria-haspopup="dialog"
        aria-label="Worked cases"
        onClick={() => {
          open.value = true;
          dialog.current?.showModal();
        }}
      >
        <span class="wide-word">Worked cases</span>
        <span class="narrow-word">Cases</span>
      </button>
      <dialog ref={dialog} class="cases-dialog" aria-labelledby="cases-title" onClose={() => (open.value = false)} onClick={(e) => e.target === e.currentTarget && e.currentTarget.close()}>
        <div class="dialog-head">
          <h2 id="cases-title">Cases</h2>
          <button type="button" onClick={() => dialog.current?.close()}>
            Close
          </button>
        </div>
        {open.value && (
          <>
            {known === null && <p class="soft">The server is away; it has the worked cases.</p>}
            {known?.folder && <Folder pick={pick} folder={known.folder.name} />}
            <h3>Worked cases</h3>
            <ul class="case-list">
              {known?.cases.map((c) => (
                <li key={c.name}>
                  <button type="button" class="case-card" data-case={c.name} onClick={() => pick(openStock(c.name, c.title))}>
                    <strong>{c.title}</strong>
                    {c.says !== "" && <span class="soft">{c.says}</span>}
                  </button>
                </li>
              ))}
            </ul>
            <h3>To begin with</h3>
            <ul class="case-list case-templates">
              {known?.templates.map((t) => (
                <li key={t}>
                  <button type="button" class="case-card" data-case={`new-${t}`} onClick={() => pick(openStock(`new-${t}`, TEMPLATES[t]?.toLowerCase() ?? t))}>
                    <strong>{TEMPLATES[t] ?? t}</strong>
                  </button>
                </li>
              ))}
            </ul>
          </>
        )}
      </dialog>
    </>
  );
}

function Folder({ pick, folder }: { pick: (what: Promise<void>) => void; folder: string }) {
  const list = useSignal<string[] | null>(null);
  const wrong = useSignal("");
  const as = useSignal(name.peek());
  useEffect(() => {
    folderFiles().then(
      (f) => (list.value = f),
      (e: unknown) => (wrong.value = e instanceof Error ? e.message : String(e)),
    );
  }, []);
  const there = list.value?.includes(as.value) ?? false;
  return (
    <>
      <h3>The folder {folder}</h3>
      {wrong.value !== "" && <p class="finding finding-error">The folder cannot be read: {wrong.value}</p>}
      <ul class="case-list case-templates">
        {list.value?.map((f) => (
          <li key={f}>
            <button type="button" class="case-card" onClick={() => pick(openFromFolder(f))}>
              {f}
            </button>
          </li>
        ))}
      </ul>
      {list.value?.length === 0 && <p class="soft">No case in it yet.</p>}
      <form
        class="folder-save"
        onSubmit={(e) => {
          e.preventDefault();
          pick(saveToFolder(as.value));
        }}
      >
        <label for="folder-name">Save the case in hand as</label>
        <input id="folder-name" type="text" value={as.value} onInput={(e) => (as.value = e.currentTarget.value)} spellcheck={false} />
        <button type="submit" disabled={as.value.trim() === ""}>
          {there ? "Save over it" : "Save"}
        </button>
      </form>
    </>
  );
}
