// Answers about many releases: wait against hold, spread of the wait, slowing down near the threshold.

import { useMemo, useRef } from "preact/hooks";
import { SaveBar } from "../../keep/savebar";
import { Plot, csvOf, four, mostOf, unitFor, withUnit, type Layer } from "../../plot/plot";
import type { ReleaseReport } from "../reports";

function Words({ words }: { words: readonly string[] }) {
  return (
    <ul class="sheet-items">
      {words.map((w) => (
        <li key={w}>{w}</li>
      ))}
    </ul>
  );
}

export function WaitAgainstHold({ curve, hold }: { curve: NonNullable<ReleaseReport["wait_curve"]>; hold: number }) {
  const svg = useRef<SVGSVGElement | null>(null);
  const layers = useMemo<Layer[]>(() => {
    const part = (f: (p: (typeof curve.points)[number]) => boolean) => curve.points.filter((p) => p.wait_s !== null && f(p));
    const [rests, free] = [part((p) => p.rests), part((p) => !p.rests)];
    const list: Layer[] = [
      { kind: "curve", name: "", x: curve.points.map((p) => p.hold_s), y: curve.points.map((p) => p.wait_s), colour: "accent", width: 1.6, quiet: true },
      { kind: "points", name: "rests a while", x: rests.map((p) => p.hold_s), y: rests.map((p) => p.wait_s), colour: "accent" },
    ];
    if (free.length > 0) list.push({ kind: "points", name: "only inertia delays it", x: free.map((p) => p.hold_s), y: free.map((p) => p.wait_s), colour: "second", symbol: "triangle", hollow: true });
    return list;
  }, [curve]);
  const stays = curve.points.filter((p) => p.stays);
  const range = (v: number[]) => unitFor("time", v.length === 0 ? 1 : Math.sqrt(Math.max(...v) * Math.min(...v)));
  const waits = curve.points.flatMap((p) => (p.wait_s === null ? [] : [p.wait_s]));
  return (
    <section class="many" aria-label="Wait against hold">
      <h4>Wait against hold</h4>
      {waits.length > 0 && (
        <>
          <Plot
            title="Wait against the time it was held"
            says={curve.words.join(" ")}
            x={{ label: "held for", ...range(curve.points.map((p) => p.hold_s)), scale: "log" }}
            y={{ label: "waits", ...range(waits), scale: "log" }}
            layers={layers}
            marks={hold > 0 ? [{ kind: "x", at: hold, label: "hold of the case" }] : []}
            svgRef={(s) => (svg.current = s)}
            height={270}
          />
          <SaveBar
            name="wait-against-hold"
            svg={() => svg.current}
            csv={() => csvOf({ hold_s: curve.points.map((p) => p.hold_s), wait_s: curve.points.map((p) => p.wait_s), rests: curve.points.map((p) => p.rests), stays: curve.points.map((p) => p.stays) })}
          />
        </>
      )}
      {stays.length > 0 && <p>After {stays.length === 1 ? `a hold of ${withUnit("time", stays[0]?.hold_s)}` : `${stays.length} of the ${curve.points.length} holds`} it stays for ever.</p>}
      <Words words={curve.words} />
    </section>
  );
}

export function SpreadOfWait({ spread }: { spread: NonNullable<ReleaseReport["spread"]> }) {
  const svg = useRef<SVGSVGElement | null>(null);
  const known = spread.quantiles.filter((q) => q.wait_s !== null);
  const layers = useMemo<Layer[]>(() => [{ kind: "curve", name: "", x: known.map((q) => q.wait_s), y: known.map((q) => q.share), colour: "accent", dots: true, quiet: true }], [spread]);
  const share = (v: number) => `${four(v * 100, 3)} %`;
  const waits = known.map((q) => q.wait_s ?? 0);
  return (
    <section class="many" aria-label="Spread of the wait">
      <h4>Spread of the wait over {spread.drawn} drawn parts</h4>
      <p>
        {share(spread.stay)} stay, {share(spread.wait)} wait, {share(spread.at_once)} return at once{spread.unknown > 0 && `, ${share(spread.unknown)} without an answer`}.
      </p>
      {known.length > 1 && (
        <>
          <Plot title="Share of parts that have snapped back by then" x={{ label: "wait", ...unitFor("time", mostOf(waits)) }} y={{ label: "share of parts, %", unit: "", per: 0.01, from: 0, to: 1 }} layers={layers} svgRef={(s) => (svg.current = s)} height={230} />
          <SaveBar name="spread-of-wait" svg={() => svg.current} csv={() => csvOf({ share: spread.quantiles.map((q) => q.share), wait_s: spread.quantiles.map((q) => q.wait_s) })} />
        </>
      )}
      <Words words={spread.words} />
    </section>
  );
}

export function SlowingDown({ slowing }: { slowing: NonNullable<ReleaseReport["slowing"]> }) {
  const svg = useRef<SVGSVGElement | null>(null);
  const layers = useMemo<Layer[]>(() => [{ kind: "curve", name: "", x: slowing.elastic.map((d) => d.distance), y: slowing.elastic.map((d) => d.time_s), colour: "accent", dots: true, quiet: true }], [slowing]);
  const soft = useMemo<Layer[]>(() => [{ kind: "curve", name: "", x: slowing.frequencies.map((d) => d.distance), y: slowing.frequencies.map((d) => d.frequency_Hz), colour: "second", dash: "long", dots: true, quiet: true }], [slowing]);
  const times = slowing.elastic.map((d) => d.time_s);
  return (
    <section class="many" aria-label="Slowing down near the threshold">
      <h4>Slowing down near the threshold</h4>
      {slowing.elastic.length > 1 && (
        <>
          <Plot title="Delay beyond the threshold" x={{ label: "h/h* − 1", unit: "", per: 1, scale: "log" }} y={{ label: "half-way time", ...unitFor("time", Math.sqrt(Math.max(...times) * Math.min(...times))), scale: "log" }} layers={layers} svgRef={(s) => (svg.current = s)} height={230} />
          <SaveBar name="slowing" svg={() => svg.current} csv={() => csvOf({ distance: slowing.elastic.map((d) => d.distance), half_way_s: times, exponent: slowing.elastic.map((d) => d.exponent) })} />
        </>
      )}
      {slowing.frequencies.length > 1 && <Plot title="Lowest frequency before the threshold" x={{ label: "1 − h/h*", unit: "", per: 1, scale: "log" }} y={{ label: "frequency", unit: "Hz", per: 1, scale: "log" }} layers={soft} height={210} />}
      <Words words={slowing.words} />
    </section>
  );
}
