// Heat: travel of the centre over temperature, and a temperature that one can move up and down.

import { signal } from "@preact/signals";
import { useEffect, useMemo, useRef } from "preact/hooks";
import { SaveBar } from "../../keep/savebar";
import { Plot, csvOf, mostOf, onAxis, unitFor, type Axis, type Layer, type Mark } from "../../plot/plot";
import { heat } from "../../state/answers";
import { shown } from "../../state/scene";
import { Panel, type Options } from "../asking";
import type { HeatReport } from "../reports";
import { TEMPERATURE, celsius } from "./axis";
import { filmPlace, move, pieces, range, travelAt, type State } from "./loop";
import { HeatMapView, HeatSpreadView } from "./many";

const options = signal<Options>({});
const draws = signal(200);
const depth = signal("");
const thickness = signal("");
const grid = signal("25x25");
const state = signal<State | null>(null);


export function HeatPanel() {
  const report = heat.answer.value?.report as HeatReport | undefined;
  const ask = (o: Options) => {
    for (const [k, v] of Object.entries(o)) if (v === "") delete o[k];
    options.value = o;
    heat.run(o, 0);
  };
  return (
    <Panel slot={heat} what="Heat" options={options} doubts={report?.doubts}>
      {report !== undefined && report.near.length > 1 && <Loop report={report} />}
      {report?.spread && <HeatSpreadView spread={report.spread} report={report} />}
      {report?.map && <HeatMapView map={report.map} />}
      <details class="more" open={options.value.spread !== undefined || options.value.map === true}>
        <summary>Ask about many discs</summary>
        <p class="panel-hint">These follow many discs; they can take a while and can be stopped. The answer before stays if you stop.</p>
        <div class="panel-form">
          <label>
            Discs drawn from the tolerances <input type="number" min={10} max={5000} value={draws.value} onInput={(e) => (draws.value = Number(e.currentTarget.value))} />
          </label>
          <button type="button" disabled={heat.busy.value} onClick={() => ask({ ...options.value, spread: draws.value })}>
            Spread of trip and reset
          </button>
        </div>
        <div class="panel-form">
          <label>
            Depth <input type="text" placeholder="40 % about" value={depth.value} onInput={(e) => (depth.value = e.currentTarget.value)} />
          </label>
          <label>
            Thickness <input type="text" placeholder="40 % about" value={thickness.value} onInput={(e) => (thickness.value = e.currentTarget.value)} />
          </label>
          <label>
            Grid <input type="text" value={grid.value} onInput={(e) => (grid.value = e.currentTarget.value)} />
          </label>
          <button type="button" disabled={heat.busy.value} onClick={() => ask({ ...options.value, map: true, grid: grid.value.trim(), depth: depth.value.trim(), thickness: thickness.value.trim() })}>
            Map over depth and thickness
          </button>
        </div>
        {Object.keys(options.value).length > 0 && (
          <button type="button" class="small" onClick={() => (options.value = {})}>
            Leave these out of the next answer
          </button>
        )}
      </details>
    </Panel>
  );
}

