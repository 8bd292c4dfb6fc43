// Hold and let go: how long it waits after how long a hold.

import { signal } from "@preact/signals";
import { useMemo } from "preact/hooks";
import type { ReleaseReport } from "../questions/reports";
import { Working } from "../answer/notes";
import { Plot, onAxis, unitFor, withUnit, type Axis, type Layer } from "../plot/plot";
import { ask } from "../state/ask";
import { files, text } from "../state/case";
import type { Progress } from "../types";
import { presenter } from "../state/settings";

const curve = signal<{ about: string; points: { hold_s: number; wait_s: number | null }[]; words: string[] } | null>(null);
const progress = signal<Progress | null>(null);
const working = signal(false);
const refused = signal("");
const place = signal(0);
let stopper: AbortController | null = null;

/** Asks for the wait over the hold, once for a case. */
export async function holds(): Promise<void> {
  if (curve.peek()?.about === text.peek()) return;
  stopper?.abort();
  const mine = new AbortController();
  stopper = mine;
  const about = text.peek();
  working.value = true;
  refused.value = "";
  const out = await ask<ReleaseReport>("release", { text: about, files: files.peek(), options: { hold: "0.1s..100s", count: 13 } }, { film: false }, (p) => (progress.value = p), undefined, mine.signal);
  if (stopper !== mine) return;
  working.value = false;
  progress.value = null;
  const found = out.answer?.report.wait_curve;
  if (!found) {
    if (!mine.signal.aborted) refused.value = out.refused?.says ?? "The answer has no curve of waits.";
    return;
  }
  curve.value = { about, points: found.points.filter((p) => p.wait_s !== null), words: found.words };
  place.value = 0;
}

export function stopHolds(): void {
  stopper?.abort();
  stopper = null;
  working.value = false;
}

export function WaitStep() {
  const has = curve.value;
  const points = has?.points ?? [];
  const layers = useMemo<Layer[]>(() => [{ kind: "curve", name: "wait", x: points.map((p) => p.hold_s), y: points.map((p) => p.wait_s), colour: "third", dots: true }], [has]);
  if (working.value) return <Working what="Wait against hold" progress={progress.value} onStop={stopHolds} />;
  if (has === null)
    return (
      <p role="status">
        {refused.value || "Not computed."}{" "}
        <button type="button" onClick={() => void holds()}>
          Compute
        </button>
      </p>
    );
  const x: Axis = { label: "time held", ...unitFor("time", 1), scale: "log" };
  const y: Axis = { label: "wait", ...unitFor("time", 1), withZero: true };
  const here = points[Math.round(place.value)];
  return (
    <>
      <Plot
        title="Wait over the time held"
        says={has.words.join(" ")}
        x={x}
        y={y}
        layers={layers}
        markers={[{ kind: "along", name: "Time held", says: here ? `held ${onAxis(x, here.hold_s)}, waits ${onAxis(y, here.wait_s)}` : "", x: points.map((p) => p.hold_s), y: points.map((p) => p.wait_s), place: place.value, onPlace: (p) => (place.value = Math.round(p)), colour: "third" }]}
        height={presenter.value ? 360 : 250}
        bare
        hint="Move the marker: hold longer or shorter."
      />
      <p class="tour-says" aria-live="polite" data-testid="tour-waits">
        {here && (
          <>
            Hold it for <strong>{withUnit("time", here.hold_s, 3)}</strong>, let go: it waits <strong>{withUnit("time", here.wait_s, 3)}</strong>, then snaps.
          </>
        )}
      </p>
    </>
  );
}
