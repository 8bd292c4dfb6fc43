// Height, speed and energies of a release over time, with the player's cursor.

import { signal } from "@preact/signals";
import { useMemo, useRef } from "preact/hooks";
import { SaveBar } from "../../keep/savebar";
import { Plot, csvOf, mostOf, onAxis, unitFor, type Axis, type Colour, type Dash, type Layer, type Mark } from "../../plot/plot";
import type { Film } from "../../types";
import type { ReleaseReport } from "../reports";
import { endOf, rowsBetween } from "./clock";
import { moment, playing, showMoment } from "./player";

type Range = "snap" | "whole" | "log";
const range = signal<Range>("snap");

const SHORT: Record<string, string> = { gone: "hand gone", snap: "snap", halfway: "half-way", snapped: "snapped", "take-off": "take-off", apex: "highest", landing: "lands" };

const ENERGIES: [keyof ReleaseReport["history"], string, Colour, Dash][] = [
  ["kinetic_J", "moving", "accent", "solid"],
  ["elastic_J", "elastic", "second", "long"],
  ["gravity_J", "of height", "third", "dashdot"],
  ["relaxed_J", "lost in the memory", "ink-soft", "short"],
  ["dragged_J", "lost in air or bath", "bad", "dot"],
  ["contact_J", "in the contact", "line-strong", "dot"],
  ["hand_J", "put in by the hand", "lip", "dashdot"],
];

export function ReleasePlots({ report, film }: { report: ReleaseReport; film: Film | null }) {
  const chosen: Range = report.snap === null && range.value === "snap" ? "whole" : range.value;
  const drawn = useMemo(() => build(report, chosen), [report, chosen]);
  const height = useRef<SVGSVGElement | null>(null);
  const speed = useRef<SVGSVGElement | null>(null);
  const energy = useRef<SVGSVGElement | null>(null);
  const t = moment.value;
  const cursor =
    t >= drawn.from && t <= drawn.to
      ? [
          {
            kind: "cursor" as const,
            name: "Moment",
            says: onAxis(drawn.x, t),
            x: t,
            onX: (x: number) => {
              playing.value = false;
              showMoment(film, x);
            },
          },
        ]
      : [];
  const names: Record<Range, string> = { snap: "around the snap", whole: "all of it", log: "all of it, time by powers of ten" };
  const columns = () => csvOf(report.history as unknown as Record<string, number[]>);
  const common = { x: drawn.x, markers: cursor };
  return (
    <div>
      <fieldset class="choice">
        <legend>Time shown</legend>
        {(["snap", "whole", "log"] as const).map((r) => (
          <label key={r}>
            <input type="radio" name="release-range" checked={chosen === r} disabled={r === "snap" && report.snap === null} onChange={() => (range.value = r)} /> {names[r]}
          </label>
        ))}
      </fieldset>
      <Plot {...common} title="Height of the pole over the rim" says={report.explanation[0] ?? ""} y={drawn.heightAxis} layers={drawn.height} marks={drawn.marks} height={230} svgRef={(s) => (height.current = s)} hint="Drag the cursor: the picture follows." />
      <SaveBar name="release-height" svg={() => height.current} csv={columns} question="release" />
      <Plot {...common} title="Speed of the pole against the rim" y={drawn.speedAxis} layers={drawn.speed} marks={drawn.bare} height={200} svgRef={(s) => (speed.current = s)} />
      <SaveBar name="release-speed" svg={() => speed.current} csv={columns} />
      <details>
        <summary>Energies over time</summary>
        <Plot {...common} title="Energies" y={drawn.energyAxis} layers={drawn.energies} marks={drawn.bare} height={240} svgRef={(s) => (energy.current = s)} />
        <SaveBar name="release-energies" svg={() => energy.current} csv={columns} />
      </details>
    </div>
  );
}

function build(report: ReleaseReport, range: Range) {
  const h = report.history;
  const end = endOf(report);
  const snap = report.snap;
  let [from, to] = [0, end];
  let x: Axis = { label: "time since the hand began to let go", ...unitFor("time", end), tight: true };
  if (range === "snap" && snap !== null) {
    from = Math.max(0, snap.wait_s - snap.snap_time_s);
    to = Math.min(end, snap.end_s + 2.5 * snap.snap_time_s);
    x = { label: "time since the snap began", ...unitFor("time", to - from), zero: snap.wait_s };
  } else if (range === "log") {
    const first = h.time_s.find((v) => v > 0) ?? end * 1e-4;
    from = Math.max(first, end * 1e-5);
    x = { ...x, scale: "log" };
  }
  x = { ...x, from, to, tight: true };
  const rows = rowsBetween(h, from, to, range === "log");
  const pick = (values: number[]) => rows.map((i) => values[i] ?? null);
  const time = pick(h.time_s);
  const curve = (name: string, values: number[], colour: Colour, dash: Dash = "solid"): Layer => ({ kind: "curve", name, x: time, y: pick(values), colour, dash, quiet: name === "" });
  const marks: Mark[] = report.events.flatMap((e) => {
    const label = SHORT[e.kind];
    return label === undefined || e.time_s < from || e.time_s > to ? [] : [{ kind: "x" as const, at: e.time_s, label, dash: "dot" as const }];
  });
  const energies = ENERGIES.filter(([key]) => mostOf(h[key]) > 1e-3 * mostOf(h.elastic_J, h.kinetic_J)).map(([key, name, colour, dash]) => curve(name, h[key], colour, dash));
  return {
    from,
    to,
    x,
    marks,
    bare: marks.map((m) => ({ ...m, label: "" })),
    height: [curve("", h.pole_over_rim_m, "accent")],
    speed: [curve("", h.pole_over_rim_speed_m_per_s, "second")],
    energies,
    heightAxis: { label: "pole over rim", ...unitFor("length", mostOf(h.pole_over_rim_m)), withZero: true } as Axis,
    speedAxis: { label: "speed", ...unitFor("speed", mostOf(pick(h.pole_over_rim_speed_m_per_s))), withZero: true } as Axis,
    energyAxis: { label: "energy", ...unitFor("energy", mostOf(h.elastic_J, h.kinetic_J)), withZero: true } as Axis,
  };
}