function Loop({ report }: { report: HeatReport }) {
  const svg = useRef<SVGSVGElement | null>(null);
  const [low, high] = useMemo(() => range(report), [report]);
  const start: State = { temperature_K: Math.max(low, Math.min(high, report.wall.temperature_K)), branch: "near", said: "" };
  const here = state.value ?? start;
  // Another disc begins as it lies on the bench.
  const before = useRef(report);
  useEffect(() => {
    if (before.current === report) return;
    before.current = report;
    state.value = null;
    if (shown.peek()?.film === "heat") shown.value = null;
  }, [report]);
  const drawn = useMemo(() => build(report), [report]);
  const travel = travelAt(report, here.branch, here.temperature_K);
  const go = (t: number) => {
    const next = move(report, here, Math.max(low, Math.min(high, t)));
    // What jumped is said until the next jump the other way.
    state.value = { ...next, said: next.said === "" && next.branch === here.branch ? here.said : next.said };
    const film = heat.answer.peek()?.film;
    const place = film ? filmPlace(report, film, next.branch, next.temperature_K) : null;
    if (place !== null) shown.value = { film: "heat", place };
  };
  const jump = here.said === "trip" ? report.trip : here.said === "reset" ? report.reset : null;
  const says = `${celsius(here.temperature_K)}, ${here.branch === "near" ? "as made" : "tripped"}, centre at ${onAxis(drawn.y, travel)}`;
  const layers = useMemo<Layer[]>(
    () => (travel === null ? drawn.layers : [...drawn.layers, { kind: "points", name: "now", x: [here.temperature_K], y: [travel], colour: "bad", symbol: "diamond", size: 110 }]),
    [drawn, here.temperature_K, travel],
  );
  const columns = () =>
    csvOf({
      branch: [...report.near.map(() => "near"), ...report.far.map(() => "far")],
      temperature_K: [...report.near, ...report.far].map((r) => r.temperature_K),
      travel_m: [...report.near, ...report.far].map((r) => r.travel_m),
      energy_J: [...report.near, ...report.far].map((r) => r.energy_J),
      pin_force_N: [...report.near, ...report.far].map((r) => r.pin_force_N),
      unstable: [...report.near, ...report.far].map((r) => r.unstable),
      unstable_waves: [...report.near, ...report.far].map((r) => r.unstable_n.join(" ")),
    });
  return (
    <div>
      <Plot
        title="Travel of the centre over temperature"
        says={report.explanation.slice(0, 4).join(" ")}
        x={{ ...TEMPERATURE, from: low, to: high, tight: true }}
        y={drawn.y}
        layers={layers}
        marks={drawn.marks}
        markers={[{ kind: "cursor", name: "Temperature", says, x: here.temperature_K, onX: go }]}
        svgRef={(s) => (svg.current = s)}
        height={320}
        hint="Drag the temperature up and down: the disc trips at one, resets at another."
      />
      <label class="slider-row">
        <span>Temperature</span>
        <input type="range" min={low} max={high} step={(high - low) / 1000} value={here.temperature_K} aria-valuetext={says} onInput={(e) => go(Number(e.currentTarget.value))} />
        <output class="slider-says">{celsius(here.temperature_K)}</output>
      </label>
      <div class="jumps" role="group" aria-label="Change the temperature">
        <button type="button" onClick={() => go(here.temperature_K - 1)}>
          1 K down
        </button>
        <button type="button" onClick={() => go(here.temperature_K + 1)}>
          1 K up
        </button>
        <button
          type="button"
          onClick={() => {
            state.value = null;
            shown.value = null;
          }}
        >
          as it lies on the bench
        </button>
      </div>
      <p class="readout" data-testid="heat-read">
        <strong>{here.branch === "near" ? "As made" : "Tripped"}</strong> at {celsius(here.temperature_K)}, centre at {onAxis(drawn.y, travel)}.
      </p>
      <p class="readout" data-testid="heat-jump" aria-live="polite">
        {jump !== null && `It ${here.said === "trip" ? "tripped" : "reset"} at ${celsius(jump.temperature_K)} on ${jump.on}${jump.movement_m === null ? "" : `: the centre jumped ${onAxis(drawn.y, Math.abs(jump.movement_m))}`}.`}
      </p>
      <SaveBar name="heat" svg={() => svg.current} csv={columns} question="heat" />
    </div>
  );
}

function build(report: HeatReport) {
  const layers: Layer[] = pieces(report).map((p) => ({
    kind: "curve",
    name: p.stable ? (p.branch === "near" ? "as made" : "tripped") : "unstable",
    x: p.rows.map((r) => r.temperature_K),
    y: p.rows.map((r) => r.travel_m),
    colour: p.stable ? (p.branch === "near" ? "accent" : "third") : "second",
    dash: p.stable ? (p.branch === "near" ? "solid" : "long") : "dot",
    width: p.stable ? 2.6 : 1.6,
  }));
  const marks: Mark[] = [];
  for (const [name, jump] of [["trip", report.trip], ["reset", report.reset]] as const) {
    if (jump === null) continue;
    marks.push({ kind: "x", at: jump.temperature_K, label: `${name} ${celsius(jump.temperature_K)}`, colour: "ink-soft" });
    if (jump.travel_after_m !== null) layers.push({ kind: "arrow", name, from: [jump.temperature_K, jump.travel_before_m], to: [jump.temperature_K, jump.travel_after_m], colour: name === "trip" ? "ink" : "bad", dash: name === "trip" ? "long" : "dot" });
  }
  if (report.device.pin_gap_m !== null) marks.push({ kind: "y", at: report.device.pin_gap_m, label: "meets the pin", dash: "dashdot" });
  const y: Axis = { label: "travel of the centre", ...unitFor("length", mostOf([...report.near, ...report.far].map((r) => r.travel_m))) };
  return { layers, marks, y };
}
