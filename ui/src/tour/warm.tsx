// Where it is useful: a disc that trips in the heat and resets in the cold.

import { signal } from "@preact/signals";
import { useMemo } from "preact/hooks";
import { Working } from "../answer/notes";
import { Plot, four, mostOf, onAxis, unitFor, type Axis, type Layer, type Mark } from "../plot/plot";
import { filmPlace, move, range, stable, travelAt, type State } from "../questions/heat/loop";
import type { HeatReport } from "../questions/reports";
import { heat } from "../state/answers";
import { shown } from "../state/scene";
import { presenter } from "../state/settings";

const X: Axis = { label: "temperature", unit: "°C", per: 1, zero: 273.15 };
const state = signal<State | null>(null);

export function forgetWarm(): void {
  state.value = null;
}

export function WarmStep() {
  const answer = heat.answer.value;
  const report = answer?.report as HeatReport | undefined;
  const layers = useMemo<Layer[]>(() => {
    if (report === undefined) return [];
    const curve = (name: string, rows: HeatReport["near"], colour: "accent" | "second", dash: "solid" | "long"): Layer => ({ kind: "curve", name, x: rows.map((r) => (stable(r) ? r.temperature_K : null)), y: rows.map((r) => (stable(r) ? r.travel_m : null)), colour, dash });
    return [curve("as made", report.near, "accent", "solid"), curve("tripped", report.far, "second", "long")];
  }, [report]);
  const marks = useMemo<Mark[]>(() => {
    const out: Mark[] = [];
    if (report?.trip) out.push({ kind: "x", at: report.trip.temperature_K, label: "trip", colour: "bad" });
    if (report?.reset) out.push({ kind: "x", at: report.reset.temperature_K, label: "reset", colour: "accent" });
    return out;
  }, [report]);
  if (heat.busy.value) return <Working what="Heat" progress={heat.progress.value} onStop={() => heat.stop()} />;
  if (answer === null || report === undefined || heat.stale.value)
    return (
      <p role="status">
        {heat.refused.value?.says ?? "Not computed yet."}{" "}
        <button type="button" onClick={() => heat.run({}, 0)}>
          Heat it
        </button>
      </p>
    );
  const [low, high] = range(report);
  const here = state.value ?? { temperature_K: Math.max(low, Math.min(high, report.wall.temperature_K)), branch: "near" as const, said: "" };
  const y: Axis = { label: "travel of the centre", ...unitFor("length", mostOf(report.far.map((r) => r.travel_m))) };
  const travel = travelAt(report, here.branch, here.temperature_K);
  const go = (t: number) => {
    const next = move(report, here, Math.max(low, Math.min(high, t)));
    state.value = { ...next, said: next.said === "" && next.branch === here.branch ? here.said : next.said };
    const place = answer.film === null ? null : filmPlace(report, answer.film, next.branch, next.temperature_K);
    if (place !== null) shown.value = { film: "heat", place };
  };
  const words = `${four(here.temperature_K - 273.15)} °C, ${here.branch === "near" ? "as made" : "tripped"}${travel === null ? "" : `, centre at ${onAxis(y, travel)}`}`;
  return (
    <>
      <label class="slider-row">
        <span>Temperature</span>
        <input type="range" data-testid="tour-temperature" min={low} max={high} step={(high - low) / 400} value={here.temperature_K} aria-valuetext={words} onInput={(e) => go(Number(e.currentTarget.value))} />
        <output>{four(here.temperature_K - 273.15)} °C</output>
      </label>
      <p class="tour-says" aria-live="polite" data-testid="tour-heat">
        {report.explanation.filter((e) => /^(It trips|It resets|Between the two)/.test(e)).join(" ")}{" "}
        <strong>Now {words}.</strong>
      </p>
      <Plot title="Travel over temperature" says={report.explanation.slice(0, 3).join(" ")} x={X} y={y} layers={layers} marks={marks} markers={[{ kind: "cursor", name: "Temperature", says: words, x: here.temperature_K, onX: go }]} height={presenter.value ? 350 : 240} />
    </>
  );
}
