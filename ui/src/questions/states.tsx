// Stable states of a part of lines and arcs: a list to show, and the ways between them.

import { signal } from "@preact/signals";
import type { StatesReport } from "../api";
import { StateList } from "../answer/statelist";
import { states } from "../state/answers";
import { Panel, type Options } from "./asking";

const options = signal<Options>({});

export function StatesPanel() {
  const report = states.answer.value?.report as StatesReport | undefined;
  return (
    <Panel slot={states} what="States" options={options} doubts={report?.doubts} open={/^(what was found|states, by energy|ways between them.*)$/i} lead="Press a state to see it; press it again for the part as made.">
      {report !== undefined && <StateList report={report} />}
    </Panel>
  );
}
