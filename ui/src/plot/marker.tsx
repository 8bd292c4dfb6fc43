// What a person moves in a plot, by pointer and by keys.

import type { Placed } from "./scale";
import { ink } from "./layers";
import type { AlongMarker, Marker, Values } from "./types";

const at = (list: Values, i: number): number => list[i] ?? NaN;

/** The point at a place of a polyline. */
export function pointAt(x: Values, y: Values, place: number): [number, number] {
  const last = x.length - 1;
  const p = Math.max(0, Math.min(last, place));
  const i = Math.min(Math.floor(p), Math.max(0, last - 1));
  const t = p - i;
  if (t === 0 || last < 1) return [at(x, i), at(y, i)];
  return [at(x, i) + t * (at(x, i + 1) - at(x, i)), at(y, i) + t * (at(y, i + 1) - at(y, i))];
}

/** The place on the polyline nearest to pixels; curves that cross themselves are left at the branch the marker is on. */
export function nearestPlace(m: AlongMarker, sx: Placed, sy: Placed, px: number, py: number): number {
  let best = m.place;
  let least = Infinity;
  let run = 0;
  const [hx, hy] = [m.x.map((v) => (v === null ? NaN : sx.at(v))), m.y.map((v) => (v === null ? NaN : sy.at(v)))];
  const lengths: number[] = [0];
  for (let i = 1; i < hx.length; i++) {
    const d = Math.hypot((hx[i] ?? NaN) - (hx[i - 1] ?? NaN), (hy[i] ?? NaN) - (hy[i - 1] ?? NaN));
    run += Number.isFinite(d) ? d : 0;
    lengths.push(run);
  }
  const [here] = pointAt(lengths, lengths, m.place);
  for (let i = 0; i + 1 < hx.length; i++) {
    const [ax, ay, bx, by] = [hx[i] ?? NaN, hy[i] ?? NaN, hx[i + 1] ?? NaN, hy[i + 1] ?? NaN];
    const dd = (bx - ax) ** 2 + (by - ay) ** 2;
    if (!Number.isFinite(dd)) continue;
    const t = dd === 0 ? 0 : Math.max(0, Math.min(1, ((px - ax) * (bx - ax) + (py - ay) * (by - ay)) / dd));
    const d = Math.hypot(px - ax - t * (bx - ax), py - ay - t * (by - ay));
    const far = Math.abs((lengths[i] ?? 0) + t * Math.sqrt(dd) - here);
    const cost = d + 0.03 * far;
    if (cost < least) {
      least = cost;
      best = i + t;
    }
  }
  return best;
}

/** Moves a marker to pixels inside the plot. */
export function moveTo(m: Marker, sx: Placed, sy: Placed, px: number, py: number): void {
  if (m.kind === "along") m.onPlace(nearestPlace(m, sx, sy, px, py));
  else if (m.kind === "cursor") m.onX(clamp(sx.back(px), sx));
  else m.onXY(clamp(sx.back(px), sx), clamp(sy.back(py), sy));
}

const clamp = (v: number, s: Placed) => Math.max(Math.min(s.from, s.to), Math.min(Math.max(s.from, s.to), v));

function keyed(m: Marker, sx: Placed, sy: Placed, width: number, height: number, e: KeyboardEvent): boolean {
  const big = e.shiftKey ? 10 : 1;
  const way: Record<string, [number, number]> = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1], PageUp: [0, 10], PageDown: [0, -10] };
  if (m.kind === "along") {
    const last = m.x.length - 1;
    if (e.key === "Home") m.onPlace(0);
    else if (e.key === "End") m.onPlace(last);
    else {
      const w = way[e.key];
      if (w === undefined) return false;
      const by = (w[0] + w[1]) * big * (m.step ?? 1);
      const next = m.place + by;
      m.onPlace(Math.max(0, Math.min(last, Math.abs(by) >= 1 ? Math.round(next) : next)));
    }
    return true;
  }
  const w = way[e.key];
  const px = m.kind === "cursor" || m.kind === "free" ? sx.at(m.x) : 0;
  if (m.kind === "cursor") {
    if (e.key === "Home") m.onX(sx.from);
    else if (e.key === "End") m.onX(sx.to);
    else if (w === undefined) return false;
    else m.onX(clamp(sx.back(px + ((w[0] + w[1]) * big * width) / 200), sx));
    return true;
  }
  if (w === undefined) return false;
  const x = clamp(sx.back(px + (w[0] * big * width) / 100), sx);
  const y = clamp(sy.back(sy.at(m.y) - (w[1] * big * height) / 100), sy);
  m.onXY(x, y);
  m.onDone?.(x, y);
  return true;
}

export function Handle({ marker: m, x, y, width, height, plotted }: { marker: Marker; x: Placed; y: Placed; width: number; height: number; plotted: (e: PointerEvent) => [number, number] }) {
  const [vx, vy] = m.kind === "along" ? pointAt(m.x, m.y, m.place) : m.kind === "free" ? [m.x, m.y] : [m.x, NaN];
  const px = x.at(vx);
  const py = m.kind === "cursor" ? height - 8 : y.at(vy);
  if (!Number.isFinite(px) || !Number.isFinite(py)) return null;
  const values = m.kind === "along" ? { now: m.place, min: 0, max: m.x.length - 1 } : { now: m.x, min: Math.min(x.from, x.to), max: Math.max(x.from, x.to) };
  const colour = ink(m.colour ?? "bad");
  const done = (e: PointerEvent) => {
    const g = e.currentTarget as Element;
    if (g.hasPointerCapture(e.pointerId)) g.releasePointerCapture(e.pointerId);
    if (m.kind === "free") m.onDone?.(m.x, m.y);
  };
  return (
    <g
      class="plot-handle"
      role="slider"
      tabindex={0}
      aria-label={m.name}
      aria-valuenow={values.now}
      aria-valuemin={values.min}
      aria-valuemax={values.max}
      aria-valuetext={m.says}
      aria-orientation={m.kind === "free" ? undefined : "horizontal"}
      onKeyDown={(e) => {
        if (keyed(m, x, y, width, height, e)) e.preventDefault();
      }}
      onPointerDown={(e) => {
        e.stopPropagation();
        (e.currentTarget as Element).setPointerCapture(e.pointerId);
        (e.currentTarget as SVGGElement).focus();
      }}
      onPointerMove={(e) => {
        if (!(e.currentTarget as Element).hasPointerCapture(e.pointerId)) return;
        const [qx, qy] = plotted(e);
        moveTo(m, x, y, Math.max(0, Math.min(width, qx)), Math.max(0, Math.min(height, qy)));
      }}
      onPointerUp={done}
      onPointerCancel={done}
    >
      {m.kind === "cursor" && <line x1={px} x2={px} y1={0} y2={height} stroke-width={2} style={{ stroke: colour }} />}
      <circle cx={px} cy={py} r={18} fill="transparent" />
      <circle class="plot-knob" cx={px} cy={py} r={7} stroke-width={2.5} style={{ stroke: "var(--sheet)", fill: colour }} />
      <circle cx={px} cy={py} r={8.6} fill="none" stroke-width={1.2} style={{ stroke: colour }} />
    </g>
  );
}
