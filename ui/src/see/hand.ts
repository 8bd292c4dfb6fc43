// Walking on the path of a part pushed by hand: the displacement is set, the part follows its equilibria, jumps where the path turns
// back, and takes another branch on the way home. Pure functions over the rows of the report; nothing is computed here but where on
// the path the hand is. A place is a number over the rows: 3.25 lies a quarter of the way from row 3 to row 4.

import type { PokeReport } from "../api";

/** One equilibrium as the walk needs it. */
export interface Knot {
  /** Place over the rows of the report. */
  at: number;
  d: number;
  load: number;
  travel: number;
  /** Unstable axisymmetric directions with the displacement set, and with the load set. */
  held: number;
  free: number;
  /** Wave numbers that have lost their stability. */
  waves: number[];
}

export interface Path {
  knots: Knot[];
  /** The path ends where the following stopped: there is no farther. */
  most: number;
  least: number;
}

export interface Jump {
  from: number;
  to: number;
  /** `limit`: the path turns back there; `sideways`: a ripple of n waves grows. */
  why: "limit" | "sideways";
  n: number | null;
}

export interface Walk {
  at: number;
  jumps: Jump[];
  /** The displacement asked for lies beyond all that was followed. */
  ended: boolean;
}

/** The path of a report: its rows, with the turning points between them. */
export function pathOf(report: Pick<PokeReport, "path" | "events">): Path {
  const knots: Knot[] = report.path.map((r, i) => ({
    at: i,
    d: r.displacement_SI,
    load: r.load_SI,
    travel: r.travel_m,
    held: r.unstable_displacement,
    free: r.unstable_load,
    waves: r.unstable_n,
  }));
  const turns = report.events
    .filter((e) => e.kind === "displacement-limit" || e.kind === "displacement-return")
    .map((e) => ({ after: e.after_row, d: e.displacement_SI, load: e.load_SI, travel: e.travel_m }));
  for (const t of turns) {
    const before = report.path[t.after];
    const behind = report.path[t.after + 1];
    if (before === undefined || behind === undefined) continue;
    const far = Math.abs(t.d - before.displacement_SI) + Math.abs(t.d - behind.displacement_SI);
    const share = far > 0 ? Math.abs(t.d - before.displacement_SI) / far : 0.5;
    knots.push({
      at: t.after + Math.max(0.02, Math.min(0.98, share)),
      d: t.d,
      load: t.load,
      travel: t.travel,
      held: Math.min(before.unstable_displacement, behind.unstable_displacement),
      free: Math.max(before.unstable_load, behind.unstable_load),
      waves: before.unstable_n,
    });
  }
  knots.sort((a, b) => a.at - b.at);
  return { knots, most: Math.max(...knots.map((k) => k.d)), least: Math.min(...knots.map((k) => k.d)) };
}

/** Index of the piece that holds the place: between knot i and i + 1. */
function pieceOf(path: Path, at: number): number {
  let i = 0;
  while (i < path.knots.length - 2 && (path.knots[i + 1]?.at ?? Infinity) <= at) i++;
  return i;
}

/** What the rows say at a place, linearly between them. Whole numbers are those of the nearer row. */
export function read(path: Path, at: number): Knot {
  const i = pieceOf(path, at);
  const a = path.knots[i];
  const b = path.knots[i + 1] ?? a;
  if (a === undefined || b === undefined) throw new Error("a path without rows");
  const t = b.at > a.at ? Math.max(0, Math.min(1, (at - a.at) / (b.at - a.at))) : 0;
  const mix = (x: number, y: number) => x + t * (y - x);
  const near = t < 0.5 ? a : b;
  return { at, d: mix(a.d, b.d), load: mix(a.load, b.load), travel: mix(a.travel, b.travel), held: near.held, free: near.free, waves: near.waves };
}

