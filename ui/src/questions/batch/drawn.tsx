// A batch drawn: how many parts lie where, shares with their intervals, which tolerance matters.

import { signal } from "@preact/signals";
import { useMemo, useRef } from "preact/hooks";
import { rowOf, sectionsOf } from "../../answer/sheet";
import { SaveBar } from "../../keep/savebar";
import { Bars, type BarRow } from "../../plot/bars";
import { Plot, csvOf, type Axis, type Colour, type Dash, type Layer, type Mark } from "../../plot/plot";
import type { Sheet } from "../../types";
import { axisOf } from "../gauges";
import { words } from "../map/numbers";
import type { BatchGauge, BatchReport, BatchShare } from "../reports";

/** Which gauge is drawn; "" for the first. */
const chosen = signal("");

const KINDS: Record<string, { colour: Colour; dash: Dash }> = {
  stays: { colour: "accent", dash: "solid" },
  good: { colour: "accent", dash: "solid" },
  waits: { colour: "third", dash: "long" },
  returns: { colour: "second", dash: "short" },
  bad: { colour: "bad", dash: "short" },
};
const OTHER: { colour: Colour; dash: Dash } = { colour: "ink-soft", dash: "dot" };

/** Counts over bins as steps, each kind on top of the one before. */
function stacked(gauge: BatchGauge): Layer[] {
  const { ends_SI: ends, kinds } = gauge.histogram;
  const below = ends.slice(1).map(() => 0);
  return kinds
    .filter((k) => k.counts.some((n) => n > 0))
    .flatMap((k): Layer[] => {
      const low = [...below];
      k.counts.forEach((n, i) => (below[i] = (below[i] ?? 0) + n));
      const x = ends.slice(1).flatMap((b, i) => [ends[i] ?? b, b]);
      const twice = (list: number[]) => list.flatMap((v) => [v, v]);
      const look = KINDS[k.kind] ?? OTHER;
      const [first = 0, last = 0] = [x[0], x[x.length - 1]];
      return [
        { kind: "band", name: k.kind, x, low: twice(low), high: twice(below), colour: look.colour, quiet: true },
        { kind: "curve", name: k.kind, x: [first, ...x, last], y: [0, ...twice(below), 0], ...look },
      ];
    });
}

function Histogram({ report, sheet }: { report: BatchReport; sheet: Sheet }) {
  const svg = useRef<SVGSVGElement | null>(null);
  const gauge = report.gauges.find((g) => g.gauge === chosen.value) ?? report.gauges[0];
  const drawn = useMemo(() => {
    if (gauge === undefined) return null;
    const marks: Mark[] = gauge.edges_SI.map((at) => ({ kind: "x", at, label: at === 0 && /margin/.test(gauge.gauge) ? "just stays" : "window", colour: "bad" }));
    if (gauge.as_described_SI !== null) marks.push({ kind: "x", at: gauge.as_described_SI, label: "as described", dash: "dot" });
    return { layers: stacked(gauge), marks, x: axisOf(gauge.gauge, gauge.unit, gauge.histogram.ends_SI) };
  }, [gauge]);
  if (gauge === undefined || drawn === null) return null;
  const { ends_SI: ends, kinds } = gauge.histogram;
  const section = sectionsOf(sheet).find((s) => s.head === `Spread of the ${gauge.gauge}`);
  const says = (section?.blocks ?? []).flatMap((b) => (b.kind === "row" ? [`${b.name}: ${b.value}.`] : [])).join(" ");
  return (
    <section class="many" aria-label="How many parts lie where">
      <h3>How many parts lie where</h3>
      {report.gauges.length > 1 && (
        <label class="ask-pick">
          Drawn:{" "}
          <select value={gauge.gauge} onChange={(e) => (chosen.value = e.currentTarget.value)}>
            {report.gauges.map((g) => (
              <option key={g.gauge} value={g.gauge}>
                {g.gauge}
              </option>
            ))}
          </select>
        </label>
      )}
      {drawn.layers.length > 0 ? (
        <>
          <Plot
            key={gauge.gauge}
            title={`Parts over their ${gauge.gauge}`}
            says={says}
            x={drawn.x}
            y={{ label: "parts", unit: "", per: 1, withZero: true, whole: true }}
            layers={drawn.layers}
            marks={drawn.marks}
            svgRef={(s) => (svg.current = s)}
            height={260}
          />
          <SaveBar
            name="batch"
            svg={() => svg.current}
            csv={() => csvOf({ from_SI: ends.slice(0, -1), to_SI: ends.slice(1), ...Object.fromEntries(kinds.map((k) => [k.kind, k.counts])) })}
            question="spread"
          />
        </>
      ) : (
        <p class="panel-hint">No part has a reading of the {gauge.gauge}.</p>
      )}
      <Indices gauge={gauge} rows={section?.blocks ?? []} />
    </section>
  );
}

const SHARE: Axis = { label: "share of the parts", unit: "%", per: 0.01 };

