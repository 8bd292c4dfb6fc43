// The force curve of a poke made ready for drawing: rows and events in one line, cut where stability changes.

import { mostOf, unitFor, type Axis, type Layer, type Mark } from "../../plot/plot";
import type { PokeEvent, PokeEventKind, PokeReport } from "../reports";

export interface Point {
  load: number;
  displacement: number;
  /** Place among the rows of the report, which are also the places of the film. */
  row: number;
  stable: boolean;
  energy: number;
  event: PokeEvent | null;
}

export type Control = "load" | "displacement";

/** Rows and events in the order of the path; `stable` is that of the piece that ends in the point. */
export function line(report: PokeReport, control: Control): Point[] {
  const out: Point[] = [];
  report.path.forEach((r, i) => {
    const unstable = (control === "load" ? r.unstable_load : r.unstable_displacement) > 0 || r.unstable_n.length > 0;
    out.push({ load: r.load_SI, displacement: r.displacement_SI, row: i, stable: !unstable, energy: r.energy_J, event: null });
    const next = report.path[i + 1];
    for (const e of report.events.filter((e) => e.after_row === i)) {
      const span = next === undefined ? 0 : next.travel_m - r.travel_m;
      const t = span === 0 ? 0.5 : Math.max(0, Math.min(1, (e.travel_m - r.travel_m) / span));
      out.push({
        load: e.load_SI,
        displacement: e.displacement_SI,
        row: next === undefined ? i : i + t,
        stable: control === "load" ? e.stable_before_load : e.stable_before_displacement,
        energy: e.energy_J,
        event: e,
      });
    }
  });
  return out;
}

const WORDS: Record<PokeEventKind, string> = {
  "load-peak": "peak",
  "load-valley": "valley",
  "displacement-limit": "displacement limit",
  "displacement-return": "displacement returns",
  sideways: "sideways",
  "sideways-regained": "sideways regained",
  "no-load": "no load",
  "rim-lifts": "rim lifts",
  "pole-lifts-off": "lifts off the pusher",
  stop: "stop",
};

export function eventWords(e: PokeEvent): string {
  const n = e.n === null ? "" : `, n = ${e.n}`;
  return `${WORDS[e.kind] ?? e.kind}${n}`;
}

const UNITS: Record<string, Parameters<typeof unitFor>[0]> = { N: "force", Pa: "pressure", m: "length" };

/** Axes of the load and of what it works on. */
export function axes(report: PokeReport): { x: Axis; y: Axis } {
  const unit = (name: string, most: number) => {
    const quantity = UNITS[name];
    if (quantity !== undefined) return unitFor(quantity, most);
    if (name === "m³") return most < 1e-6 ? { unit: "mm³", per: 1e-9 } : { unit: "cm³", per: 1e-6 };
    if (name === "N/m") return most < 1 ? { unit: "mN/m", per: 1e-3 } : { unit: "N/m", per: 1 };
    return { unit: name, per: 1 };
  };
  return {
    x: { label: report.load.displacement_name, ...unit(report.load.displacement_unit, mostOf(report.path.map((r) => r.displacement_SI))), withZero: true },
    y: { label: report.load.load_name, ...unit(report.load.load_unit, mostOf(report.path.map((r) => r.load_SI))), withZero: true },
  };
}

/** Everything that is drawn, for one way of driving. */
export function drawing(report: PokeReport, control: Control, points: Point[]): { layers: Layer[]; marks: Mark[] } {
  const layers: Layer[] = [];
  let run: Point[] = [];
  let stable: boolean | null = null;
  const flush = () => {
    if (run.length > 1) {
      layers.push({
        kind: "curve",
        name: stable ? "stable" : "unstable",
        x: run.map((p) => p.displacement),
        y: run.map((p) => p.load),
        colour: stable ? "accent" : "second",
        dash: stable ? "solid" : "short",
        width: stable ? 2.6 : 1.8,
      });
    }
  };
  for (const p of points) {
    if (stable !== null && p.stable !== stable) {
      const corner = run[run.length - 1];
      flush();
      run = corner === undefined ? [] : [corner];
    }
    stable = p.stable;
    run.push(p);
  }
  flush();
  const trip = control === "load" ? report.by_load : report.by_displacement;
  const back = control === "load" ? report.return_trip : null;
  for (const [jump, name] of [[trip, "jump when pushed"], [back, "jump when let back"]] as const) {
    if (!jump?.lands) continue;
    layers.push({ kind: "arrow", name, from: [jump.displacement_SI, jump.load_SI], to: [jump.lands.displacement_SI, jump.lands.load_SI], colour: jump === trip ? "ink" : "third", dash: jump === trip ? "long" : "dot" });
    layers.push({ kind: "points", name: "lands", x: [jump.lands.displacement_SI], y: [jump.lands.load_SI], colour: jump === trip ? "ink" : "third", symbol: "triangle", hollow: true });
  }
  // Events at one place share a label; the trip is named by its own.
  const groups: { x: number; y: number; words: string[]; trips: boolean }[] = [];
  report.events.forEach((e, i) => {
    const trips = trip?.event === i;
    const here = groups.find((g) => g.x === e.displacement_SI && g.y === e.load_SI);
    const words = trips ? `trip (${eventWords(e)})` : back?.event === i ? `return (${eventWords(e)})` : eventWords(e);
    if (here === undefined) groups.push({ x: e.displacement_SI, y: e.load_SI, words: [words], trips });
    else here.words.push(words);
  });
  for (const trips of [false, true]) {
    const some = groups.filter((g) => g.trips === trips);
    if (some.length === 0) continue;
    layers.push({
      kind: "points",
      name: trips ? "trip" : "events",
      x: some.map((g) => g.x),
      y: some.map((g) => g.y),
      colour: trips ? "bad" : "ink-soft",
      symbol: trips ? "diamond" : "circle",
      hollow: !trips,
      size: trips ? 90 : 44,
      labels: some.map((g) => g.words.join(", ")),
    });
  }
  const marks: Mark[] = [];
  if (report.load.stop_m !== null && report.load.displacement_unit === "m") marks.push({ kind: "x", at: report.load.stop_m, label: "stop", colour: "ink-soft", dash: "dot" });
  return { layers, marks };
}