/** Whether a hand that sets the displacement can hold the piece, waves apart: along it the displacement grows with the rows. */
function holds(path: Path, i: number): boolean {
  const a = path.knots[i];
  const b = path.knots[i + 1];
  return a !== undefined && b !== undefined && b.d > a.d && Math.min(a.held, b.held) === 0;
}

const quiet = (path: Path, i: number) => path.knots[i]?.waves.length === 0 || path.knots[i + 1]?.waves.length === 0;

/** The nearest piece that holds `d`, looking from piece `i` along `step` first; waves-free ones only when `still`. */
function landing(path: Path, i: number, step: 1 | -1, d: number, still: boolean): number | null {
  for (const way of [step, -step]) {
    for (let j = i + way; j >= 0 && j < path.knots.length - 1; j += way) {
      const a = path.knots[j];
      const b = path.knots[j + 1];
      if (a === undefined || b === undefined || !holds(path, j) || (still && !quiet(path, j))) continue;
      if (d < a.d || d > b.d) continue;
      // The same stretch of path is no jump: some piece between must not hold.
      const [low, high] = j > i ? [i, j] : [j, i];
      let apart = false;
      for (let k = low; k <= high; k++) apart ||= !holds(path, k);
      if (apart) return a.at + (b.d > a.d ? (d - a.d) / (b.d - a.d) : 0) * (b.at - a.at);
    }
  }
  return null;
}

/**
 * Moves the hand from the place `at` to the displacement `d`. Where the path turns back the part jumps to the next stretch that a
 * hand can hold at the same displacement; where waves grow it jumps when there is such a stretch free of waves, else the walk goes
 * on along the axisymmetric path (and `read` tells the waves).
 */
export function walk(path: Path, at: number, d: number): Walk {
  const jumps: Jump[] = [];
  let place = at;
  for (let guard = 0; guard < 4 * path.knots.length + 8; guard++) {
    const now = read(path, place);
    if (Math.abs(now.d - d) <= 1e-12 * Math.max(Math.abs(path.most), 1e-12)) break;
    const step: 1 | -1 = d > now.d ? 1 : -1;
    let i = pieceOf(path, place);
    // On a knot, the piece ahead counts.
    if (step < 0 && i > 0 && place <= (path.knots[i]?.at ?? 0)) i--;
    const a = path.knots[i];
    const b = path.knots[i + 1];
    if (a === undefined || b === undefined) break;
    const atEnd = step > 0 ? place >= b.at : place <= a.at && i === 0;
    if (!holds(path, i) || atEnd) {
      const to = landing(path, i, step, now.d, false) ?? landing(path, i, step, d, false);
      if (to === null) return { at: place, jumps, ended: true };
      jumps.push({ from: place, to, why: "limit", n: null });
      place = to;
      continue;
    }
    const ahead = step > 0 ? b : a;
    const behind = step > 0 ? a : b;
    const n = ahead.waves.find((w) => !behind.waves.includes(w));
    const reaches = step > 0 ? d <= ahead.d : d >= ahead.d;
    if (n !== undefined && behind.waves.length === 0 && (!reaches || Math.abs(d - ahead.d) < Math.abs(d - behind.d))) {
      const to = landing(path, i, step, ahead.d, true);
      if (to !== null) {
        jumps.push({ from: ahead.at, to, why: "sideways", n });
        place = to;
        continue;
      }
    }
    if (reaches) {
      place = a.at + ((d - a.d) / (b.d - a.d)) * (b.at - a.at);
      break;
    }
    place = ahead.at;
    // At the knot the next piece must go on, else it is a turning point and the next round jumps.
    if ((step > 0 && i + 1 >= path.knots.length - 1) || (step < 0 && i === 0)) return { at: place, jumps, ended: true };
    const next = step > 0 ? i + 1 : i - 1;
    if (!holds(path, next)) {
      const to = landing(path, i, step, ahead.d, false) ?? landing(path, i, step, d, false);
      if (to === null) return { at: place, jumps, ended: true };
      jumps.push({ from: place, to, why: "limit", n: null });
      place = to;
    }
  }
  return { at: place, jumps, ended: false };
}

