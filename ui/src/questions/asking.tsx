// What every panel of a question shares: it asks by itself when opened and when the case has rested, says what is under way,
// what was refused, and when its answer is of an older case.

import type { ReadonlySignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import { Doubts, Freshness, RefusedNote, Working } from "../answer/notes";
import { SheetView } from "../answer/sheet";
import { kept } from "../keep/kept";
import { broken, canAsk, look } from "../state/answers";
import type { Slot } from "../state/ask";
import { files, text } from "../state/case";
import type { Answer } from "../types";
import "../styles/questions.css";

const REST_MS = 400;

export type Options = Record<string, unknown>;

const same = (a: Options, b: Options) => JSON.stringify(a) === JSON.stringify(b);

/** Keeps a slot's answer in step with the case while its panel is open; `byButton`: asks nothing without a person's word. */
export function useAsking(slot: Slot<unknown>, options: ReadonlySignal<Options>, byButton = false): void {
  const [t, f, seen, isBroken, chosen] = [text.value, files.value, look.answer.value, broken.value, options.value];
  useEffect(() => {
    if (byButton || kept !== null || t === "" || isBroken || look.stale.peek() || !canAsk(slot.question).ok) return;
    const asked = slot.asked.peek();
    const fresh = asked !== null && asked.text === t && asked.files === f;
    // What a person sets in the form is asked at once by its button; here only the case's changes and the first look count.
    if (fresh || slot.busy.peek() || (asked !== null && !slot.askedAgain())) return;
    const timer = setTimeout(() => slot.run(chosen, 0), asked === null && slot.refused.peek() === null ? 0 : REST_MS);
    return () => clearTimeout(timer);
  }, [t, f, seen, isBroken]);
}

interface PanelProps {
  slot: Slot<unknown>;
  /** The question as its tab says it. */
  what: string;
  /** What a person chose in the form. */
  options: ReadonlySignal<Options>;
  /** The form. */
  form?: ComponentChildren;
  /** Doubts of the report. */
  doubts?: readonly string[] | undefined;
  /** Pictures and controls; drawn when there is an answer. */
  children?: ComponentChildren;
  /** Heads of sections of the sheet that stand open. */
  open?: RegExp;
  /** Words above all else. */
  lead?: string;
  /** It asks when its button is pressed, never by itself. */
  byButton?: boolean;
  /** Called as the button asks. */
  onAsk?: () => void;
}

export function Panel({ slot, what, options, form, doubts, children, open = /^(what happens|what was found|numbers|trip and reset)$/i, lead, byButton = false, onAsk }: PanelProps) {
  useAsking(slot, options, byButton);
  const able = canAsk(slot.question);
  const answer = slot.answer.value as Answer | null;
  const refused = slot.refused.value;
  const asked = slot.asked.value;
  const other = asked !== null && !same(asked.options, options.value);
  const ask = () => {
    onAsk?.();
    slot.run(options.value, 0);
  };
  if (!able.ok && look.answer.value !== null) {
    return (
      <div class="panel">
        <p class="panel-not" role="status">
          <strong>This question makes no sense for this part.</strong> {able.says}
        </p>
      </div>
    );
  }
  const old = slot.stale.value;
  return (
    <div class={old ? "panel panel-old" : "panel"}>
      {lead && <p class="panel-lead">{lead}</p>}
      {kept === null && (
        <form
          class="panel-form"
          onSubmit={(e) => {
            e.preventDefault();
            ask();
          }}
        >
          {form}
          <button type="submit" class={other || old || (byButton && answer === null) ? "main" : ""} disabled={broken.value}>
            {answer === null ? "Ask" : "Ask again"}
          </button>
        </form>
      )}
      <div aria-live="polite">
        {old && !slot.busy.value && (byButton || !slot.askedAgain()) && (
          <p class="panel-note">
            <strong>The case has changed: ask again.</strong> What is shown is of the case before.
          </p>
        )}
        {other && !old && !slot.busy.value && answer !== null && <p class="panel-note">The choices above have changed since this answer.</p>}
        {refused !== null && !slot.busy.value && <RefusedNote refused={refused} again={ask} />}
      </div>
      {slot.busy.value && <Working progress={slot.progress.value} onStop={() => slot.stop()} what={what} />}
      {answer !== null && (
        <>
          <p class="panel-title" aria-live="polite">
            {answer.sheet.title}
          </p>
          {doubts && <Doubts doubts={doubts} />}
          {children}
          <Freshness answer={answer} tookMs={slot.tookMs.value} stale={old} />
          <SheetView sheet={answer.sheet} open={(h) => open.test(h)} skip={(h) => doubts !== undefined && /^doubts?$/i.test(h)} />
        </>
      )}
    </div>
  );
}
