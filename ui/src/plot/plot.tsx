// Plots of the page. How to use it:
//
//   <Plot title="Force over displacement" says="Two branches meet at the trip."
//     x={{ label: "displacement", ...unitFor("length", 0.02) }} y={{ label: "force", ...unitFor("force", 1.5), withZero: true }}
//     layers={[{ kind: "curve", name: "stable", x, y, colour: "accent" }, { kind: "curve", name: "unstable", x, y, colour: "second", dash: "short" },
//              { kind: "points", … }, { kind: "cloud", … }, { kind: "band", … }, { kind: "arrow", … }, { kind: "zone", … }]}
//     marks={[{ kind: "x", at: 0.009, label: "trip" }]}
//     markers={[{ kind: "along", name: "Place on the path", says: "1.2 N at 8 mm", x, y, place, onPlace }, or "cursor" over x, or "free"]}
//     svgRef={(svg) => (held.current = svg)} height={280} hint="drag the marker" />
//
// All values are SI (null breaks a curve); an axis has `unit` and `per` (its worth in SI, from `unitFor`), `zero`, `scale: "log"`, `from`, `to`.
// Colours are tokens; give curves dashes as well, so that they differ in grey. `aside` keeps a curve out of axes' ends and read-out, `quiet` out of the legend.
// A click or drag anywhere in the plot moves the first marker. `plotSvg(svg)` is the picture as a file, `csvOf({force_N: […]})` the numbers, `four`, `withUnit`,
// `onAxis` words of numbers. Give `layers` and `marks` that stay the same object (useMemo) where a marker moves fast. Types: ./types. Marks and layers are drawn in their order; what lies outside the axes is cut off.

