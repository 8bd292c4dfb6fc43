// The 3D view as a part of the page: canvas, turning it by pointer, fingers and keys, and what lies over it.

import { effect, signal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { Color } from "three";
import { colouring, cut, film, frame, mirrored, natural, phase, picking, picks, pointOf, ripple, showGhost, showLip, showMirror, wallScale } from "../state/scene";
import { isDark, isStill } from "../state/settings";
import { extent, height, lengthWords, roundBelow } from "./extent";
import { at, inUse, knot, mm, newton, pushBy, release } from "./push";
import { field, rampLinear, top } from "./ramp";
import { HOME, Space, type Picture } from "./space";
import { description, lipWords } from "./words";

/** How far round the part is drawn when it is cut open. */
export const opening = signal<90 | 180>(180);
/** `null` while it is not known whether the browser draws in 3D. */
export const space = signal<Space | null>(null);
export const missing = signal<string | null>(null);
/** Places over the canvas that follow the view, px. */
const overlay = signal<{ pole: { x: number; y: number } | null; lip: { x: number; y: number } | null; bar: { px: number; words: string } | null }>({ pole: null, lip: null, bar: null });

const token = (name: string) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
const linear = (hex: string): [number, number, number] => {
  const c = new Color(hex);
  return [c.r, c.g, c.b];
};

/** The picture of the state in hand. */
function picture(): Picture | null {
  const f = frame.value;
  const whole = film.value;
  const e = extent.value;
  if (f === null || whole === null || e === null) return null;
  isDark();
  const ink = { paper: token("sheet"), part: token("part-fill"), edge: token("part-line"), line: token("ink-soft"), lip: token("lip"), mirror: token("mirror-line"), third: token("third") };
  const plain = linear(ink.part);
  const lip = linear(ink.lip);
  const values = field(f, colouring.value);
  const most = top.value;
  const length = whole.s_m[whole.s_m.length - 1] ?? 0;
  const lipFrom = showLip.value && f.lip_m !== null ? length - f.lip_m : null;
  const colours = whole.s_m.map((s, i): readonly [number, number, number] => {
    if (values !== null) return rampLinear(most > 0 ? (values[i] ?? 0) / most : 0);
    return lipFrom !== null && s >= lipFrom ? (plain.map((v, k) => v + 0.5 * ((lip[k] ?? 0) - v)) as [number, number, number]) : plain;
  });
  const ring: Picture["ring"] = [];
  if (lipFrom !== null && ripple.value === null) {
    const i = Math.max(1, whole.s_m.findIndex((s) => s >= lipFrom));
    const a = whole.s_m[i - 1] ?? 0;
    const t = (lipFrom - a) / ((whole.s_m[i] ?? a) - a || 1);
    const mix = (x: number[]) => (x[i - 1] ?? 0) + t * ((x[i] ?? 0) - (x[i - 1] ?? 0));
    const up = e.flip ? -1 : 1;
    for (const side of [1, -1]) {
      const half = side * (0.5 * mix(whole.thickness_m) * wallScale.value + 0.004 * e.radius);
      ring.push({ r: mix(f.r_m) + half * Math.sin(mix(f.slope_rad)), z: height(e, mix(f.z_m)) - up * half * Math.cos(mix(f.slope_rad)) });
    }
  }
  const points = picks.value;
  const image = natural.value !== null && (picking.value || points.length > 0) ? mirrored(f) : null;
  const dots: Picture["dots"] = [];
  if (points.length > 0) {
    dots.push({ mesh: "shape", points: points.map((p) => pointOf(f, whole.s_m, p)) });
    if (image !== null) dots.push({ mesh: "image", points: points.map((p) => pointOf(image, whole.s_m, p)) });
  }
  return {
    shape: {
      frame: f,
      film: whole,
      extent: e,
      wallScale: wallScale.value,
      span: cut.value && !picking.value ? 2 * Math.PI - (opening.value * Math.PI) / 180 : 2 * Math.PI,
      ripple: ripple.value,
      phase: phase.value,
      colours: (i) => colours[i] ?? plain,
      cutColour: values === null ? (linear(ink.edge).map((v, k) => 0.6 * v + 0.4 * (plain[k] ?? 0)) as [number, number, number]) : null,
    },
    ghost: showGhost.value && natural.value !== null && natural.value !== f && natural.value.r_m.length === f.r_m.length ? natural.value : null,
    image: image ?? (showMirror.value && natural.value !== null && natural.value !== f && showGhost.value && natural.value.r_m.length === f.r_m.length ? mirrored(natural.value) : null),
    ring,
    dots,
    ink,
    coloured: values !== null,
  };
}

/** Puts what lies over the canvas in its place. */
function place(s: Space): void {
  const e = extent.peek();
  const f = frame.peek();
  const whole = film.peek();
  if (e === null || f === null || whole === null) return;
  const hole = f.r_m[0] ?? 0;
  const pole = s.project(hole > 1e-6 * e.radius ? hole : 0, Math.PI * 1.5, height(e, f.z_m[0] ?? 0));
  let lip: { x: number; y: number } | null = null;
  if (showLip.peek() && f.lip_m !== null && ripple.peek() === null) {
    const from = (whole.s_m[whole.s_m.length - 1] ?? 0) - f.lip_m / 2;
    const i = Math.max(0, whole.s_m.findIndex((v) => v >= from));
    lip = s.project(f.r_m[i] ?? 0, s.turn.azimuth > -1 && cut.peek() ? 0 : Math.PI / 2 - s.turn.azimuth + 0.9, height(e, f.z_m[i] ?? 0));
  }
  const metres = roundBelow(Math.min(120, s.canvas.clientWidth / 4) * s.metresPerPixel);
  overlay.value = { pole, lip, bar: { px: metres / s.metresPerPixel, words: lengthWords(metres) } };
}

export function turnBy(s: Space, azimuth: number, elevation: number, zoom = 1): void {
  s.turn.azimuth += azimuth;
  s.turn.elevation = Math.max(-1.5, Math.min(1.5, s.turn.elevation + elevation));
  s.turn.zoom = Math.max(0.5, Math.min(8, s.turn.zoom * zoom));
  s.ask();
}

/** Pointer on the canvas: one finger turns about the axis (the page still scrolls), two turn and zoom; a mouse turns both ways. */
function follow(s: Space): () => void {
  const down = new Map<number, { x: number; y: number }>();
  let moved = 0;
  const canvas = s.canvas;
  const onDown = (e: PointerEvent) => {
    if (e.button !== 0) return;
    down.set(e.pointerId, { x: e.offsetX, y: e.offsetY });
    moved = 0;
    canvas.setPointerCapture(e.pointerId);
  };
  const spread = () => {
    const [a, b] = [...down.values()];
    return a === undefined || b === undefined ? 0 : Math.hypot(a.x - b.x, a.y - b.y);
  };
  const onMove = (e: PointerEvent) => {
    const from = down.get(e.pointerId);
    if (from === undefined) return;
    const before = spread();
    const dx = e.offsetX - from.x;
    const dy = e.offsetY - from.y;
    moved += Math.abs(dx) + Math.abs(dy);
    down.set(e.pointerId, { x: e.offsetX, y: e.offsetY });
    const two = down.size > 1;
    const share = two ? 0.5 : 1;
    turnBy(s, -dx * 0.008 * share, e.pointerType === "touch" && !two ? 0 : dy * 0.008 * share, two && before > 0 ? spread() / before : 1);
  };
  const onUp = (e: PointerEvent) => {
    const had = down.delete(e.pointerId);
    if (!had || moved > 5 || !picking.peek() || e.type === "pointercancel") return;
    const hit = s.pick(e.offsetX, e.offsetY);
    if (hit !== null) picks.value = picks.peek().length >= 2 ? [hit] : [...picks.peek(), hit];
  };
  const onWheel = (e: WheelEvent) => {
    if (!e.ctrlKey && document.activeElement !== canvas) return;
    e.preventDefault();
    turnBy(s, 0, 0, Math.exp(-e.deltaY * 0.0015));
  };
  const onKey = (e: KeyboardEvent) => {
    const step = 0.1;
    const moves: Record<string, [number, number, number]> = { ArrowLeft: [step, 0, 1], ArrowRight: [-step, 0, 1], ArrowUp: [0, step, 1], ArrowDown: [0, -step, 1], "+": [0, 0, 1.15], "=": [0, 0, 1.15], "-": [0, 0, 1 / 1.15] };
    const move = moves[e.key];
    if (e.key === "Home") {
      Object.assign(s.turn, HOME);
      s.ask();
    } else if (move !== undefined) turnBy(s, ...move);
    else return;
    e.preventDefault();
  };
  const pairs = [["pointerdown", onDown], ["pointermove", onMove], ["pointerup", onUp], ["pointercancel", onUp], ["wheel", onWheel], ["keydown", onKey]] as const;
  for (const [name, f] of pairs) canvas.addEventListener(name, f as EventListener, { passive: false });
  return () => {
    for (const [name, f] of pairs) canvas.removeEventListener(name, f as EventListener);
  };
}

/** Swings the ripple while it is shown and motion is wanted. */
function swing(): () => void {
  let timer = 0;
  let before = 0;
  const step = (now: number) => {
    if (ripple.peek() === null || isStill()) return;
    // Slow machines get few, large steps: the swing keeps its time.
    if (now - before > Math.max(33, 2 * (space.peek()?.times.whole ?? 0))) {
      phase.value = ((now / 1600) * 2 * Math.PI) % (2 * Math.PI);
      before = now;
    }
    timer = requestAnimationFrame(step);
  };
  const stop = effect(() => {
    cancelAnimationFrame(timer);
    if (ripple.value !== null && !isStill()) timer = requestAnimationFrame(step);
    else if (ripple.value === null) phase.value = 0;
  });
  return () => {
    stop();
    cancelAnimationFrame(timer);
  };
}

/** Drags the pole: the hand follows the pointer, up and down. */
export function dragPole(e: PointerEvent, metresPerPixel: () => number): void {
  const target = e.currentTarget as Element;
  e.preventDefault();
  target.setPointerCapture(e.pointerId);
  let y = e.clientY;
  const sign = extent.peek()?.flip === false ? -1 : 1;
  pushBy(0);
  const move = (m: Event) => {
    const to = (m as PointerEvent).clientY;
    pushBy(sign * (to - y) * metresPerPixel());
    y = to;
  };
  const up = () => {
    target.removeEventListener("pointermove", move);
    target.removeEventListener("pointerup", up);
    target.removeEventListener("pointercancel", up);
    if (inUse.peek()) release();
  };
  target.addEventListener("pointermove", move);
  target.addEventListener("pointerup", up);
  target.addEventListener("pointercancel", up);
}

export function SolidView({ children }: { children: ComponentChildren }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const c = canvas.current;
    if (c === null) return;
    let s: Space;
    try {
      s = new Space(c);
    } catch (e) {
      missing.value = e instanceof Error ? e.message : String(e);
      return;
    }
    space.value = s;
    s.after = () => place(s);
    const stops = [effect(() => s.show(picture())), follow(s), swing()];
    const sizes = new ResizeObserver(() => s.ask());
    sizes.observe(c);
    return () => {
      for (const stop of stops) stop();
      sizes.disconnect();
      space.value = null;
      s.dispose();
    };
  }, []);
  const o = overlay.value;
  if (missing.value !== null)
    return (
      <p class="see-missing" role="status">
        This browser draws nothing in 3D (no WebGL). The section shows the same shape.
      </p>
    );
  return (
    <div class="see-space">
      <canvas ref={canvas} tabIndex={0} role="img" aria-label={`3D view. ${description.value} Arrow keys turn it, plus and minus zoom, Home turns it back.`} />
      {o.lip !== null && lipWords.value !== null && (
        <span class="see-tag see-tag-lip" aria-hidden="true" style={{ left: `${o.lip.x}px`, top: `${o.lip.y}px` }}>
          lip {lipWords.value}
        </span>
      )}
      {o.pole !== null && !picking.value && (
        <span class={`see-handle${inUse.value ? " see-handle-on" : ""}`} aria-hidden="true" title="Drag the pole up and down" style={{ left: `${o.pole.x}px`, top: `${o.pole.y}px` }} onPointerDown={(e) => dragPole(e, () => (space.peek()?.metresPerPixel ?? 0) / Math.max(0.25, Math.cos(space.peek()?.turn.elevation ?? 0)))}>
          {inUse.value && at.value !== null && knot.value !== null ? (knot.value.load >= 0 ? "↓" : "↑") : "↕"}
        </span>
      )}
      {o.pole !== null && inUse.value && knot.value !== null && (
        <span class="see-tag see-tag-hand" aria-hidden="true" style={{ left: `clamp(6rem, ${o.pole.x}px, 100% - 6rem)`, top: `${o.pole.y + 32}px` }}>
          {newton(knot.value.load)} · {mm(knot.value.travel)}
          {knot.value.waves.length > 0 && <b> · n = {knot.value.waves.join(", ")}</b>}
        </span>
      )}
      {o.bar !== null && (
        <span class="see-bar" aria-hidden="true">
          <i style={{ width: `${o.bar.px}px` }} />
          {o.bar.words}
        </span>
      )}
      {children}
    </div>
  );
}
