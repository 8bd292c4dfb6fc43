// The guided tour: a few steps that drive the page itself, for a class. What stood on the page before is put back on request.

import { signal } from "@preact/signals";
import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import { kept, keptSays } from "../keep/kept";
import { presenter } from "../state/settings";
import "../styles/tour.css";
import { forget, putBack, remember, trouble } from "./lend";
import { stopTour, touring } from "./state";
import { STEPS, enter } from "./steps";

export const at = signal(0);

export function Tour() {
  const on = touring.value;
  useEffect(() => {
    if (on) document.documentElement.dataset.tour = "yes";
    else delete document.documentElement.dataset.tour;
  }, [on]);
  if (!on) return null;
  return kept === null ? <Steps /> : <NoTour />;
}

function NoTour() {
  return (
    <aside class="tour" aria-label="Guided tour">
      <h2>Guided tour</h2>
      <p>The tour asks new questions all the way. {keptSays}</p>
      <button type="button" onClick={stopTour}>
        Close
      </button>
    </aside>
  );
}

/** Keys go to the tour unless a person writes. */
function writing(e: KeyboardEvent): boolean {
  const t = e.target;
  return t instanceof HTMLTextAreaElement || t instanceof HTMLSelectElement || (t instanceof HTMLInputElement && /^(text|number|search|file)$/.test(t.type)) || document.querySelector("dialog[open]") !== null;
}

function leave(back: boolean): void {
  if (back) putBack();
  forget();
  at.value = 0;
  stopTour();
}

function Steps() {
  const head = useRef<HTMLHeadingElement>(null);
  const box = useRef<HTMLElement>(null);
  const i = at.value;
  const step = STEPS[i];
  const go = (n: number) => {
    if (n >= 0 && n < STEPS.length) at.value = n;
  };

  // Before the step takes the focus: where it was is where it goes back to.
  useLayoutEffect(() => {
    remember();
    const focused = document.activeElement instanceof HTMLElement ? document.activeElement : null;
    const onKey = (e: KeyboardEvent) => {
      if (e.altKey || e.ctrlKey || e.metaKey || writing(e)) return;
      // A clicker sends the page keys; they go on even while a slider has the focus.
      if (e.key === "PageDown") go(at.peek() + 1);
      else if (e.key === "PageUp") go(at.peek() - 1);
      else if (e.key === "Escape") leave(true);
      else return;
      e.preventDefault();
      e.stopPropagation();
    };
    document.addEventListener("keydown", onKey, true);
    return () => {
      document.removeEventListener("keydown", onKey, true);
      focused?.focus();
    };
  }, []);

  // With the drawing of the step, not after it: whoever is quick with the keys must not lose the focus to the step's head.
  useLayoutEffect(() => {
    if (step === undefined) return;
    head.current?.focus();
    box.current?.scrollTo?.(0, 0);
    return enter(step);
  }, [step]);

  if (step === undefined) return null;
  const Body = step.body;
  return (
    <aside class="tour" aria-label="Guided tour" ref={box}>
      <div class="tour-head">
        <p class="tour-count">
          Step {i + 1} of {STEPS.length}
        </p>
        <label class="tour-large">
          <input type="checkbox" checked={presenter.value} onChange={(e) => (presenter.value = e.currentTarget.checked)} /> Large, for a wall
        </label>
      </div>
      <progress class="tour-progress" value={i + 1} max={STEPS.length} aria-label="How far the tour is" />
      <h2 ref={head} tabIndex={-1} data-testid="tour-title">
        {step.title}
      </h2>
      {presenter.value ? <p class="tour-short">{step.short}</p> : step.says.map((s) => <p key={s}>{s}</p>)}
      {trouble.value !== "" && <p role="alert">{trouble.value}</p>}
      <div class="tour-body" key={step.id}>
        <Body />
      </div>
      <div class="tour-try">
        <h3>Try</h3>
        <ul>
          {(presenter.value ? step.tries.slice(0, 1) : step.tries).map((t) => (
            <li key={t}>{t}</li>
          ))}
        </ul>
      </div>
      <nav class="tour-nav" aria-label="Steps of the tour">
        <div class="tour-nav-row">
          <button type="button" disabled={i === 0} onClick={() => go(i - 1)} title="Page up">
            Back
          </button>
          <ol>
            {STEPS.map((s, n) => (
              <li key={s.id}>
                <button type="button" class="tour-dot" aria-label={`${n + 1}: ${s.title}`} aria-current={n === i ? "step" : undefined} onClick={() => go(n)}>
                  {n + 1}
                </button>
              </li>
            ))}
          </ol>
          {i + 1 < STEPS.length ? (
            <button type="button" class="main" onClick={() => go(i + 1)} title="Page down">
              Next
            </button>
          ) : (
            <button type="button" class="main" onClick={() => leave(true)}>
              Finish
            </button>
          )}
        </div>
        <div class="tour-nav-row">
          <button type="button" class="tour-leave" onClick={() => leave(true)} title="Escape">
            Leave, put all back
          </button>
          <button type="button" class="tour-leave" onClick={() => leave(false)}>
            Leave, go on with this case
          </button>
        </div>
      </nav>
    </aside>
  );
}
