// Let go: the release as a film, over time, and what many releases say.

import { signal } from "@preact/signals";
import { release } from "../../state/answers";
import { Panel, type Options } from "../asking";
import type { ReleaseReport } from "../reports";
import { SlowingDown, SpreadOfWait, WaitAgainstHold } from "./many";
import { Player } from "./player";
import { ReleasePlots } from "./plots";

const options = signal<Options>({});
const until = signal("");
const landing = signal(false);
const from = signal("0.1 s");
const to = signal("100 s");
const count = signal(16);
const draws = signal(100);

/** The options with one changed or taken out; empty ones are not sent. */
function set(change: Options): void {
  const next = { ...options.value, ...change };
  for (const [k, v] of Object.entries(next)) if (v === undefined || v === "" || v === false) delete next[k];
  options.value = next;
}

export function ReleasePanel() {
  const answer = release.answer.value;
  const report = answer?.report as ReleaseReport | undefined;
  const film = answer?.film ?? null;
  const also = (change: Options) => {
    set(change);
    release.run(options.value, 0);
  };
  const extra = options.value;
  return (
    <Panel
      slot={release}
      what="Let go"
      options={options}
      doubts={report?.doubts}
      form={
        <>
          <label>
            Follow for <input type="text" value={until.value} placeholder="as long as it takes" onInput={(e) => ((until.value = e.currentTarget.value), set({ until: e.currentTarget.value.trim() }))} />
          </label>
          <label>
            <input type="checkbox" checked={landing.value} onChange={(e) => ((landing.value = e.currentTarget.checked), set({ landing: e.currentTarget.checked }))} /> until it has landed
          </label>
        </>
      }
    >
      {report !== undefined && film !== null && film.frames.length > 1 && <Player report={report} film={film} />}
      {report !== undefined && report.history.time_s.length > 1 && <ReleasePlots report={report} film={film} />}
      {report?.wait_curve && <WaitAgainstHold curve={report.wait_curve} hold={report.protocol.hold_s} />}
      {report?.spread && <SpreadOfWait spread={report.spread} />}
      {report?.slowing && <SlowingDown slowing={report.slowing} />}
      <details class="more" open={extra.hold !== undefined || extra.spread !== undefined || extra.slowing === true}>
        <summary>Ask many releases</summary>
        <p class="panel-hint">Each of these lets the part go many times; it can take a while and can be stopped. The answer before stays if you stop.</p>
        <div class="panel-form">
          <label>
            Held from <input type="text" value={from.value} onInput={(e) => (from.value = e.currentTarget.value)} />
          </label>
          <label>
            to <input type="text" value={to.value} onInput={(e) => (to.value = e.currentTarget.value)} />
          </label>
          <label>
            holds <input type="number" min={3} max={200} value={count.value} onInput={(e) => (count.value = Number(e.currentTarget.value))} />
          </label>
          <button type="button" disabled={release.busy.value} onClick={() => also({ hold: `${from.value.trim()}..${to.value.trim()}`, count: count.value })}>
            Wait against hold
          </button>
        </div>
        <div class="panel-form">
          <label>
            Parts drawn from the tolerances <input type="number" min={10} max={2000} value={draws.value} onInput={(e) => (draws.value = Number(e.currentTarget.value))} />
          </label>
          <button type="button" disabled={release.busy.value} onClick={() => also({ spread: draws.value })}>
            Spread of the wait
          </button>
        </div>
        <div class="panel-form">
          <span>How delay and frequency slow down near the threshold</span>
          <button type="button" disabled={release.busy.value} onClick={() => also({ slowing: true })}>
            Slowing down
          </button>
        </div>
        {(extra.hold !== undefined || extra.spread !== undefined || extra.slowing === true) && (
          <button type="button" class="small" onClick={() => set({ hold: undefined, count: undefined, spread: undefined, slowing: undefined })}>
            Leave these out of the next answer
          </button>
        )}
      </details>
    </Panel>
  );
}
