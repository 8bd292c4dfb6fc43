// Poke: force over displacement, with a marker that moves the picture along the path.

import { signal } from "@preact/signals";
import { useMemo, useRef } from "preact/hooks";
import { SaveBar } from "../../keep/savebar";
import { Plot, csvOf, mostOf, onAxis, withUnit } from "../../plot/plot";
import { canAsk, poke } from "../../state/answers";
import { doc } from "../../state/case";
import { placeAt, shown } from "../../state/scene";
import { Panel, type Options } from "../asking";
import type { PokeReport } from "../reports";
import { axes, drawing, eventWords, line, type Control, type Point } from "./curve";

const options = signal<Options>({});
/** Place on the line of points; kept while other tabs are open. */
const place = signal(0);
/** Which way of driving is shown; null: that of the load. */
const way = signal<Control | null>(null);

export function PokePanel() {
  const report = poke.answer.value?.report as PokeReport | undefined;
  const hand = options.value.hand === true;
  const has = doc.value.tables.some((t) => t.name === "load");
  return (
    <Panel
      slot={poke}
      what="Poke"
      options={options}
      doubts={report?.doubts}
      form={
        <label>
          Load{" "}
          <select
            value={hand ? `hand-${String(options.value.from ?? "natural")}` : "case"}
            onChange={(e) => {
              const v = e.currentTarget.value;
              options.value = v === "case" ? {} : { hand: true, from: v.slice(5) };
              place.value = 0;
              poke.run(options.value, 0);
            }}
          >
            <option value="case">{has ? "that of the case" : "force on the pole (the case has no [load])"}</option>
            <option value="hand-natural">pole pushed by hand, from the natural shape</option>
            <option value="hand-inverted" disabled={!canAsk("verdict").ok}>
              pole pushed by hand, from the inverted shape
            </option>
          </select>
        </label>
      }
    >
      {!has && !hand && (
        <p class="panel-hint">
          The case has no <code>[load]</code> table, so a force on the pole is taken. Add the table under “The part” for another: a ring, a ball, a pressure, a weight.
        </p>
      )}
      {report !== undefined && (report.path.length > 1 ? <Curve report={report} /> : <p class="panel-hint">This answer has no path to draw.</p>)}
    </Panel>
  );
}

