// Bars that lie, each with its name above it and a whisker for its error: shares, indices.

import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { magnified } from "../state/settings";
import "../styles/plot.css";
import { ink } from "./layers";
import { place } from "./scale";
import type { Axis, Colour } from "./types";

export interface Bar {
  /** Which of the kinds in the legend; "" where there is one alone. */
  kind: string;
  value: number;
  /** Ends of the whisker. */
  low: number;
  high: number;
  colour: Colour;
  /** Drawn as an outline: told apart without colour. */
  hollow?: boolean;
}

export interface BarRow {
  name: string;
  bars: Bar[];
  /** The row in words, for those who do not see it. */
  says: string;
}

export interface BarsProps {
  title: string;
  /** What it shows and what the whiskers are. */
  says: string;
  axis: Axis;
  rows: BarRow[];
  svgRef?: (svg: SVGSVGElement | null) => void;
}

const LABEL = 17;
const THICK = 12;
const GAP = 9;

export function Bars({ title, says, axis, rows, svgRef }: BarsProps) {
  const box = useRef<HTMLDivElement>(null);
  const svg = useRef<SVGSVGElement>(null);
  const [width, setWidth] = useState(0);
  useLayoutEffect(() => {
    const el = box.current;
    if (el === null) return;
    setWidth(el.clientWidth);
    const watch = new ResizeObserver(() => setWidth(el.clientWidth));
    watch.observe(el);
    return () => watch.disconnect();
  }, []);
  useEffect(() => {
    svgRef?.(svg.current);
    return () => svgRef?.(null);
  }, []);
  const big = magnified();
  const wide = Math.max(240, width / big);
  const kinds = [...new Map(rows.flatMap((r) => r.bars).map((b) => [b.kind, b])).values()].filter((b) => b.kind !== "");
  const top = kinds.length > 0 ? 26 : 4;
  const heights = rows.map((r) => LABEL + r.bars.length * (THICK + 3) + GAP);
  const inner = heights.reduce((a, b) => a + b, 0);
  const total = top + inner + 44;
  const ends = rows.flatMap((r) => r.bars.flatMap((b) => [b.value, b.low, b.high]));
  const [left, right] = [8, wide - 16];
  const x = place(axis, [Math.min(0, ...ends), Math.max(...ends, 1e-9)], [left, right], Math.max(3, Math.round((right - left) / 80)));
  let y = top;
  return (
    <div class="plot" ref={box}>
      <svg ref={svg} viewBox={`0 0 ${wide} ${total}`} width={wide * big} height={total * big} role="img" aria-label={`${title}. ${says} ${rows.map((r) => `${r.name}: ${r.says}.`).join(" ")}`}>
        <title>{title}</title>
        {kinds.map((k, i) => (
          <g key={k.kind} transform={`translate(${left + i * Math.min(190, (right - left) / 2)} 12)`}>
            <rect x={0} y={-6} width={22} height={THICK} stroke-width={1.6} style={{ fill: k.hollow ? "var(--sheet)" : ink(k.colour), stroke: ink(k.colour) }} />
            <text class="plot-legend" x={28} y={4}>
              {k.kind}
            </text>
          </g>
        ))}
        {x.ticks.map((t) => (
          <g key={t.v}>
            <line class="plot-grid" x1={x.at(t.v)} x2={x.at(t.v)} y1={top} y2={top + inner} />
            <text class="plot-tick" x={x.at(t.v)} y={top + inner + 16} text-anchor="middle">
              {t.text}
            </text>
          </g>
        ))}
        <line class="plot-axis" x1={left} x2={right} y1={top + inner} y2={top + inner} />
        {rows.map((r, i) => {
          const at = y;
          y += heights[i] ?? 0;
          return (
            <g key={r.name}>
              {r.bars.map((b, k) => {
                const from = at + LABEL + k * (THICK + 3);
                const middle = from + THICK / 2;
                const [a, c] = [x.at(Math.min(0, b.value)), x.at(Math.max(0, b.value))];
                const [p, q] = [x.at(b.low), x.at(b.high)];
                return (
                  <g key={k}>
                    <rect x={a} y={from} width={Math.max(0, c - a)} height={THICK} stroke-width={1.6} style={{ fill: b.hollow ? "var(--sheet)" : ink(b.colour), stroke: ink(b.colour) }} />
                    <path class="bar-whisker" d={`M${p} ${middle}H${q}M${p} ${from + 2}V${from + THICK - 2}M${q} ${from + 2}V${from + THICK - 2}`} />
                  </g>
                );
              })}
              <text class="plot-label" x={left + 2} y={at + LABEL - 5}>
                {r.name}
              </text>
            </g>
          );
        })}
        <text class="plot-name" x={(left + right) / 2} y={total - 6} text-anchor="middle">
          {axis.unit === "" ? axis.label : `${axis.label}, ${axis.unit}`}
        </text>
      </svg>
    </div>
  );
}
