// "You are here": the marker's two sliders and what the case is there.

import { useComputed } from "@preact/signals";
import type { MapReport } from "../../api";
import { kept, keptSays } from "../../keep/kept";
import { onAxis } from "../../plot/plot";
import { listsStates, verdict } from "../../state/answers";
import { axisOf } from "./layers";
import { canMove, hereOn, moveOn, whyFixed } from "./numbers";

export function HereSliders({ report, keys }: { report: MapReport; keys: readonly [string, string] }) {
  return (
    <div class="map-here">
      {report.axes.map((a, i) => {
        const key = keys[i] ?? a.key;
        const here = hereOn(key, a);
        if (here === null) return null;
        const axis = axisOf(a);
        const log = axis.scale === "log";
        const f = log ? Math.log : (v: number) => v;
        const g = log ? Math.exp : (v: number) => v;
        return (
          <label class="slider-row" key={key}>
            <span>{a.label}</span>
            <input
              type="range"
              min={f(a.low_si)}
              max={f(a.high_si)}
              step={(f(a.high_si) - f(a.low_si)) / 400}
              value={f(here)}
              disabled={kept !== null || !canMove(key)}
              aria-valuetext={onAxis(axis, here)}
              onInput={(e) => moveOn(key, g(Number(e.currentTarget.value)))}
            />
            <output>{onAxis(axis, here)}</output>
          </label>
        );
      })}
      {kept === null ? (
        keys.filter((k) => !canMove(k)).map((k) => (
          <p class="panel-hint" key={k}>
            Note: {whyFixed(k)}.
          </p>
        ))
      ) : (
        <p class="panel-hint">{keptSays}</p>
      )}
    </div>
  );
}

/** What the case is where the marker stands: the verdict's own title. */
export function HereSays() {
  const words = useComputed(() => (listsStates.value ? null : (verdict.answer.value?.sheet.title ?? null)));
  const old = verdict.stale.value || verdict.busy.value;
  if (words.value === null) return null;
  return (
    <p class="readout" aria-live="polite" data-testid="map-here">
      <strong>Here: </strong>
      {words.value}
      {old && <span class="soft"> …</span>}
    </p>
  );
}
