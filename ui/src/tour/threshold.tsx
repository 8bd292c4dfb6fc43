// A slider over thickness, past the threshold: the lip grows, the verdict flips.

import { signal } from "@preact/signals";
import { useEffect, useMemo } from "preact/hooks";
import type { VerdictReport } from "../api";
import { rowOf } from "../answer/sheet";
import { Plot, onAxis, unitFor, type Axis, type Layer, type Mark } from "../plot/plot";
import { hereOn, moveOn } from "../questions/map/numbers";
import { verdict } from "../state/answers";
import { presenter } from "../state/settings";

const FROM = 1e-3;
const TO = 3.4e-3;

/** Places visited: thickness and lip width; nulls where no inverted shape was found. */
export const visited = signal<{ h: number; lip: number | null }[]>([]);

export function Threshold() {
  const answer = verdict.answer.value;
  const report = answer?.report as VerdictReport | undefined;
  useEffect(() => {
    if (report === undefined) return;
    const h = report.part.thickness_m;
    visited.value = [...visited.peek().filter((v) => Math.abs(v.h / h - 1) > 1e-4), { h, lip: report.inverted?.lip_width_m ?? null }].sort((a, b) => a.h - b.h).slice(-200);
  }, [report]);
  const here = hereOn("wall.thickness", null);
  const x: Axis = { label: "thickness", ...unitFor("length", TO), from: FROM, to: TO };
  const y: Axis = { label: "width of the lip", ...unitFor("length", 5e-3), from: 0, to: 0.016 };
  const star = report?.margin?.threshold_thickness_m ?? null;
  const stay = visited.value.filter((v) => v.lip !== null);
  const gone = visited.value.filter((v) => v.lip === null);
  const layers = useMemo<Layer[]>(
    () => [
      { kind: "points", name: "lip of the inverted shape", x: stay.map((v) => v.h), y: stay.map((v) => v.lip), colour: "accent", symbol: "circle" },
      { kind: "points", name: "no inverted shape", x: gone.map((v) => v.h), y: gone.map(() => 0), colour: "second", symbol: "cross" },
    ],
    [visited.value],
  );
  const marks = useMemo<Mark[]>(() => (star === null ? [] : [{ kind: "x", at: star, label: "threshold h*", colour: "ink" }]), [star]);
  if (answer === null || here === null) return <p role="status">Computing…</p>;
  const ratio = rowOf(answer.sheet, /^thickness h\/h\*/);
  return (
    <>
      <label class="slider-row">
        <span>Thickness</span>
        <input type="range" data-testid="tour-thickness" min={FROM} max={TO} step={2e-5} value={here} aria-valuetext={onAxis(x, here)} onInput={(e) => moveOn("wall.thickness", Number(e.currentTarget.value))} />
        <output>{onAxis(x, here)}</output>
      </label>
      <p class="tour-says" aria-live="polite" data-testid="tour-verdict">
        <strong>{answer.sheet.title}</strong>
        {ratio !== null && <> Thickness over threshold: {ratio}.</>}
      </p>
      <Plot title="Width of the lip over thickness" says="The lip widens with the wall; beyond the threshold there is no inverted shape." x={x} y={y} layers={layers} marks={marks} height={presenter.value ? 330 : 220} />
    </>
  );
}