function Curve({ report }: { report: PokeReport }) {
  const svg = useRef<SVGSVGElement | null>(null);
  const control: Control = way.value ?? (report.load.control === "displacement" ? "displacement" : "load");
  const points = useMemo(() => line(report, control), [report, control]);
  const { layers, marks } = useMemo(() => drawing(report, control, points), [report, control, points]);
  const axis = useMemo(() => axes(report), [report]);
  const at = Math.min(place.value, points.length - 1);
  const here = between(points, at);
  const tied = shown.value?.film === "poke";
  const move = (p: number) => {
    place.value = p;
    const film = poke.answer.peek()?.film;
    const point = between(points, p);
    if (film && point !== null) shown.value = { film: "poke", place: placeAt(film, point.row) };
  };
  const most = mostOf(points.map((p) => p.energy));
  const trip = control === "load" ? report.by_load : report.by_displacement;
  const says = here === null ? "" : `${report.load.load_name} ${onAxis(axis.y, here.load)} at ${onAxis(axis.x, here.displacement)}, ${here.stable ? "stable" : "unstable"}${here.event === null ? "" : `, ${eventWords(here.event)}`}`;
  const xs = useMemo(() => points.map((p) => p.displacement), [points]);
  const ys = useMemo(() => points.map((p) => p.load), [points]);
  return (
    <div class="poke">
      <fieldset class="choice">
        <legend>What is set</legend>
        {(["load", "displacement"] as const).map((c) => (
          <label key={c}>
            <input type="radio" name="poke-way" checked={control === c} onChange={() => (way.value = c)} /> the {c === "load" ? report.load.load_name : "displacement"}
            {c === report.load.control && " (as the case says)"}
          </label>
        ))}
      </fieldset>
      <Plot
        title={`${report.load.load_name} over ${report.load.displacement_name}`}
        says={`${report.load.words}, from the ${report.load.from} state. ${report.explanation[0] ?? ""}`}
        x={axis.x}
        y={axis.y}
        layers={layers}
        marks={marks}
        markers={[{ kind: "along", name: "Place on the path", says, x: xs, y: ys, place: at, onPlace: move, colour: "bad" }]}
        svgRef={(s) => (svg.current = s)}
        height={330}
        hint="Drag the marker, or press in the plot: the picture follows."
      />
      <label class="slider-row">
        <span>Along the path</span>
        <input type="range" min={0} max={points.length - 1} step="any" value={at} aria-valuetext={says} onInput={(e) => move(Number(e.currentTarget.value))} />
      </label>
      <p class="readout" data-testid="poke-read">
        <strong>{tied ? "Shown: " : "Marker: "}</strong>
        {says}
        {here !== null && `; energy ${withUnit("energy", Math.abs(here.energy) < 1e-9 * most ? 0 : here.energy)}`}
      </p>
      <div class="jumps" role="group" aria-label="Go to">
        <button type="button" onClick={() => move(0)}>
          start
        </button>
        {points.map((p, i) =>
          p.event === null ? null : (
            <button key={i} type="button" onClick={() => move(i)}>
              {trip !== null && report.events[trip.event] === p.event ? `trip: ${eventWords(p.event)}` : eventWords(p.event)}
            </button>
          ),
        )}
        {trip?.lands && (
          <button type="button" onClick={() => move(landing(points, trip.lands?.displacement_SI ?? 0, trip.lands?.load_SI ?? 0, trip.event, report))}>
            where it lands
          </button>
        )}
        {tied && (
          <button type="button" onClick={() => (shown.value = null)}>
            leave the path
          </button>
        )}
      </div>
      <SaveBar
        name="poke"
        svg={() => svg.current}
        csv={() =>
          csvOf({
            [`load_${report.load.load_unit}`]: report.path.map((r) => r.load_SI),
            [`displacement_${report.load.displacement_unit}`]: report.path.map((r) => r.displacement_SI),
            travel_m: report.path.map((r) => r.travel_m),
            energy_J: report.path.map((r) => r.energy_J),
            work_J: report.path.map((r) => r.work_J),
            unstable_with_load_set: report.path.map((r) => r.unstable_load),
            unstable_with_displacement_set: report.path.map((r) => r.unstable_displacement),
            unstable_waves: report.path.map((r) => r.unstable_n.join(" ")),
          })
        }
        question="poke"
      />
    </div>
  );
}

/** The point at a place of the line; between two it lies on the straight between them, as drawn. */
function between(points: Point[], at: number): Point | null {
  const i = Math.max(0, Math.min(Math.floor(at), points.length - 1));
  const a = points[i];
  const b = points[Math.min(i + 1, points.length - 1)];
  if (a === undefined || b === undefined) return null;
  const t = at - i;
  if (t === 0) return a;
  const mix = (x: number, y: number) => x + t * (y - x);
  return { load: mix(a.load, b.load), displacement: mix(a.displacement, b.displacement), row: mix(a.row, b.row), energy: mix(a.energy, b.energy), stable: b.stable, event: null };
}

/** Place on the line, behind the trip, nearest to where the jump lands. */
function landing(points: Point[], displacement: number, load: number, event: number, report: PokeReport): number {
  const from = points.findIndex((p) => p.event === report.events[event]);
  const span = (f: (p: Point) => number) => Math.max(...points.map(f)) - Math.min(...points.map(f)) || 1;
  const [wide, high] = [span((p) => p.displacement), span((p) => p.load)];
  let best = from;
  let least = Infinity;
  for (let i = Math.max(0, from); i + 1 < points.length; i++) {
    const [a, b] = [points[i], points[i + 1]];
    if (a === undefined || b === undefined) continue;
    const [ux, uy] = [(b.displacement - a.displacement) / wide, (b.load - a.load) / high];
    const [px, py] = [(displacement - a.displacement) / wide, (load - a.load) / high];
    const dd = ux * ux + uy * uy;
    const t = dd === 0 ? 0 : Math.max(0, Math.min(1, (px * ux + py * uy) / dd));
    const d = Math.hypot(px - t * ux, py - t * uy);
    // The trip itself lies on the way of a jump at the same load; only a stable piece catches it.
    if (b.stable && i > from && d < least) {
      least = d;
      best = i + t;
    }
  }
  return best;
}
