// The case as text. A plain text area lies over a coloured copy of its lines; both break lines alike, so they stay in register.
// Its undo is the page's, which knows the form's changes too.

import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import { broken } from "../state/answers";
import { edit, text } from "../state/case";
import { pieces } from "../text/highlight";
import { lineBreak } from "../text/toml";
import { goTo } from "./finding";
import { placed } from "./place";

/** A text area knows only `\n`. */
const shown = (t: string) => t.replaceAll("\r\n", "\n");

/** Index in the text area of an index in the text. */
function inArea(t: string, i: number): number {
  return shown(t.slice(0, i)).length;
}

export function Editor() {
  const area = useRef<HTMLTextAreaElement>(null);
  const own = useRef(text.peek());
  const before = useRef(shown(text.peek()));
  const now = shown(text.value);
  const lines = now.split("\n");
  const marks = new Map<number, "error" | "warning">();
  for (const f of placed.value) if (f.file === null && marks.get(f.line) !== "error") marks.set(f.line, f.level);

  // What undo or the form changed is where the caret goes, as an editor of its own would do.
  useLayoutEffect(() => {
    const el = area.current;
    if (el !== null && own.current !== text.value && document.activeElement === el) {
      let same = 0;
      while (same < now.length && now[same] === before.current[same]) same++;
      let back = 0;
      while (back < now.length - same && now[now.length - 1 - back] === before.current[before.current.length - 1 - back]) back++;
      el.setSelectionRange(now.length - back, now.length - back);
    }
    own.current = text.value;
    before.current = now;
  }, [now]);

  const target = goTo.value;
  useEffect(() => {
    const el = area.current;
    if (target === null || el === null) return;
    goTo.value = null;
    el.focus({ preventScroll: true });
    el.setSelectionRange(inArea(text.peek(), target.from), inArea(text.peek(), Math.max(target.from, target.to)));
    el.parentElement?.querySelector(`[data-line="${shown(text.peek()).slice(0, inArea(text.peek(), target.from)).split("\n").length}"]`)?.scrollIntoView({ block: "center" });
  }, [target]);

  return (
    <div class="editor" data-wide={lines.length > 99 ? "yes" : undefined}>
      <div class="editor-lines" aria-hidden="true">
        {lines.map((line, i) => (
          <div key={i} class={`editor-line ${marks.has(i + 1) ? `editor-${marks.get(i + 1)}` : ""}`} data-line={i + 1}>
            <span class="editor-number">
              {marks.has(i + 1) ? (marks.get(i + 1) === "error" ? "✕ " : "! ") : ""}
              {i + 1}
            </span>
            {pieces(line).map((p, k) => (
              <span key={k} class={`tint-${p.tint}`}>
                {p.text}
              </span>
            ))}
            {"\u200b"}
          </div>
        ))}
      </div>
      <textarea
        ref={area}
        id="case-text"
        aria-label="The case as text"
        aria-invalid={broken.value ? "true" : undefined}
        aria-describedby="case-findings"
        spellcheck={false}
        autocomplete="off"
        autocapitalize="off"
        value={now}
        onInput={(e) => {
          const typed = e.currentTarget.value;
          const next = lineBreak(text.peek()) === "\n" ? typed : typed.replaceAll("\n", "\r\n");
          own.current = next;
          edit(next, "typing in the text", "text");
        }}
      />
    </div>
  );
}
