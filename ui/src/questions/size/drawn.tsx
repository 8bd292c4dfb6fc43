// Sizes drawn: readings over one number, solutions over two, and what one wish costs the other.

import { useMemo, useRef } from "preact/hooks";
import { SaveBar } from "../../keep/savebar";
import { Plot, csvOf, type Axis, type Layer, type Mark } from "../../plot/plot";
import type { SizeReport, SizeScale } from "../reports";
import { words } from "../map/numbers";

const axis = (label: string, s: SizeScale): Axis => ({ label, unit: s.unit, per: s.size_si, zero: s.zero_si });

interface Drawing {
  title: string;
  x: Axis;
  y: Axis;
  layers: Layer[];
  marks: Mark[];
  csv: () => string;
}

function Drawn({ drawing, name }: { drawing: Drawing; name: string }) {
  const svg = useRef<SVGSVGElement | null>(null);
  return (
    <>
      <Plot title={drawing.title} x={drawing.x} y={drawing.y} layers={drawing.layers} marks={drawing.marks} svgRef={(s) => (svg.current = s)} height={260} />
      <SaveBar name={name} svg={() => svg.current} csv={drawing.csv} question="size" />
    </>
  );
}

/** One wish's reading over the only number that may change. */
function overOne(report: SizeReport, k: number): Drawing | null {
  const [v, wish, xs, ys] = [report.vary[0], report.wishes[k], report.scan.axes_si[0], report.scan.readings_si[k]];
  if (v === undefined || wish === undefined || xs === undefined || ys === undefined) return null;
  const at = report.solutions.map((s) => s.values_si[0] ?? null);
  const read = report.solutions.map((s) => s.readings[k]?.solver_si ?? null);
  const marks: Mark[] = [];
  if (wish.low_si !== null) marks.push({ kind: "y", at: wish.low_si, label: "at least", colour: "bad" });
  if (wish.high_si !== null) marks.push({ kind: "y", at: wish.high_si, label: "at most", colour: "bad" });
  const order = xs.map((_, i) => i).sort((a, b) => (xs[a] ?? 0) - (xs[b] ?? 0));
  const [x, y] = [order.map((i) => xs[i] ?? null), order.map((i) => ys[i] ?? null)];
  return {
    title: `${wish.about} over ${v.key}`,
    x: axis(words(v.key), v.scale),
    y: axis(wish.about, wish.scale),
    layers: [
      { kind: "curve", name: wish.about, x, y, colour: "accent" },
      { kind: "points", name: "the part as it is", x: [v.here_si], y: [report.readings_here_si[k] ?? null], colour: "ink", symbol: "circle", hollow: true, size: 80 },
      { kind: "points", name: "solution", x: at, y: read, colour: "bad", symbol: "diamond", size: 110 },
    ],
    marks,
    csv: () => csvOf({ [`${v.key}_SI`]: x, [`${wish.about.replaceAll(" ", "_")}_SI`]: y }),
  };
}

/** Solutions in the plane of two numbers. */
function overTwo(report: SizeReport): Drawing | null {
  const [a, b] = report.vary;
  if (a === undefined || b === undefined) return null;
  const curves = report.set?.curves ?? [];
  const pick = (points: readonly (readonly number[])[], i: number) => points.map((p) => p[i] ?? null);
  const solutions = report.solutions.map((s) => s.values_si);
  return {
    title: `Solutions over ${a.key} and ${b.key}`,
    x: axis(words(a.key), a.scale),
    y: axis(words(b.key), b.scale),
    layers: [
      { kind: "curve", name: "limits", x: [a.from_si, a.to_si, a.to_si, a.from_si, a.from_si], y: [b.from_si, b.from_si, b.to_si, b.to_si, b.from_si], colour: "line-strong", dash: "dot", width: 1.4 },
      ...curves.flatMap((c): Layer[] => [
        { kind: "curve", name: "exact wishes met", x: pick(c.points_si, 0), y: pick(c.points_si, 1), colour: "second", dash: "short", width: 1.6 },
        { kind: "curve", name: "all wishes met", x: pick(c.points_si, 0).map((v, i) => (c.met[i] ? v : null)), y: pick(c.points_si, 1), colour: "accent", width: 2.8 },
      ]),
      { kind: "points", name: "the part as it is", x: [a.here_si], y: [b.here_si], colour: "ink", symbol: "circle", hollow: true, size: 80 },
      { kind: "points", name: "solution", x: pick(solutions, 0), y: pick(solutions, 1), labels: solutions.map((_, i) => (solutions.length > 1 ? String(i + 1) : "")), colour: "bad", symbol: "diamond", size: 110 },
    ],
    marks: [],
    csv: () => csvOf({ [`${a.key}_SI`]: pick(solutions, 0), [`${b.key}_SI`]: pick(solutions, 1) }),
  };
}

function front(report: SizeReport): Drawing | null {
  const f = report.front;
  const [a, b] = [report.wishes[f?.wishes[0] ?? -1], report.wishes[f?.wishes[1] ?? -1]];
  if (f === null || a === undefined || b === undefined || f.points.length < 2) return null;
  const [x, y] = [f.points.map((p) => p.readings_si[0]), f.points.map((p) => p.readings_si[1])];
  const knee = f.knee === null ? undefined : f.points[f.knee];
  return {
    title: `What ${a.text} costs ${b.text}`,
    x: axis(a.about, a.scale),
    y: axis(b.about, b.scale),
    layers: [
      { kind: "curve", name: "as good as can be", x, y, colour: "accent", dots: true },
      ...(knee === undefined ? [] : [{ kind: "points", name: "knee", x: [knee.readings_si[0]], y: [knee.readings_si[1]], colour: "bad", symbol: "diamond", size: 110 } satisfies Layer]),
    ],
    marks: [],
    csv: () => csvOf({ [`${a.about.replaceAll(" ", "_")}_SI`]: x, [`${b.about.replaceAll(" ", "_")}_SI`]: y }),
  };
}

export function SizeDrawn({ report }: { report: SizeReport }) {
  const drawings = useMemo(() => {
    const list: (Drawing | null)[] = [front(report)];
    if (report.vary.length === 1) report.wishes.forEach((_, k) => list.push(overOne(report, k)));
    if (report.vary.length === 2) list.push(overTwo(report));
    return list.filter((d): d is Drawing => d !== null);
  }, [report]);
  return (
    <>
      {drawings.map((d, i) => (
        <section class="many" aria-label={d.title} key={d.title}>
          <h3>{d.title}</h3>
          <Drawn drawing={d} name={i === 0 ? "size" : `size-${i + 1}`} />
        </section>
      ))}
    </>
  );
}
