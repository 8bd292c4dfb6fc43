// Stable states of a part of lines and arcs, each one click to show.

import { four, withUnit } from "../plot/plot";
import { states } from "../state/answers";
import { rest, shown } from "../state/scene";
import type { StatesReport } from "../api";

/** Frame of the states' film that shows state `i`. */
function frameOf(i: number, name: string): number {
  const film = states.answer.value?.film;
  const found = film?.frames.findIndex((f) => f.name === name) ?? -1;
  return found < 0 ? i : found;
}

export function StateList({ report }: { report: StatesReport }) {
  const at = shown.value?.film === "states" ? shown.value.place : null;
  return (
    <ol class="states" aria-label="Stable states">
      {report.states.map((s, i) => {
        const place = frameOf(i, s.name);
        const on = at === place;
        return (
          <li key={i}>
            <button
              type="button"
              aria-pressed={on}
              onClick={() => {
                shown.value = on ? null : { film: "states", place };
                if (on) rest.value = "natural";
              }}
            >
              <span class="states-name">
                {i + 1}. {s.name}
                {!s.stable && " (not stable)"}
              </span>
              <span class="states-numbers">
                {withUnit("energy", s.energy_J, 3)}
                {s.barrier_J === null ? "; no way out found" : `; lowest pass ${withUnit("energy", s.barrier_J, 3)}${s.beyond === null ? "" : ` to ${s.beyond + 1}`}`}
                {`; strain ${s.largest_strain < 1e-6 ? "none" : `${four(s.largest_strain * 100, 3)} %`}`}
              </span>
            </button>
          </li>
        );
      })}
    </ol>
  );
}
