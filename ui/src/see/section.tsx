// The meridian in section, to scale: wall, lip, mirror image, natural shape, the plane of the rim.

import { signal } from "@preact/signals";
import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import { colouring, film, frame, mirrored, natural, phase, ripple, showLip, showMirror, wallScale } from "../state/scene";
import { magnified } from "../state/settings";
import { extent, height, lengthWords, roundBelow, type Extent } from "./extent";
import { face, indexAt, pathOf, rippled, wall, type Sheet } from "./outline";
import { inUse } from "./push";
import { field, rampHex, top } from "./ramp";
import { laid } from "./solid";
import { dragPole } from "./solidview";
import { description, lipWords, turns } from "./words";

/** One half of the section in the place of both. */
export const half = signal(false);
const width = signal(480);
const BINS = 14;
const SIDE = 14;
const ABOVE = 26;
const BELOW = 96;

function sheetOf(e: Extent, w: number, one: boolean): { sheet: Sheet; tall: number } {
  const across = one ? e.radius : 2 * e.radius;
  const scale = Math.min((w - 2 * SIDE) / (across * 1.02), 420 / Math.max(e.high - e.low, 1e-9));
  const used = across * scale;
  const x = one ? (w - used) / 2 : w / 2;
  return { sheet: { scale, x, y: ABOVE + Math.max(e.high, 0) * scale }, tall: ABOVE + BELOW + (Math.max(e.high, 0) - Math.min(e.low, 0)) * scale };
}

export function Section() {
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (box.current === null) return;
    const sizes = new ResizeObserver((seen) => (width.value = Math.max(220, Math.round(seen[0]?.contentRect.width ?? 480))));
    sizes.observe(box.current);
    return () => sizes.disconnect();
  }, []);
  return (
    <div class="see-section" ref={box}>
      <Drawing />
    </div>
  );
}

