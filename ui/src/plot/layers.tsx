// Curves, points, bands, arrows and marks as SVG. Colour never stands alone: dashes and symbols tell the same.

import { area, line, symbol, symbolCircle, symbolCross, symbolDiamond, symbolSquare, symbolTriangle, type SymbolType } from "d3-shape";
import type { Placed } from "./scale";
import type { Arrow, Cloud, Colour, Dash, Layer, Mark, Symbol } from "./types";

export const DASHES: Record<Dash, string | undefined> = { solid: undefined, long: "9 5", short: "5 4", dot: "1.5 4", dashdot: "9 4 1.5 4" };
const SYMBOLS: Record<Symbol, SymbolType> = { circle: symbolCircle, square: symbolSquare, triangle: symbolTriangle, diamond: symbolDiamond, cross: symbolCross };

export const ink = (c: Colour) => `var(--${c})`;

const known = (v: number | null | undefined): v is number => v !== null && v !== undefined && Number.isFinite(v);

export function shapeOf(s: Symbol | undefined, size = 52): string {
  return symbol(SYMBOLS[s ?? "circle"], size)() ?? "";
}

/** Signs at many places as one path; every sign begins with its own `M`. */
export function signsOf(sign: Cloud["sign"], radius: number, places: readonly (readonly [number, number])[]): string {
  const r = radius;
  const arcs = `a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0z`;
  const strokes = `l${2 * r} ${2 * r}m0 ${-2 * r}l${-2 * r} ${2 * r}`;
  return places.map(([x, y]) => (sign === "cross" ? `M${(x - r).toFixed(1)} ${(y - r).toFixed(1)}${strokes}` : `M${(x - r).toFixed(1)} ${y.toFixed(1)}${arcs}`)).join("");
}

export function Signs({ layer, places }: { layer: Cloud; places: readonly (readonly [number, number])[] }) {
  return <path data-cloud={layer.name} d={signsOf(layer.sign, layer.radius, places)} stroke-width={1.2} style={{ fill: layer.sign === "dot" ? ink(layer.colour) : "none", stroke: ink(layer.colour) }} />;
}

/** Rough width of a text of 12 px; the page's fonts differ, so it is on the wide side. */
export const widthOf = (text: string) => text.length * 6.6;

interface Box {
  a: number;
  b: number;
  top: number;
  low: number;
}

const meet = (p: Box, q: Box) => p.a < q.b && q.a < p.b && p.top < q.low && q.top < p.low;

/** Words beside points, each where it covers no other; later layers choose first. One that fits nowhere is left out. */
export function Labels({ layers, x, y, width, height }: { layers: readonly Layer[]; x: Placed; y: Placed; width: number; height: number }) {
  const taken: Box[] = [];
  const wanted: { px: number; py: number; text: string }[] = [];
  for (const l of [...layers].reverse()) {
    if (l.kind !== "points" || l.labels === undefined) continue;
    l.x.forEach((v, i) => {
      const w = l.y[i];
      if (!known(v) || !known(w)) return;
      const [px, py] = [x.at(v), y.at(w)];
      taken.push({ a: px - 5, b: px + 5, top: py - 5, low: py + 5 });
      if (l.labels?.[i]) wanted.push({ px, py, text: l.labels[i] ?? "" });
    });
  }
  const out = wanted.flatMap(({ px, py, text }) => {
    const w = widthOf(text);
    const places: [number, number][] = [];
    for (const dy of [-7, 16, -22, 31, 46, -37]) for (const dx of [9, -9 - w, -w / 2]) places.push([px + dx, py + dy]);
    for (const [a, base] of places) {
      const box = { a, b: a + w, top: base - 11, low: base + 3 };
      if (box.a < 0 || box.b > width || box.top < 0 || box.low > height || taken.some((t) => meet(t, box))) continue;
      taken.push(box);
      return [{ a, base, text, px, py }];
    }
    return [];
  });
  return (
    <g>
      {out.map((o, i) => (
        <g key={i}>
          {Math.abs(o.base - o.py) > 20 && <line class="plot-lead" x1={o.px} y1={o.py} x2={Math.max(o.a, Math.min(o.a + widthOf(o.text), o.px))} y2={o.base < o.py ? o.base + 3 : o.base - 10} />}
          <text class="plot-label" x={o.a} y={o.base}>
            {o.text}
          </text>
        </g>
      ))}
    </g>
  );
}

