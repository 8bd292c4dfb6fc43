// The map's curves as layers of a plot.

import type { Axis as ReportAxis, MapReport, PlaneCurve } from "../../api";
import { csvOf, four, type Axis, type Colour, type Dash, type Layer } from "../../plot/plot";
import { places, type Known, type ToPlane } from "./sides";

/** An axis of the plot: logarithmic where it spans more than a factor of twenty, as on paper. */
export function axisOf(a: ReportAxis): Axis {
  return {
    label: a.label,
    unit: a.unit === "deg" ? "°" : a.unit,
    per: a.unit_si,
    from: a.low_si,
    to: a.high_si,
    scale: a.high_si > 20 * a.low_si ? "log" : "linear",
  };
}

/** Shares of the drawing, 0 to 1, and back. */
export function planeOf(report: MapReport): { to: ToPlane; back: (u: number, v: number) => [number, number] } {
  const share = (a: ReportAxis) => {
    const log = a.high_si > 20 * a.low_si;
    const f = log ? Math.log : (v: number) => v;
    const g = log ? Math.exp : (v: number) => v;
    const [low, high] = [f(a.low_si), f(a.high_si)];
    return { to: (v: number) => (f(v) - low) / (high - low), back: (u: number) => g(low + u * (high - low)) };
  };
  const [x, y] = [share(report.axes[0]), share(report.axes[1])];
  return { to: (a, b) => [x.to(a), y.to(b)], back: (u, v) => [x.back(u), y.back(v)] };
}

export function layersOf(report: MapReport, here: Known | null): Layer[] {
  const out: Layer[] = [];
  const add = (name: string, curves: readonly PlaneCurve[], colour: Colour, dash: Dash, width: number) => curves.forEach((c) => out.push({ kind: "curve", name, x: c.x_si, y: c.y_si, colour, dash, width }));
  for (const v of report.validity) add(`h/R = ${four(v.limit, 2)}`, v.curves, "line-strong", "dot", 1.6);
  for (const m of report.margins) add(`h/h* = ${four(m.ratio, 3)}`, m.curves, m.ratio < 1 ? "accent" : "second", "long", 1.5);
  for (const w of report.waiting) add(`end of waiting, ${w.hold}`, w.curves, "third", w.hold === "relaxed" ? "dot" : "dashdot", 1.8);
  for (const t of report.trip_loads) add(`trips at ${four(t.load_SI, 3)} ${t.load_unit}`, t.curves, "third", "short", 1.8);
  add("snapping first", report.snapping_first, "ink-soft", "dashdot", 1.8);
  add("threshold", report.threshold, "ink", "solid", 2.8);
  const cusps = [report.threshold, ...report.margins.map((m) => m.curves), ...report.waiting.map((w) => w.curves), ...report.trip_loads.map((t) => t.curves)].flat().flatMap((c) => c.cusps.map((i): [number, number] => [c.x_si[i] ?? NaN, c.y_si[i] ?? NaN]));
  if (cusps.length > 0) out.push({ kind: "points", name: "cusp", x: cusps.map((c) => c[0]), y: cusps.map((c) => c[1]), colour: "ink", symbol: "diamond", hollow: true, size: 44 });
  const plane = planeOf(report);
  for (const { side, at } of places(report, plane.to, here)) {
    const [x, y] = plane.back(at[0], at[1]);
    out.push({ kind: "points", name: side, x: [x], y: [y], labels: [side], colour: "ink", size: 0, quiet: true });
  }
  return out;
}

/** The tolerance of the two numbers about the marker. */
export function boxOf(x: number, y: number, wx: number | null, wy: number | null): Layer[] {
  if ((wx ?? 0) <= 0 && (wy ?? 0) <= 0) return [];
  const [a, b] = [wx ?? 0, wy ?? 0];
  return [{ kind: "curve", name: "tolerance of the case", x: [x - a, x + a, x + a, x - a, x - a], y: [y - b, y - b, y + b, y + b, y - b], colour: "bad", dash: "solid", width: 1.4, aside: true }];
}

/** Every curve as rows, as the server's own table has them. */
export function tableOf(report: MapReport): string {
  const family: string[] = [];
  const level: (number | null)[] = [];
  const curve: number[] = [];
  const x_si: number[] = [];
  const y_si: number[] = [];
  const cusp: boolean[] = [];
  const add = (name: string, value: number | null, curves: readonly PlaneCurve[]) =>
    curves.forEach((c, k) =>
      c.x_si.forEach((x, i) => {
        family.push(name);
        level.push(value);
        curve.push(k);
        x_si.push(x);
        y_si.push(c.y_si[i] ?? NaN);
        cusp.push(c.cusps.includes(i));
      }),
    );
  add("threshold", 1, report.threshold);
  for (const m of report.margins) add("margin", m.ratio, m.curves);
  for (const w of report.waiting) add(`end of waiting, ${w.hold}`, w.loss, w.curves);
  add("snapping first", null, report.snapping_first);
  for (const t of report.trip_loads) add("trip load", t.load_SI, t.curves);
  for (const v of report.validity) add(v.name, v.limit, v.curves);
  return csvOf({ family, level, curve, x_si, y_si, cusp });
}