/** Places where the part rests without a force: the start, and where the load rises through zero. Stable or not sideways is in `waves`. */
export function rests(path: Path): Knot[] {
  const out: Knot[] = [];
  const first = path.knots[0];
  if (first !== undefined && first.free === 0) out.push(first);
  for (let i = 0; i + 1 < path.knots.length; i++) {
    const a = path.knots[i];
    const b = path.knots[i + 1];
    if (a === undefined || b === undefined || !(a.load < 0 && b.load >= 0) || !holds(path, i)) continue;
    const t = a.load / (a.load - b.load);
    out.push({ ...read(path, a.at + t * (b.at - a.at)), load: 0 });
  }
  return out;
}

export interface LetGo {
  /** Places on the way, in order; between neighbours that are a jump apart the part snaps. */
  way: number[];
  jumps: Jump[];
  /** `natural`, `turned` (inside out, at rest), `beyond` (the path ends before it rests). */
  to: "natural" | "turned" | "beyond";
  /** Waves that keep a rest on the path from being one. */
  waves: number[];
}

/**
 * Lets go at the place `at`: without a force the part goes the way that the force held it back from (downhill in energy) to the
 * next state that rests without a load. A rest that waves have lost is left again, home to the natural shape.
 */
export function letGo(path: Path, at: number, steps = 48): LetGo {
  const way = [at];
  const jumps: Jump[] = [];
  let waves: number[] = [];
  let place = at;
  const found = rests(path);
  for (let round = 0; round < 8; round++) {
    const now = read(path, place);
    const big = Math.max(...path.knots.map((k) => Math.abs(k.load)));
    const home = found.find((r) => Math.abs(r.at - place) < 1e-6 || (Math.abs(now.load) <= 1e-9 * big && Math.abs(r.at - place) < 1e-3));
    if (home !== undefined) {
      if (home.at === 0) return { way, jumps, to: "natural", waves };
      if (home.waves.length === 0) return { way, jumps, to: "turned", waves };
      waves = home.waves;
      jumps.push({ from: place, to: 0, why: "sideways", n: home.waves[0] ?? null });
      way.push(0);
      return { way, jumps, to: "natural", waves };
    }
    // Pushed: it presses back and goes down; pulled: it goes on.
    const step = now.load > 0 ? -1 : 1;
    let stopped = false;
    const to = step < 0 ? path.least : path.most;
    const from = now.d;
    for (let k = 1; k <= steps && !stopped; k++) {
      const d = from + ((to - from) * k) / steps;
      const next = walk(path, place, d);
      const jumped = next.jumps.length > 0;
      const rest = jumped ? undefined : found.find((r) => (step > 0 ? r.at > place && r.at <= next.at : r.at < place && r.at >= next.at));
      if (rest !== undefined) {
        place = rest.at;
        way.push(place);
        stopped = true;
        break;
      }
      jumps.push(...next.jumps);
      place = jumped ? (next.jumps[next.jumps.length - 1]?.to ?? next.at) : next.at;
      way.push(place);
      if (next.ended && !jumped) return { way, jumps, to: step < 0 ? "natural" : "beyond", waves };
      // A jump may land where the load has the other sign: look again which way it goes.
      if (jumped && Math.sign(read(path, place).load) !== -step) stopped = true;
      else if (jumped) break;
    }
  }
  return { way, jumps, to: read(path, place).load < 0 ? "beyond" : "natural", waves };
}

/** The mode of the loss nearest to the place among those lost there. */
export function lostMode(report: Pick<PokeReport, "events">, knot: Knot) {
  let best: PokeReport["events"][number] | null = null;
  for (const e of report.events) {
    if (e.kind !== "sideways" || e.mode === null || !knot.waves.includes(e.mode.n)) continue;
    if (best === null || Math.abs(e.after_row - knot.at) < Math.abs(best.after_row - knot.at)) best = e;
  }
  return best?.mode ?? null;
}
