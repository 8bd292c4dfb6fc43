// The hand at the pole as the page holds it: where on the path it is, what it feels, and what happens when it lets go.

import { computed, effect, signal } from "@preact/signals";
import type { PokeReport } from "../api";
import { hand, look } from "../state/answers";
import { files, text } from "../state/case";
import { between, placeAt, rest, ripple, shown, type Ripple } from "../state/scene";
import { isStill } from "../state/settings";
import type { Film } from "../types";
import { letGo, lostMode, pathOf, read, rests, walk, type Jump, type Path } from "./hand";

/** Whether the views show the hand's path. */
export const inUse = signal(false);
/** Place on the path, over the rows; `null` while the path is not there yet. */
export const at = signal<number | null>(null);
/** What has just happened, for the live line. */
export const says = signal("");
/** Whether a tween runs. */
export const moving = signal(false);

export const report = computed(() => (hand.answer.value?.report ?? null) as PokeReport | null);
export const path = computed<Path | null>(() => {
  const r = report.value;
  return r === null || r.path.length < 2 ? null : pathOf(r);
});
export const knot = computed(() => (path.value === null || at.value === null ? null : read(path.value, at.value)));
/** Displacement asked for before the path was there. */
let pending: ((p: Path) => void) | null = null;
let timer = 0;
let own: Ripple | null = null;
let mode: object | null = null;

/** The path is asked for when the hand first touches, and again when the case has changed. */
function ready(then: (p: Path) => void): void {
  const p = path.peek();
  const first = !inUse.peek();
  inUse.value = true;
  if (p !== null && !hand.stale.peek()) {
    if (first || at.peek() === null) begin(p);
    then(p);
    return;
  }
  pending = then;
  if (!hand.busy.peek()) hand.run({ hand: true, from: "natural" });
}

/** Puts the hand on the shape that was shown: the natural one, or the one turned inside out if it rests on the path. */
function begin(p: Path): void {
  const turned = rests(p).filter((k) => k.at > 0 && k.waves.length === 0);
  const last = turned[turned.length - 1];
  at.value = rest.peek() === "inverted" && last !== undefined ? last.at : 0;
}

function film(): Film | null {
  return hand.answer.peek()?.film ?? null;
}

function show(place: number, to?: number, share?: number): void {
  const f = film();
  if (f === null) return;
  const spot = placeAt(f, place);
  shown.value = to === undefined ? { film: "hand", place: spot } : { film: "hand", place: spot, to: placeAt(f, to), share: share ?? 0 };
}

function stopMoving(): void {
  cancelAnimationFrame(timer);
  moving.value = false;
}

/** Runs through stretches of time: `each(share)` for each, its length in ms. */
function play(parts: { ms: number; each: (t: number) => void }[], done: () => void): void {
  stopMoving();
  if (isStill()) {
    for (const p of parts) p.each(1);
    done();
    return;
  }
  moving.value = true;
  let part = 0;
  let began = performance.now();
  const step = (now: number) => {
    // A slow machine leaves stretches out, it does not take longer.
    let p = parts[part];
    while (p !== undefined && now - began >= p.ms) {
      began += p.ms;
      part++;
      if (parts[part] === undefined) p.each(1);
      p = parts[part];
    }
    if (p === undefined) {
      moving.value = false;
      done();
      return;
    }
    p.each(Math.max(0, (now - began) / Math.max(1, p.ms)));
    timer = requestAnimationFrame(step);
  };
  timer = requestAnimationFrame(step);
}

const soft = (t: number) => t * t * (3 - 2 * t);

function jumpWords(j: Jump, p: Path): string {
  const where = `${mm(read(p, j.from).travel)} of travel`;
  const straight = "The picture goes straight from one shape to the other; its motion is under the question “Let go”.";
  return j.why === "limit" ? `It jumps at ${where}: the path turns back there. ${straight}` : `It jumps at ${where}: sideways stability is lost, n = ${j.n}. ${straight}`;
}

/** Moves the hand to a displacement, m. */
export function pushTo(d: number): void {
  ready((p) => {
    stopMoving();
    const from = at.peek() ?? 0;
    const w = walk(p, from, d);
    at.value = w.at;
    const last = w.jumps[w.jumps.length - 1];
    if (last === undefined) {
      show(w.at);
      says.value = w.ended ? "The path was followed no farther." : "";
      return;
    }
    says.value = jumpWords(last, p);
    play([{ ms: 160, each: (t) => (t < 1 ? show(last.from, last.to, soft(t)) : show(w.at)) }], () => show(at.peek() ?? 0));
  });
}

/** Moves it to a share of the whole travel followed; the path may not be known yet. */
export function pushToShare(share: number): void {
  ready((p) => pushTo(share * p.most));
}

/** Moves it by so much more. */
export function pushBy(d: number): void {
  ready((p) => pushTo(read(p, at.peek() ?? 0).d + d));
}

