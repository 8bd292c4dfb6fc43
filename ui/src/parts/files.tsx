// The CSV files that a case names: looked at, changed, brought from disk, taken out.

import { useComputed } from "@preact/signals";
import { editFiles, files, valueOf } from "../state/case";
import { download } from "../keep/download";
import { about } from "../state/answers";
import { placed } from "./place";
import { FILE_KEYS } from "./field";

export function Files() {
  const named = useComputed(() =>
    (about.value?.tables ?? [])
      .flatMap((t) => t.keys.filter((k) => k.takes === "text" && FILE_KEYS.includes(k.name)).map((k) => valueOf(`${t.name}.${k.name}`)))
      .filter((n): n is string => n !== undefined && n !== "")
      .join("\n"),
  ).value;
  const wanted = named === "" ? [] : [...new Set(named.split("\n"))];
  const have = Object.keys(files.value);
  const all = [...wanted, ...have.filter((n) => !wanted.includes(n))];
  if (all.length === 0) return null;
  return (
    <div class="form-group" role="group" aria-label="Files beside the case">
      <h3>Files beside the case</h3>
      {all.map((name) => (
        <OneFile key={name} name={name} wanted={wanted.includes(name)} />
      ))}
    </div>
  );
}

function OneFile({ name, wanted }: { name: string; wanted: boolean }) {
  const content = files.value[name];
  const id = `file-${name.replaceAll(/[^\w]/g, "-")}`;
  const wrong = placed.value.filter((f) => f.file === name);
  const set = (next: string, merge: string | null) => editFiles({ ...files.peek(), [name]: next }, `change of ${name}`, merge);
  return (
    <div class="table">
      <div class="table-head">
        <h4>
          <code>{name}</code>
        </h4>
        <span class="soft">{content === undefined ? "not here yet" : `${content.trimEnd().split("\n").length} lines${wanted ? "" : ", not named by the case"}`}</span>
      </div>
      <p class="file-buttons">
        <label class="button small">
          {content === undefined ? "Bring it from disk" : "Replace from disk"}
          <input
            type="file"
            class="hidden-label"
            accept=".csv,text/csv,text/plain"
            onChange={(e) => {
              const input = e.currentTarget;
              void input.files?.[0]?.text().then((t) => {
                set(t, null);
                input.value = "";
              });
            }}
          />
        </label>
        {content !== undefined && (
          <>
            <button type="button" class="small" onClick={() => download(name, content, "text/csv")}>
              Save it
            </button>
            <button
              type="button"
              class="small"
              aria-label={`Take out ${name}`}
              onClick={() => editFiles(Object.fromEntries(Object.entries(files.peek()).filter(([n]) => n !== name)), `taking out of ${name}`)}
            >
              Take out
            </button>
          </>
        )}
      </p>
      {wrong.map((f) => (
        <p key={`${f.line} ${f.says}`} class={`finding finding-${f.level}`}>
          line {f.line}, column {f.column}: {f.says}
        </p>
      ))}
      {content !== undefined && (
        <details>
          <summary>Content</summary>
          <label class="hidden-label" for={id}>
            Content of {name}
          </label>
          <textarea id={id} class="file-text" rows={8} spellcheck={false} value={content} aria-invalid={wrong.length > 0 ? "true" : undefined} onInput={(e) => set(e.currentTarget.value, `file ${name}`)} />
        </details>
      )}
    </div>
  );
}
