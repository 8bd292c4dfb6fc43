// The questions one can ask of the part, as tabs.

import type { ComponentType } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { canAsk, listsStates, look } from "../state/answers";
import type { SlotName } from "../state/ask";
import { ripple, shown } from "../state/scene";
import type { Question } from "../types";
import "../styles/questions.css";
import { BatchPanel } from "./batch/panel";
import { HeatPanel } from "./heat/panel";
import { MapPanel } from "./map";
import { ModesPanel } from "./modes/panel";
import { openQuestion } from "./open";
import { PokePanel } from "./poke/panel";
import { ReleasePanel } from "./release/panel";
import { SizePanel } from "./size/panel";
import { StatesPanel } from "./states";

interface Tab {
  name: SlotName;
  question: Question;
  word: string;
  asks: string;
  panel: ComponentType;
}

const TABS: Tab[] = [
  { name: "poke", question: "poke", word: "Poke", asks: "What trips it, by which route, and how does it come back?", panel: PokePanel },
  { name: "release", question: "release", word: "Let go", asks: "When does it snap, how fast, what does it do then?", panel: ReleasePanel },
  { name: "heat", question: "heat", word: "Heat", asks: "At which temperatures does it trip and reset?", panel: HeatPanel },
  { name: "map", question: "map", word: "Map", asks: "How do the thresholds run over two numbers of the case?", panel: MapPanel },
  { name: "modes", question: "modes", word: "Modes", asks: "At which frequencies does it vibrate, at which pressure does it buckle?", panel: ModesPanel },
  { name: "spread", question: "spread", word: "Batch", asks: "How many parts of a batch are good, and which tolerance matters most?", panel: BatchPanel },
  { name: "size", question: "size", word: "Size", asks: "Which sizes give what is wished, or which wish stands in the way?", panel: SizePanel },
  { name: "states", question: "states", word: "States", asks: "Which stable states has it, and how does one get from one to the other?", panel: StatesPanel },
];

export function Questions() {
  const list = useRef<HTMLDivElement>(null);
  const tabs = TABS.filter((t) => t.name !== "states" || listsStates.value);
  const open = tabs.find((t) => t.name === openQuestion.value) ?? tabs[0];
  // What a panel shows in the picture goes when the panel does.
  useEffect(() => {
    const name = open?.name;
    return () => {
      if (shown.peek()?.film === name) shown.value = null;
      ripple.value = null;
    };
  }, [open?.name]);
  if (open === undefined) return null;
  const go = (e: KeyboardEvent) => {
    const i = tabs.indexOf(open);
    const next = { ArrowRight: i + 1, ArrowLeft: i - 1, Home: 0, End: tabs.length - 1 }[e.key];
    if (next === undefined) return;
    e.preventDefault();
    const tab = tabs[(next + tabs.length) % tabs.length];
    if (tab === undefined) return;
    openQuestion.value = tab.name;
    list.current?.querySelector<HTMLElement>(`#tab-${tab.name}`)?.focus();
  };
  const Shown = open.panel;
  return (
    <div class="questions">
      <h2 class="hidden-label">Questions</h2>
      <div class="tabs" role="tablist" aria-label="Questions" ref={list} onKeyDown={go}>
        {tabs.map((t) => {
          const not = look.answer.value !== null && !canAsk(t.question).ok;
          return (
            <button
              key={t.name}
              id={`tab-${t.name}`}
              type="button"
              role="tab"
              aria-selected={t === open}
              aria-controls="question-panel"
              tabIndex={t === open ? 0 : -1}
              title={not ? canAsk(t.question).says : t.asks}
              class={not ? "tab tab-not" : "tab"}
              onClick={() => (openQuestion.value = t.name)}
            >
              {t.word}
              {not && <span class="hidden-label"> (not for this part)</span>}
            </button>
          );
        })}
      </div>
      <div id="question-panel" role="tabpanel" aria-labelledby={`tab-${open.name}`} tabIndex={-1}>
        <p class="tab-asks">{open.asks}</p>
        <Shown key={open.name} />
      </div>
    </div>
  );
}