/** The hand leaves: the part goes where it rests without a force. */
export function release(): void {
  ready((p) => {
    const l = letGo(p, at.peek() ?? 0);
    const end = l.way[l.way.length - 1] ?? 0;
    const words =
      l.to === "turned"
        ? "Let go: it stays inside out."
        : l.to === "natural"
          ? l.waves.length > 0
            ? `Let go: the inverted shape does not rest, ripples of n = ${l.waves.join(", ")} grow, and it goes back to its natural shape.`
            : "Let go: it goes back to its natural shape."
          : "Let go: it goes on beyond the path that was followed.";
    const note = "The motion shown is not the true time, and jumps go straight from one shape to the other; the question “Let go” has the motion.";
    const ms = 600 / Math.max(1, l.way.length - 1);
    play(
      l.way.slice(1).map((to, k) => {
        const from = l.way[k] ?? 0;
        const jump = l.jumps.some((j) => (j.from - from) * (j.from - to) <= 0 && (j.to - from) * (j.to - to) <= 0);
        return { ms: jump ? 160 : ms, each: (t: number) => (jump && t < 1 ? show(from, to, soft(t)) : show(from + t * (to - from))) };
      }),
      () => {
        at.value = end;
        says.value = `${words} ${note}`;
        if (l.to === "beyond") {
          // The verdict's own inverted shape is where it would rest.
          inUse.value = false;
          shown.value = null;
          rest.value = "inverted";
        } else show(end);
      },
    );
  });
}

/** The whole way: push to the end of the path, then let go. */
export function turnOver(): void {
  ready((p) => {
    at.value = 0;
    const parts: { ms: number; each: (t: number) => void }[] = [];
    const steps = 60;
    let place = 0;
    const turned = rests(p).filter((k) => k.at > 0);
    // Just far enough that the part goes on by itself, or else all the way.
    const goal = turned.length > 0 ? Math.min(p.most, Math.max(...turned.map((k) => k.d)) * 1.02) : p.most;
    for (let k = 1; k <= steps; k++) {
      const w = walk(p, place, (goal * k) / steps);
      const from = place;
      place = w.at;
      const end = place;
      const jump = w.jumps[0];
      parts.push({ ms: jump === undefined ? 1300 / steps : 160, each: (t) => (jump !== undefined && t < 1 ? show(from, end, soft(t)) : (show(from + t * (end - from)), (at.value = from + (jump === undefined ? t : 1) * (end - from)))) });
      if (w.ended) break;
    }
    says.value = "Pushed by the hand …";
    play(parts, () => {
      at.value = place;
      release();
    });
  });
}

/** A length under the pointer, read from the report. */
export function mm(m: number): string {
  return `${(m * 1e3).toFixed(Math.abs(m) < 1e-3 ? 3 : 2)} mm`;
}

/** A force read from the report. */
export function newton(f: number): string {
  const a = Math.abs(f);
  if (a < 5e-8) return "0 N";
  return a >= 1 ? `${f.toFixed(2)} N` : a >= 1e-3 ? `${(f * 1e3).toFixed(a >= 0.1 ? 0 : 1)} mN` : `${(f * 1e6).toFixed(0)} µN`;
}

/** Share of the rim radius that the largest displacement of a ripple is drawn with. */
const SHOWN_RIPPLE = 0.05;

function rippleOf(place: number): Ripple | null {
  const p = path.peek();
  const r = report.peek();
  const f = film();
  if (p === null || r === null || f === null) return null;
  const m = lostMode(r, read(p, place));
  if (m === null) return null;
  const shape = between(f, placeAt(f, place));
  const size = SHOWN_RIPPLE * (look.answer.peek()?.report.part.rim_radius_m ?? f.s_m[f.s_m.length - 1] ?? 0);
  const slope = m.s_m.map((s) => {
    const i = Math.max(0, f.s_m.findIndex((x) => x >= s));
    return shape?.slope_rad[i] ?? 0;
  });
  return {
    n: m.n,
    across: m.u.map((u, i) => size * (-u * Math.sin(slope[i] ?? 0) + (m.w[i] ?? 0) * Math.cos(slope[i] ?? 0))),
    along: m.u.map((u, i) => size * (u * Math.cos(slope[i] ?? 0) + (m.w[i] ?? 0) * Math.sin(slope[i] ?? 0))),
    around: m.v.map((v) => size * v),
    s_m: m.s_m,
    amplitude_m: size,
  };
}

/** Follows the case and the view while the page lives; call once. */
export function followHand(): void {
  // Another shape is shown: the hand has left.
  effect(() => {
    if (shown.value?.film !== "hand" && !hand.busy.value && pending === null && inUse.peek()) leave();
  });
  effect(() => {
    const p = path.value;
    if (p === null || !inUse.peek()) return;
    const then = pending;
    pending = null;
    if (then !== null) {
      begin(p);
      then(p);
    } else {
      // The case has changed under the hand: the same displacement on the new path.
      const d = shownD;
      begin(p);
      at.value = walk(p, at.peek() ?? 0, Math.min(d, p.most)).at;
      show(at.peek() ?? 0);
    }
  });
  effect(() => {
    text.value;
    files.value;
    if (inUse.peek() && hand.asked.peek() !== null && hand.stale.peek()) hand.run({ hand: true, from: "natural" });
  });
  effect(() => {
    if (hand.refused.value !== null && pending !== null) pending = null;
  });
  effect(() => {
    const k = knot.value;
    if (k !== null) shownD = k.d;
    const r = report.peek();
    const m = inUse.value && k !== null && k.waves.length > 0 && r !== null ? lostMode(r, k) : null;
    if (m === mode) return;
    mode = m;
    if (m !== null && k !== null) {
      own = rippleOf(k.at);
      ripple.value = own;
    } else if (own !== null) {
      if (ripple.peek() === own) ripple.value = null;
      own = null;
    }
  });
}
let shownD = 0;

function leave(): void {
  stopMoving();
  inUse.value = false;
  at.value = null;
  says.value = "";
}
