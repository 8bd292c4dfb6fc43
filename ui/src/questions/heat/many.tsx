// Many discs: spread of trip and reset, and curves of equal trip and equal delta over depth and thickness.

import { bin } from "d3-array";
import { useMemo, useRef } from "preact/hooks";
import { SaveBar } from "../../keep/savebar";
import { Plot, csvOf, unitFor, type Colour, type Dash, type Layer } from "../../plot/plot";
import type { HeatReport } from "../reports";
import { TEMPERATURE, ZERO_C } from "./axis";

function Words({ words }: { words: readonly string[] }) {
  return (
    <ul class="sheet-items">
      {words.map((w) => (
        <li key={w}>{w}</li>
      ))}
    </ul>
  );
}

/** A step curve of how many fall into each of `bins`. */
function steps(values: number[], name: string, colour: Colour, dash: Dash): Layer {
  const x: number[] = [];
  const y: number[] = [];
  for (const b of bin().thresholds(16)(values)) {
    x.push(b.x0 ?? 0, b.x1 ?? 0);
    y.push(b.length, b.length);
  }
  const [first = 0, last = 0] = [x[0], x[x.length - 1]];
  return { kind: "curve", name, x: [first, ...x, last], y: [0, ...y, 0], colour, dash };
}

export function HeatSpreadView({ spread, report }: { spread: NonNullable<HeatReport["spread"]>; report: HeatReport }) {
  const svg = useRef<SVGSVGElement | null>(null);
  const known = (list: (number | null)[]) => list.filter((v): v is number => v !== null);
  const layers = useMemo(() => {
    const [trips, resets] = [known(spread.trips_K), known(spread.resets_K)];
    return [...(trips.length > 1 ? [steps(trips, "trip", "accent", "solid")] : []), ...(resets.length > 1 ? [steps(resets, "reset", "second", "short")] : [])];
  }, [spread]);
  const marks = [report.trip, report.reset].flatMap((j, i) => (j === null ? [] : [{ kind: "x" as const, at: j.temperature_K, label: i === 0 ? "trip as given" : "reset as given" }]));
  return (
    <section class="many" aria-label="Spread of trip and reset">
      <h4>Spread of trip and reset over {spread.drawn} drawn discs</h4>
      {layers.length > 0 && (
        <>
          <Plot title="How many drawn discs trip and reset where" x={TEMPERATURE} y={{ label: "discs", unit: "", per: 1, withZero: true, whole: true }} layers={layers} marks={marks} svgRef={(s) => (svg.current = s)} height={230} />
          <SaveBar name="heat-spread" svg={() => svg.current} csv={() => csvOf({ trip_K: spread.trips_K, reset_K: spread.resets_K })} />
        </>
      )}
      <Words words={spread.words} />
    </section>
  );
}

const LEVELS: { colour: Colour; dash: Dash }[] = [
  { colour: "accent", dash: "solid" },
  { colour: "second", dash: "long" },
  { colour: "third", dash: "short" },
  { colour: "bad", dash: "dashdot" },
  { colour: "ink", dash: "solid" },
  { colour: "line-strong", dash: "long" },
  { colour: "lip", dash: "short" },
  { colour: "ink-soft", dash: "dot" },
];

export function HeatMapView({ map }: { map: NonNullable<HeatReport["map"]> }) {
  const x = map.depth_is_angle ? { label: "half-angle", unit: "°", per: Math.PI / 180 } : { label: "heights, times those of the part", unit: "", per: 1 };
  const y = { label: "thickness", ...unitFor("length", map.thickness_here_m) };
  const layersOf = (levels: (typeof map)["equal_trip"], words: (k: number) => string) => {
    const layers: Layer[] = levels
      .filter((l) => l.curves.length > 0)
      .flatMap((l, i) =>
        l.curves.map((c): Layer => ({ kind: "curve", name: words(l.level_K), x: c.depth_si, y: c.thickness_m, ...(LEVELS[i % LEVELS.length] ?? { colour: "accent" as Colour }) })),
      );
    layers.push({ kind: "points", name: "the part", x: [map.depth_here_si], y: [map.thickness_here_m], colour: "bad", symbol: "diamond", size: 90 });
    return layers;
  };
  const trips = useMemo(() => layersOf(map.equal_trip, (k) => `${Math.round(k - ZERO_C)} °C`), [map]);
  const deltas = useMemo(() => layersOf(map.equal_delta, (k) => `${Math.round(k)} K`), [map]);
  const ends = { from: map.depths_si[0] ?? 0, to: map.depths_si[map.depths_si.length - 1] ?? 1 };
  const high = { from: map.thicknesses_m[0] ?? 0, to: map.thicknesses_m[map.thicknesses_m.length - 1] ?? 1 };
  const a = useRef<SVGSVGElement | null>(null);
  const b = useRef<SVGSVGElement | null>(null);
  const rows = (levels: (typeof map)["equal_trip"]) => levels.flatMap((l) => l.curves.flatMap((c, k) => c.depth_si.map((d, i) => ({ level: l.level_K, curve: k, depth: d, thickness: c.thickness_m[i] ?? null }))));
  const csv = (levels: (typeof map)["equal_trip"]) => () => {
    const list = rows(levels);
    return csvOf({ level_K: list.map((r) => r.level), curve: list.map((r) => r.curve), depth_SI: list.map((r) => r.depth), thickness_m: list.map((r) => r.thickness) });
  };
  return (
    <section class="many" aria-label="Map over depth and thickness">
      <h4>Curves of equal trip</h4>
      <Plot title="Curves of equal trip temperature" x={{ ...x, ...ends, tight: true }} y={{ ...y, ...high, tight: true }} layers={trips} svgRef={(s) => (a.current = s)} height={320} />
      <SaveBar name="equal-trip" svg={() => a.current} csv={csv(map.equal_trip)} />
      <h4>Curves of equal delta (trip less reset)</h4>
      <Plot title="Curves of equal delta" x={{ ...x, ...ends, tight: true }} y={{ ...y, ...high, tight: true }} layers={deltas} svgRef={(s) => (b.current = s)} height={320} />
      <SaveBar name="equal-delta" svg={() => b.current} csv={csv(map.equal_delta)} />
      {map.doubts.length > 0 && <Words words={map.doubts.map((d) => `Doubt: ${d}`)} />}
      <Words words={map.words} />
    </section>
  );
}