function Drawing() {
  const began = performance.now();
  const drawn = useRef<SVGSVGElement>(null);
  // Time from the new shape to the changed drawing, for the checks of the page.
  useLayoutEffect(() => {
    if (drawn.current !== null) drawn.current.dataset.ms = (performance.now() - began).toFixed(2);
  });
  const f = frame.value;
  const whole = film.value;
  const e = extent.value;
  if (f === null || whole === null || e === null) return <p class="soft">The section is drawn when the case is read.</p>;
  const big = magnified();
  const w = width.value / big;
  const one = half.value;
  const { sheet: p, tall } = sheetOf(e, w, one);
  const sides: (1 | -1)[] = one ? [1] : [1, -1];
  const k = wallScale.value;
  const rip = ripple.value === null ? null : laid(ripple.value, whole.s_m);
  const swing = Math.cos(phase.value);
  const shapes = new Map(sides.map((side) => [side, rip === null ? f : rippled(f, rip, swing * (side > 0 ? 1 : (-1) ** rip.n))]));
  const at = (side: 1 | -1) => shapes.get(side) ?? f;
  const last = f.r_m.length - 1;
  const values = field(f, colouring.value);
  const most = top.value;
  const length = whole.s_m[last] ?? 0;
  const lipFrom = f.lip_m !== null && showLip.value && rip === null ? indexAt(whole.s_m, length - f.lip_m) : null;
  const made = natural.value;
  const image = showMirror.value && made !== null && e.flip ? mirrored(made) : null;
  const thin = made !== null && made !== f && e.flip ? made : null;
  const bins: string[] = values === null ? [] : Array.from({ length: BINS }, () => "");
  if (values !== null)
    for (let i = 0; i < last; i++) {
      const t = most > 0 ? (0.5 * ((values[i] ?? 0) + (values[i + 1] ?? 0))) / most : 0;
      const bin = Math.min(BINS - 1, Math.floor(t * BINS));
      for (const side of sides) bins[bin] += wall(at(side), whole, e, p, side, k, i, i + 1);
    }
  const outline = sides.map((side) => wall(at(side), whole, e, p, side, k)).join("");
  const lip = lipFrom === null ? "" : sides.map((side) => wall(f, whole, e, p, side, k, lipFrom, last)).join("");
  const hole = f.r_m[0] ?? 0;
  const pole: [number, number] = [p.x + (hole > 1e-6 * e.radius ? hole * p.scale : 0), p.y - height(e, at(1).z_m[0] ?? 0) * p.scale];
  const rimY = p.y;
  const metres = roundBelow((w / 3.2) / p.scale);
  const middle = lipFrom === null ? null : face(f, whole, e, p, 1, 0, k, lipFrom, last);
  const spot = middle?.[Math.floor(middle.length / 2)];
  const below = spot !== undefined && spot[1] > rimY - 4;
  return (
    <svg ref={drawn} class="see-drawing" viewBox={`0 0 ${w} ${tall.toFixed(0)}`} width={w * big} height={(tall * big).toFixed(0)} role="img" aria-label={`Section. ${description.value}`}>
      <line class="axis" x1={p.x} x2={p.x} y1={8} y2={tall - BELOW + 8} />
      <line class="rim" x1={one ? p.x : SIDE / 2} x2={w - SIDE / 2} y1={rimY} y2={rimY} />
      {values === null ? <path class="wall" data-part="wall" d={outline} /> : bins.map((d, i) => (d === "" ? null : <path key={i} class="shade" fill={rampHex((i + 0.5) / BINS)} d={d} />))}
      {values !== null && <path class="skin" data-part="wall" d={outline} />}
      {lip !== "" && <path class={values === null ? "lip" : "lip lip-line"} data-part="lip" d={lip} />}
      {thin !== null && <path class="made" data-part="natural" d={sides.map((side) => pathOf(face(thin, whole, e, p, side, 0, k))).join("")} />}
      {image !== null && <path class="mirror" data-part="mirror" d={sides.map((side) => pathOf(face(image, whole, e, p, side, 0, k))).join("")} />}
      {rip === null &&
        turns.value.map((s) => {
          const i = indexAt(whole.s_m, s);
          return sides.map((side) => {
            const [x, y] = face(f, whole, e, p, side, 0, k, i, i)[0] ?? [0, 0];
            return <circle key={`${s}${side}`} class="turn" cx={x.toFixed(1)} cy={y.toFixed(1)} r={4} />;
          });
        })}
      {lipWords.value !== null && spot !== undefined && (
        <text class="lip-words" x={Math.min(spot[0], w - 60).toFixed(1)} y={(spot[1] + (below ? -1 : 1) * (10 + 0.5 * k * (whole.thickness_m[last] ?? 0) * p.scale) + (below ? 0 : 10)).toFixed(1)} text-anchor="middle">
          lip {lipWords.value}
        </text>
      )}
      <g class="handle" onPointerDown={(ev) => dragPole(ev, () => 1 / (p.scale * big))} transform={`translate(${pole[0].toFixed(1)} ${pole[1].toFixed(1)})`}>
        <circle class="reach" r={20} />
        <circle class={inUse.value ? "grip on" : "grip"} r={7} />
      </g>
      <Legend plane={e.flip ? "plane of the rim as made" : "table"} w={w} y={tall - 68} metres={metres} px={metres * p.scale} mirror={image !== null} made={thin !== null} turn={turns.value.length > 0 && rip === null} />
    </svg>
  );
}

function Legend({ plane, w, y, metres, px, mirror, made, turn }: { plane: string; w: number; y: number; metres: number; px: number; mirror: boolean; made: boolean; turn: boolean }) {
  const keys = [mirror ? (["mirror", "mirror image"] as const) : null, made ? (["made", "natural"] as const) : null, turn ? (["turn", "curvature changes sign"] as const) : null, ["rim", plane] as const].filter((v) => v !== null);
  // Keys go to the next line where the width is used up.
  let x = SIDE;
  let line = 0;
  return (
    <g>
      <path class="bar" d={`M${SIDE} ${y - 4}v8m0-4h${px.toFixed(1)}m0-4v8`} />
      <text class="note" x={SIDE + px + 6} y={y + 4}>
        {lengthWords(metres)}
      </text>
      <g>
        {keys.map(([kind, words]) => {
          const wide = 36 + words.length * 6.4;
          if (x > SIDE && x + wide > w) {
            x = SIDE;
            line++;
          }
          const [here, down] = [x, y + 22 + 18 * line];
          x += wide;
          return (
            <g key={kind} transform={`translate(${here} ${down})`}>
              {kind === "turn" ? <circle class="turn" cx={9} cy={-4} r={4} /> : <path class={kind} d="M0-4h20" />}
              <text class="note" x={25} y={0}>
                {words}
              </text>
            </g>
          );
        })}
      </g>
      <text class="note" x={w - SIDE} y={y + 4} text-anchor="end">
        {wallScale.value === 1 ? "to scale" : `wall × ${wallScale.value}`}
      </text>
    </g>
  );
}