import { useEffect, useId, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import { magnified } from "../state/settings";
import "../styles/plot.css";
import { DASHES, Drawn, Labels, Marks, Signs, ink, shapeOf, widthOf } from "./layers";
import { Handle, moveTo } from "./marker";
import { endsOf, onAxis, place } from "./scale";
import type { Layer, PlotProps } from "./types";

export { csvOf, plotSvg } from "./save";
export { four, mostOf, onAxis, unitFor, withUnit } from "./scale";
export type { Arrow, Axis, Band, Cloud, Colour, Curve, Dash, Layer, Mark, Marker, PlotProps, Points, Values, Zone } from "./types";

export function Plot(props: PlotProps) {
  const { title, layers, marks = [], markers = [] } = props;
  const box = useRef<HTMLDivElement>(null);
  const svg = useRef<SVGSVGElement>(null);
  const [width, setWidth] = useState(0);
  const [pointer, setPointer] = useState<[number, number] | null>(null);
  const id = useId();

  useLayoutEffect(() => {
    const el = box.current;
    if (el === null) return;
    setWidth(el.clientWidth);
    const watch = new ResizeObserver(() => setWidth(el.clientWidth));
    watch.observe(el);
    return () => watch.disconnect();
  }, []);
  useEffect(() => {
    props.svgRef?.(svg.current);
    return () => props.svgRef?.(null);
  }, []);

  // Laid out in a narrower space and drawn larger: letters, strokes and reach of the pointer grow together.
  const big = magnified();
  const wide = Math.max(240, width / big);
  const keep = [layers, marks.length === 0 ? null : marks, wide, props.height, props.bare, JSON.stringify([props.x, props.y])];
  const still = useMemo(() => layOut(props, wide), keep);
  const { legend, top, inner, x, y, total } = still;
  // Drawn once for the same layers: a marker that moves sixty times a second costs no curve.
  const drawn = useMemo(
    () => (
      <>
        <g aria-hidden="true" clip-path={`url(#${id}-clip)`}>
          {layers.map((l, i) => (
            <Drawn key={i} layer={l} x={x} y={y} left={0} right={inner.w} bottom={inner.h} />
          ))}
        </g>
        <g aria-hidden="true">
          <Labels layers={layers} x={x} y={y} width={inner.w} height={inner.h} />
          <Marks marks={marks} x={x} y={y} width={inner.w} height={inner.h} />
        </g>
      </>
    ),
    [still],
  );

  const plotted = (e: PointerEvent): [number, number] => {
    const at = svg.current?.getBoundingClientRect();
    if (at === undefined) return [0, 0];
    return [((e.clientX - at.left) * wide) / (at.width || 1) - inner.left, ((e.clientY - at.top) * total) / (at.height || 1) - top];
  };
  const first = markers[0];
  const near = pointer === null ? null : nearest(layers, (v) => x.at(v), (v) => y.at(v), pointer);
  const name = (axis: typeof props.x) => (axis.unit === "" ? axis.label : `${axis.label}, ${axis.unit}`);

  return (
    <div class="plot" ref={box}>
      <svg ref={svg} viewBox={`0 0 ${wide} ${total}`} width={wide * big} height={total * big} role="group" aria-label={title} aria-describedby={`${id}-says`}>
        <title>{title}</title>
        <defs>
          <clipPath id={`${id}-clip`}>
            <rect x={-1} y={-1} width={inner.w + 2} height={inner.h + 2} />
          </clipPath>
        </defs>
        <g aria-hidden="true">
          {legend.items.map(({ layer, px, row }) => (
            <g key={layer.name} transform={`translate(${8 + px} ${14 + row * 20})`}>
              <Swatch layer={layer} />
              <text class="plot-legend" x={32} y={4}>
                {layer.name}
              </text>
            </g>
          ))}
        </g>
        <g transform={`translate(${inner.left} ${top})`}>
          <g aria-hidden="true">
            {y.ticks.map((t) => (
              <g key={t.v}>
                <line class="plot-grid" x1={0} x2={inner.w} y1={y.at(t.v)} y2={y.at(t.v)} />
                <text class="plot-tick" x={-7} y={y.at(t.v) + 4} text-anchor="end">
                  {t.text}
                </text>
              </g>
            ))}
            {x.ticks.map((t) => (
              <g key={t.v}>
                <line class="plot-grid" x1={x.at(t.v)} x2={x.at(t.v)} y1={0} y2={inner.h} />
                <text class="plot-tick" x={x.at(t.v)} y={inner.h + 17} text-anchor="middle">
                  {t.text}
                </text>
              </g>
            ))}
            {y.from < 0 && y.to > 0 && <line class="plot-zero" x1={0} x2={inner.w} y1={y.at(0)} y2={y.at(0)} />}
            <path class="plot-axis" d={`M0 0V${inner.h}H${inner.w}`} fill="none" />
            <text class="plot-name" x={inner.w / 2} y={inner.h + 36} text-anchor="middle">
              {name(props.x)}
            </text>
            <text class="plot-name" transform={`translate(${-inner.left + 14} ${inner.h / 2}) rotate(-90)`} text-anchor="middle">
              {name(props.y)}
            </text>
          </g>
          {drawn}
          {near !== null && (
            <g class="plot-only-live" aria-hidden="true">
              <line class="plot-hair" x1={near.px} x2={near.px} y1={0} y2={inner.h} />
              <line class="plot-hair" x1={0} x2={inner.w} y1={near.py} y2={near.py} />
            </g>
          )}
          <rect
            class={first === undefined ? "plot-hit plot-only-live" : "plot-hit plot-only-live plot-hit-moves"}
            x={0}
            y={0}
            width={Math.max(0, inner.w)}
            height={inner.h}
            fill="transparent"
            onPointerMove={(e) => {
              const p = plotted(e);
              setPointer(p);
              if (first !== undefined && e.buttons === 1 && (e.currentTarget as Element).hasPointerCapture(e.pointerId)) moveTo(first, x, y, Math.max(0, Math.min(inner.w, p[0])), Math.max(0, Math.min(inner.h, p[1])));
            }}
            onPointerLeave={() => setPointer(null)}
            onPointerDown={(e) => {
              if (first === undefined || e.button !== 0) return;
              (e.currentTarget as Element).setPointerCapture(e.pointerId);
              const p = plotted(e);
              moveTo(first, x, y, p[0], p[1]);
            }}
            onPointerUp={() => {
              if (first?.kind === "free") first.onDone?.(first.x, first.y);
            }}
          />
          {markers.map((m, i) => (
            <Handle key={i} marker={m} x={x} y={y} width={inner.w} height={inner.h} plotted={plotted} />
          ))}
        </g>
      </svg>
      <p class="plot-read" aria-hidden="true">
        {near === null ? (props.hint ?? " ") : `${near.name}: ${props.x.label} ${onAxis(props.x, near.x)}, ${props.y.label} ${onAxis(props.y, near.y)}`}
      </p>
      <p class="hidden-label" id={`${id}-says`}>
        {[props.says ?? "", ...describe(props)].join(" ")}
      </p>
    </div>
  );
}

/** Where everything of a plot lies. */
function layOut(props: PlotProps, wide: number) {
  const { layers, marks = [] } = props;
  const legend = props.bare ? { rows: 0, items: [] } : legendOf(layers, wide - 16);
  const top = 8 + legend.rows * 20 + (legend.rows > 0 ? 4 : 0);
  const height = props.height ?? (wide < 480 ? 240 : 300);
  const h = height - 46;
  const y = place(props.y, endsOf(layers, marks, "y", props.y), [h, 0], Math.max(3, Math.round(h / 48)));
  const left = 26 + Math.max(...y.ticks.map((t) => t.text.length * 7), 14);
  const w = wide - left - 14;
  const x = place(props.x, endsOf(layers, marks, "x", props.x), [0, w], Math.max(3, Math.round(w / 80)));
  return { legend, top, inner: { w, h, left }, x, y, total: top + height };
}

function Swatch({ layer }: { layer: Layer }) {
  if (layer.kind === "points") return <path d={shapeOf(layer.symbol, layer.size ?? 52)} transform="translate(14 0)" stroke-width={1.8} style={{ fill: layer.hollow ? "var(--sheet)" : ink(layer.colour), stroke: ink(layer.colour) }} />;
  if (layer.kind === "cloud") return <Signs layer={layer} places={[[14, 0]]} />;
  if (layer.kind === "band" || layer.kind === "zone") return <rect x={1} y={-6} width={25} height={12} fill-opacity={0.25} style={{ fill: ink(layer.colour) }} />;
  const dash = DASHES[layer.dash ?? (layer.kind === "arrow" ? "short" : "solid")];
  return (
    <g style={{ stroke: ink(layer.colour), fill: ink(layer.colour) }}>
      <line x1={1} x2={layer.kind === "arrow" ? 20 : 27} y1={0} y2={0} stroke-width={layer.kind === "arrow" ? 1.6 : (layer.width ?? 2.2)} stroke-dasharray={dash} />
      {layer.kind === "arrow" && <path d="M27 0L19 -4V4Z" />}
    </g>
  );
}

/** Where the names of the layers go, in as many rows as they need; a name that comes twice is shown once. */
function legendOf(layers: readonly Layer[], width: number): { rows: number; items: { layer: Layer; px: number; row: number }[] } {
  const items: { layer: Layer; px: number; row: number }[] = [];
  let px = 0;
  let row = 0;
  for (const layer of layers) {
    if (layer.quiet || layer.name === "" || items.some((i) => i.layer.name === layer.name)) continue;
    const w = 32 + widthOf(layer.name) + 14;
    if (px > 0 && px + w > width) {
      px = 0;
      row++;
    }
    items.push({ layer, px, row });
    px += w;
  }
  return { rows: items.length === 0 ? 0 : row + 1, items };
}

interface Near {
  name: string;
  x: number;
  y: number;
  px: number;
  py: number;
}

/** The point of the curves nearest to the pointer, if there is one within reach. */
function nearest(layers: readonly Layer[], sx: (v: number) => number, sy: (v: number) => number, [qx, qy]: [number, number]): Near | null {
  let best: Near | null = null;
  let least = 60;
  for (const l of layers) {
    if ((l.kind !== "curve" && l.kind !== "points") || (l.kind === "curve" && l.aside)) continue;
    l.x.forEach((vx, i) => {
      const vy = l.y[i];
      if (vx === null || vy === null || vy === undefined) return;
      const px = sx(vx);
      const py = sy(vy);
      const d = Math.hypot(px - qx, py - qy);
      if (d < least) {
        least = d;
        best = { name: l.name, x: vx, y: vy, px, py };
      }
    });
  }
  return best;
}

function describe({ x, y, layers, marks = [] }: PlotProps): string[] {
  const out: string[] = [];
  for (const l of layers) {
    if (l.kind !== "curve" || l.name === "" || l.quiet) continue;
    const xs = l.x.filter((v): v is number => v !== null);
    const ys = l.y.filter((v): v is number => v !== null);
    if (xs.length === 0 || ys.length === 0) continue;
    out.push(`${l.name}: ${x.label} ${onAxis(x, Math.min(...xs))} to ${onAxis(x, Math.max(...xs))}, ${y.label} ${onAxis(y, Math.min(...ys))} to ${onAxis(y, Math.max(...ys))}.`);
  }
  for (const m of marks) out.push(`${m.label} at ${onAxis(m.kind === "x" ? x : y, m.at)}.`);
  return out;
}
