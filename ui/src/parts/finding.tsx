// Findings: at their field, and as a list whose buttons move to the place in the text.

import { Sign as Drawn } from "../answer/signs";
import { signal } from "@preact/signals";
import { away } from "../state/ask";
import { fieldId, foundAt, placed, type Placed } from "./place";

/** "form" or "text": what the part's panel shows. */
export const side = signal<"form" | "text">("form");
/** Where the editor's caret should go; string indices. */
export const goTo = signal<{ from: number; to: number } | null>(null);

export function FieldFindings({ id, place }: { id: string; place: { path: string; at?: number[] | undefined } }) {
  const found = foundAt(place);
  if (found.length === 0) return null;
  return (
    <div id={`${id}-finding`} class="field-findings">
      {found.map((f) => (
        <p key={`${f.line} ${f.column} ${f.says}`} class={`finding finding-${f.level}`}>
          <Sign level={f.level} /> {f.says}
          {f.hint !== null && <span class="finding-hint"> {f.hint}</span>}
        </p>
      ))}
    </div>
  );
}

export function Sign({ level }: { level: "error" | "warning" }) {
  return (
    <>
      <span class="finding-sign" aria-hidden="true">
        {level === "error" ? <Drawn name="cross" /> : "!"}
      </span>
      <span class="hidden-label">{level === "error" ? "Wrong:" : "Warning:"}</span>
    </>
  );
}

function showLine(f: Placed) {
  side.value = "text";
  goTo.value = { from: f.start, to: f.end };
}

function showField(f: Placed) {
  side.value = "form";
  // The form is drawn after this turn when the text was shown.
  requestAnimationFrame(() => {
    const field = document.getElementById(fieldId(f.path ?? ""));
    field?.closest("details")?.setAttribute("open", "");
    field?.focus();
    field?.scrollIntoView({ block: "center" });
  });
}

export function FindingList() {
  const found = placed.value;
  const wrong = found.filter((f) => f.level === "error").length;
  return (
    <div class="findings" role="status" aria-live="polite">
      {found.length === 0 ? (
        <p class="soft findings-none">{away.value ? "The server is away: nothing checks the case now." : "Nothing to put right in the case."}</p>
      ) : (
        <>
          <h3 class="findings-head">{heading(wrong, found.length - wrong)}</h3>
          <ul>
            {found.map((f) => (
              <li key={`${f.file} ${f.line} ${f.column} ${f.says}`} class={`finding finding-${f.level}`}>
                <Sign level={f.level} /> {f.says}
                {f.hint !== null && <span class="finding-hint"> {f.hint}</span>}{" "}
                <span class="finding-places">
                  {f.file === null ? (
                    <button type="button" class="small" onClick={() => showLine(f)}>
                      line {f.line}, column {f.column}
                    </button>
                  ) : (
                    <span class="soft">
                      {f.file}, line {f.line}, column {f.column}
                    </span>
                  )}
                  {side.value === "text" && f.path !== null && (
                    <button type="button" class="small" onClick={() => showField(f)}>
                      its field
                    </button>
                  )}
                </span>
              </li>
            ))}
          </ul>
        </>
      )}
    </div>
  );
}

function heading(wrong: number, warnings: number): string {
  const parts = [];
  if (wrong > 0) parts.push(wrong === 1 ? "1 thing to put right" : `${wrong} things to put right`);
  if (warnings > 0) parts.push(warnings === 1 ? "1 warning" : `${warnings} warnings`);
  return parts.join(", ");
}
