// The control that lays a sweep over the map, and what is said of it.

import type { MapReport } from "../../../api";
import { choices, holding } from "../numbers";
import { askMap, plan } from "../plan";
import { layOver, reading, stopReading, sweep, takeAway, troubles } from "./load";
import { rangeOf, type Laid, type Sweep } from "./points";
import { countWords, remarks, whyNot } from "./words";

/** More sentences on single files than this would hide the rest of the page. */
const SHOWN = 5;

function Picker({ children, folder }: { children: string; folder: boolean }) {
  return (
    <label class="button">
      {children}
      <input
        type="file"
        class="hidden-label"
        multiple
        disabled={reading.value !== null}
        {...(folder ? { webkitdirectory: true } : { accept: ".parquet" })}
        onChange={(e) => {
          const input = e.currentTarget;
          const picked = [...(input.files ?? [])];
          void layOver(picked).finally(() => (input.value = ""));
        }}
      />
    </label>
  );
}

/** Makes the sweep's two numbers the axes, with ends that hold all of its points, and asks for that map. */
function toAxes(found: Sweep, report: MapReport): void {
  const axis = (i: number) => {
    const key = found.varied[i]?.key ?? "";
    const [from, to] = holding(key, ...rangeOf(found, i));
    return { key, from, to };
  };
  // What lies on an axis already stays on it.
  const [a, b] = [found.varied[0]?.key, found.varied[1]?.key];
  const turned = report.axes[0].key === b || report.axes[1].key === a;
  plan.value = { ...plan.peek(), x: axis(turned ? 1 : 0), y: axis(turned ? 0 : 1) };
  askMap();
}

export function SweepOver({ report, laid }: { report: MapReport; laid: Laid | null }) {
  const found = sweep.value;
  const under = reading.value;
  const not = found === null ? null : whyNot(found, report);
  const known = choices().map((c) => c.key);
  const able = found !== null && found.varied.length === 2 && found.varied.every((v) => known.includes(v.key));
  const wrong = troubles.value;
  return (
    <div class="map-sweep" role="group" aria-label="A sweep over the map">
      <div class="map-sweep-row">
        <Picker folder>{found === null ? "Lay a sweep over it…" : "Lay another sweep over it…"}</Picker>
        <Picker folder={false}>or some of its files…</Picker>
        {found !== null && (
          <button type="button" onClick={takeAway}>
            Take the sweep away
          </button>
        )}
        {found === null && under === null && <span class="panel-hint">The folder that calotte sweep wrote; nothing of it leaves the browser.</span>}
      </div>
      {under !== null && (
        <div class="working">
          <progress aria-label="Sweep: share read" value={under.done} max={Math.max(1, under.of)} />
          <span class="working-words">
            Reading {under.done} of {under.of} files
          </span>
          <button type="button" onClick={stopReading}>
            Stop
          </button>
        </div>
      )}
      <div role="alert">
        {wrong.slice(0, SHOWN).map((w) => (
          <p class="panel-note" key={w}>
            {w}
          </p>
        ))}
        {wrong.length > SHOWN && <p class="panel-note">And so on: {wrong.length - SHOWN} more.</p>}
      </div>
      <div role="status">
        {found !== null && <p class="readout">{countWords(found)}</p>}
        {not !== null && (
          <p class="panel-note">
            <strong>Not drawn.</strong> {not}
          </p>
        )}
        {found !== null && laid !== null && remarks(found, report, laid).map((r) => <p class="panel-hint" key={r}>{r}</p>)}
      </div>
      {found !== null && able && (not !== null || (laid?.beyond ?? 0) > 0) && (
        <button type="button" class="small" onClick={() => toAxes(found, report)}>
          Map over the sweep's two numbers
        </button>
      )}
    </div>
  );
}