export function Drawn({ layer, x, y, left, right, bottom }: { layer: Layer; x: Placed; y: Placed; left: number; right: number; bottom: number }) {
  const px = (v: number | null | undefined) => (known(v) ? x.at(v) : NaN);
  const py = (v: number | null | undefined) => (known(v) ? y.at(v) : NaN);
  switch (layer.kind) {
    case "curve": {
      const d = line<number>()
        .defined((i) => Number.isFinite(px(layer.x[i])) && Number.isFinite(py(layer.y[i])))
        .x((i) => px(layer.x[i]))
        .y((i) => py(layer.y[i]))(layer.x.map((_, i) => i));
      return (
        <g>
          <path d={d ?? ""} fill="none" stroke-width={layer.width ?? 2.2} stroke-dasharray={DASHES[layer.dash ?? "solid"]} stroke-linejoin="round" stroke-linecap={layer.dash === "dot" ? "round" : "butt"} style={{ stroke: ink(layer.colour) }} />
          {layer.dots &&
            layer.x.map((v, i) => (Number.isFinite(px(v)) && Number.isFinite(py(layer.y[i])) ? <circle key={i} cx={px(v)} cy={py(layer.y[i])} r={2.6} style={{ fill: "var(--sheet)", stroke: ink(layer.colour) }} stroke-width={1.4} /> : null))}
        </g>
      );
    }
    case "band": {
      const d = area<number>()
        .defined((i) => Number.isFinite(px(layer.x[i])) && Number.isFinite(py(layer.low[i])) && Number.isFinite(py(layer.high[i])))
        .x((i) => px(layer.x[i]))
        .y0((i) => py(layer.low[i]))
        .y1((i) => py(layer.high[i]))(layer.x.map((_, i) => i));
      return <path d={d ?? ""} fill-opacity={0.22} style={{ fill: ink(layer.colour) }} />;
    }
    case "zone": {
      const a = Math.max(left, Math.min(px(layer.from), px(layer.to)));
      const b = Math.min(right, Math.max(px(layer.from), px(layer.to)));
      return b > a ? <rect x={a} y={0} width={b - a} height={bottom} fill-opacity={0.16} style={{ fill: ink(layer.colour) }} /> : null;
    }
    case "points":
      return (
        <g>
          {layer.x.map((v, i) => {
            const cx = px(v);
            const cy = py(layer.y[i]);
            if (!Number.isFinite(cx) || !Number.isFinite(cy)) return null;
            return (
              <g key={i}>
                {layer.stems && <line x1={cx} x2={cx} y1={bottom} y2={cy} stroke-width={1.6} style={{ stroke: ink(layer.colour) }} />}
                <path d={shapeOf(layer.symbol, layer.size)} transform={`translate(${cx} ${cy})`} stroke-width={1.8} style={{ fill: layer.hollow ? "var(--sheet)" : ink(layer.colour), stroke: ink(layer.colour) }} />
              </g>
            );
          })}
        </g>
      );
    case "cloud":
      return <Signs layer={layer} places={layer.x.map((v, i): [number, number] => [px(v), py(layer.y[i])]).filter((p) => p.every(Number.isFinite))} />;
    case "arrow":
      return <Jump arrow={layer} x1={px(layer.from[0])} y1={py(layer.from[1])} x2={px(layer.to[0])} y2={py(layer.to[1])} />;
  }
}

function Jump({ arrow, x1, y1, x2, y2 }: { arrow: Arrow; x1: number; y1: number; x2: number; y2: number }) {
  if (![x1, y1, x2, y2].every(Number.isFinite)) return null;
  const length = Math.hypot(x2 - x1, y2 - y1);
  if (length < 2) return null;
  const ux = (x2 - x1) / length;
  const uy = (y2 - y1) / length;
  const head = Math.min(9, length * 0.5);
  const bx = x2 - ux * head;
  const by = y2 - uy * head;
  const w = head * 0.45;
  return (
    <g style={{ stroke: ink(arrow.colour), fill: ink(arrow.colour) }}>
      <line x1={x1} y1={y1} x2={bx} y2={by} stroke-width={1.6} stroke-dasharray={DASHES[arrow.dash ?? "short"]} />
      <path d={`M${x2} ${y2}L${bx - uy * w} ${by + ux * w}L${bx + uy * w} ${by - ux * w}Z`} stroke-width={0.5} />
    </g>
  );
}

/** Lines right across with their words; words that would lie on each other step down. */
export function Marks({ marks, x, y, width, height }: { marks: readonly Mark[]; x: Placed; y: Placed; width: number; height: number }) {
  const taken: { a: number; b: number; row: number }[] = [];
  const placed = marks
    .map((m) => ({ m, px: m.kind === "x" ? x.at(m.at) : y.at(m.at) }))
    .filter(({ m, px }) => Number.isFinite(px) && px >= -0.5 && px <= (m.kind === "x" ? width : height) + 0.5)
    .sort((a, b) => a.px - b.px);
  return (
    <g>
      {placed.map(({ m, px }, i) => {
        const colour = m.colour ?? "ink-soft";
        if (m.kind === "y") {
          return (
            <g key={i}>
              <line x1={0} x2={width} y1={px} y2={px} stroke-width={1.3} stroke-dasharray={DASHES[m.dash ?? "short"]} style={{ stroke: ink(colour) }} />
              <text class="plot-label" x={width - 4} y={px < 16 ? px + 14 : px - 5} text-anchor="end">
                {m.label}
              </text>
            </g>
          );
        }
        const w = widthOf(m.label);
        const end = px + 5 + w > width;
        const a = end ? px - 5 - w : px + 5;
        let row = 0;
        while (taken.some((t) => t.row === row && t.a < a + w + 4 && a < t.b + 4)) row++;
        taken.push({ a, b: a + w, row });
        return (
          <g key={i}>
            <line x1={px} x2={px} y1={0} y2={height} stroke-width={1.3} stroke-dasharray={DASHES[m.dash ?? "short"]} style={{ stroke: ink(colour) }} />
            <text class="plot-label" x={end ? px - 5 : px + 5} y={12 + row * 14} text-anchor={end ? "end" : "start"}>
              {m.label}
            </text>
          </g>
        );
      })}
    </g>
  );
}
