// The answer that is always on: the verdict in large words, why, by what margin; the evidence unfolds.

import { useEffect } from "preact/hooks";
import { kept } from "../keep/kept";
import { broken, canAsk, findings, listsStates, look, states, verdict } from "../state/answers";
import { away } from "../state/ask";
import { files, opened, text } from "../state/case";
import type { Answer as AnswerOf } from "../types";
import { Gauge } from "./gauge";
import { Doubts, Freshness, RefusedNote, Working } from "./notes";
import type { StatesReport, VerdictReport } from "../api";
import { SheetView, rowOf } from "./sheet";
import { Sign } from "./signs";
import { StateList } from "./statelist";

const SAYS: Record<VerdictReport["verdict"], { word: string; says: string }> = {
  stays: { word: "Stays", says: "Turned inside out, the part stays as it is." },
  returns: { word: "Returns", says: "Turned inside out, the part goes back at once." },
  waits: { word: "Waits", says: "Turned inside out, the part rests a while and then snaps back by itself." },
  undecided: { word: "Undecided", says: "The evidence does not carry a verdict; the doubts say why." },
};

/** Sections that stand open; warnings and notes unfold like the evidence. */
const OPEN = /^(why|margin|what was found)$/i;

export function Answer() {
  const asksStates = listsStates.value;
  useStates();
  const slot = asksStates ? states : verdict;
  const answer = slot.answer.value;
  // The kind of part may have changed while the new answer is not here yet.
  const report = answer?.report as VerdictReport | StatesReport | undefined;
  const refused = slot.refused.value;
  const isBroken = broken.value;
  const wrong = findings.value.filter((f) => f.level === "error").length;
  return (
    <div class={isBroken || (slot.stale.value && refused !== null) ? "answer answer-old" : "answer"}>
      <div aria-live="polite" aria-atomic="true">
        {isBroken && (
          <p class="answer-broken">
            <strong>{wrong === 1 ? "One thing in the case is wrong" : `${wrong} things in the case are wrong`}.</strong> {answer === null ? "There is no answer until it is put right." : "The answer below is that of the last case that could be read."}
          </p>
        )}
        {away.value && kept === null && <p class="answer-broken">The server cannot be reached. What you see is what it said before; the page asks again by itself.</p>}
        {!isBroken && refused !== null && refused.kind !== "away" && <RefusedNote refused={refused} again={() => again(asksStates)} />}
        {report !== undefined && "verdict" in report && <Words report={report} />}
        {report !== undefined && "states" in report && <Count report={report} />}
      </div>
      {asksStates && answer !== null && slot.stale.value && !slot.busy.value && !isBroken && refused === null && !states.askedAgain() && (
        <p class="answer-broken">
          <strong>The case has changed.</strong> Finding its states takes a while, so they are not looked for at every change. What you see is of the case before.{" "}
          <button type="button" onClick={() => again(true)}>
            Ask again
          </button>
        </p>
      )}
      {slot.busy.value && (asksStates || answer === null) && <Working progress={slot.progress.value} onStop={() => slot.stop()} what={asksStates ? "States" : "Verdict"} />}
      {answer === null && !slot.busy.value && refused === null && !isBroken && <p class="soft">The answer comes as soon as the case is read.</p>}
      {answer !== null && report !== undefined && (
        <>
          <Doubts doubts={report.doubts} />
          {"verdict" in report && <Gauge report={report} row={rowOf(answer.sheet, /h\/h\*/)} />}
          {"states" in report && <StateList report={report} />}
          <Freshness answer={answer as AnswerOf} tookMs={slot.tookMs.value} stale={slot.stale.value} />
          <SheetView sheet={answer.sheet} open={(h) => OPEN.test(h)} skip={(h) => /^doubts?$/i.test(h)} />
        </>
      )}
    </div>
  );
}

/** The opening whose states were asked for last. */
let askedOf = -1;

function again(asksStates: boolean): void {
  if (asksStates) states.run();
  else verdict.run({ depth: true });
}

/** Asks for the states when the case has rested, not while a slider moves; where it took long, only a person asks again. */
function useStates(): void {
  const asks = listsStates.value;
  const [t, f, ready] = [text.value, files.value, look.answer.value];
  useEffect(() => {
    if (!asks || kept !== null || broken.peek() || !canAsk("states").ok) return;
    const asked = states.asked.peek();
    if (asked !== null && asked.text === t && asked.files === f) return;
    // How long another part took says nothing about this one.
    if (asked !== null && !states.askedAgain() && askedOf === opened.peek()) return;
    const timer = setTimeout(() => {
      askedOf = opened.peek();
      states.run({}, 0);
    }, 600);
    return () => clearTimeout(timer);
  }, [asks, t, f, ready]);
}

function Words({ report }: { report: VerdictReport }) {
  const s = SAYS[report.verdict];
  const why = report.explanation.find((e) => /threshold thickness at this depth|threshold lies/.test(e)) ?? report.explanation[report.explanation.length - 1];
  return (
    <div class={`verdict verdict-${report.verdict}`}>
      <p class="verdict-word">
        <span class="verdict-sign" aria-hidden="true">
          <Sign name={report.verdict} />
        </span>
        <strong data-verdict={report.verdict}>{s.word}</strong>
      </p>
      <p class="verdict-says">
        {s.says} {why}
      </p>
    </div>
  );
}

function Count({ report }: { report: StatesReport }) {
  return (
    <div class="verdict verdict-states">
      <p class="verdict-word">
        <span class="verdict-sign" aria-hidden="true">
          {report.stable ?? "?"}
        </span>
        <strong>{report.stable === null ? "stable states not counted" : report.stable === 1 ? "stable state" : "stable states"}</strong>
      </p>
      <p class="verdict-says">{report.explanation[0] ?? ""} Each can be shown.</p>
    </div>
  );
}