function Drawing({ name, title, says, axis, rows, csv }: { name: string; title: string; says: string; axis: Axis; rows: BarRow[]; csv: () => string }) {
  const svg = useRef<SVGSVGElement | null>(null);
  return (
    <section class="many" aria-label={title}>
      <h3>{title}</h3>
      <p class="panel-hint">{says}</p>
      <Bars title={title} says={says} axis={axis} rows={rows} svgRef={(s) => (svg.current = s)} />
      <SaveBar name={name} svg={() => svg.current} csv={csv} />
    </section>
  );
}

function Indices({ gauge, rows }: { gauge: BatchGauge; rows: readonly Sheet["blocks"][number][] }) {
  const shown = gauge.indices.filter((i) => i.total > 0.001);
  if (shown.length === 0) return null;
  const value = (name: string) => rows.flatMap((b) => (b.kind === "row" && b.name === name ? [b.value] : []))[0] ?? "";
  const bar = (kind: string, v: number, error: number, hollow: boolean) => ({ kind, value: Math.max(0, v), low: v - error, high: v + error, colour: (hollow ? "second" : "accent") as Colour, hollow });
  return (
    <Drawing
      name="batch-indices"
      title={`What makes parts differ in their ${gauge.gauge}`}
      says="Share of the variance by number, with whiskers of one standard error either way."
      axis={{ label: "share of the variance", unit: "%", per: 0.01, from: 0 }}
      rows={shown.map((i) => ({
        name: i.inputs.map(words).join(" with "),
        bars: [bar("alone", i.first, i.first_error, false), bar("with all it shares", i.total, i.total_error, true)],
        says: value(i.inputs.join(" with ")),
      }))}
      csv={() =>
        csvOf({
          input: gauge.indices.map((i) => i.inputs.join(" with ")),
          first: gauge.indices.map((i) => i.first),
          first_error: gauge.indices.map((i) => i.first_error),
          total: gauge.indices.map((i) => i.total),
          total_error: gauge.indices.map((i) => i.total_error),
        })
      }
    />
  );
}

function Shares({ report, sheet }: { report: BatchReport; sheet: Sheet }) {
  const section = sectionsOf(sheet).find((s) => s.head === "Shares");
  const said = (section?.blocks ?? []).flatMap((b) => (b.kind === "row" ? [b] : []));
  const list: { name: string; share: BatchShare; colour: Colour }[] = [{ name: "good", share: report.good, colour: "accent" }];
  const v = report.verdicts;
  if (v !== null) {
    list.push({ name: "stay", share: v.stays, colour: "accent" });
    if (v.waits !== null) list.push({ name: "wait", share: v.waits, colour: "third" });
    list.push({ name: "return", share: v.returns, colour: "second" });
  }
  // Windows have the rows behind those, in their order.
  const names = said.map((b) => b.name).slice(list.length);
  report.windows.forEach((w, i) => list.push({ name: names[i] ?? w.gauge, share: w.inside, colour: "lip" }));
  if (report.unknown.share > 0) list.push({ name: "not known", share: report.unknown, colour: "ink-soft" });
  return (
    <Drawing
      name="batch-shares"
      title="What the parts do"
      says="Shares of the drawn parts, with whiskers of the 95 % interval of so many draws."
      axis={{ ...SHARE, from: 0, to: 1, tight: true }}
      rows={list.map((l) => ({ name: l.name, bars: [{ kind: "", value: l.share.share, low: l.share.low, high: l.share.high, colour: l.colour }], says: said.find((b) => b.name === l.name)?.value ?? "" }))}
      csv={() => csvOf({ what: list.map((l) => l.name), share: list.map((l) => l.share.share), low: list.map((l) => l.share.low), high: list.map((l) => l.share.high), surface_error: list.map((l) => l.share.surface_error) })}
    />
  );
}

function Tightening({ report, sheet }: { report: BatchReport; sheet: Sheet }) {
  const list = report.tightening;
  const section = sectionsOf(sheet).find((s) => /^What half a tolerance/.test(s.head));
  if (list.length === 0 || section === undefined) return null;
  return (
    <Drawing
      name="batch-tightening"
      title={section.head}
      says="Share of all parts that would be good and are not, were this tolerance half as wide; whiskers of one standard error either way."
      axis={SHARE}
      rows={list.map((t) => ({ name: words(t.input), bars: [{ kind: "", value: t.saved, low: t.saved - t.saved_error, high: t.saved + t.saved_error, colour: "third" }], says: rowOf({ title: "", blocks: section.blocks }, t.input) ?? "" }))}
      csv={() => csvOf({ input: list.map((t) => t.input), saved: list.map((t) => t.saved), saved_error: list.map((t) => t.saved_error) })}
    />
  );
}

export function BatchDrawn({ report, sheet }: { report: BatchReport; sheet: Sheet }) {
  return (
    <>
      <Shares report={report} sheet={sheet} />
      <Histogram report={report} sheet={sheet} />
      <Tightening report={report} sheet={sheet} />
    </>
  );
}
