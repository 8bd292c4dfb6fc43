// A sweep's chunks as points that stay, return or are undecided: pure, so that it can be told by its numbers alone.

/** A chunk as its file has it: what it says of itself and its columns. */
export interface Chunk {
  /** Name of the file. */
  file: string;
  /** The entries of its metadata, `provenance.plan_digest` among them. */
  said: ReadonlyMap<string, string>;
  rows: number;
  columns: ReadonlyMap<string, readonly Cell[]>;
}

/** Whole numbers come as `bigint`: the file has 64 bits. */
export type Cell = number | bigint | boolean | string | null;

/** A number that varies. */
export interface Varied {
  /** Its key in the case, or `depth`. */
  key: string;
  /** SI unit; "1" for a pure number. */
  unit: string;
}

export const SIDES = ["stays", "returns", "undecided"] as const;
export type Side = (typeof SIDES)[number];

/** The points of one chunk, as little as a map needs: there may be a million. */
export interface Points {
  varied: Varied[];
  /** One list per number that varies, SI. */
  values: Float64Array[];
  /** Places in `SIDES`. */
  sides: Uint8Array;
}

export interface Sweep {
  plan: string;
  /** The case that it was made of; none where the chunks do not say. */
  caseDigest: string | null;
  /** How many points the plan has. */
  planned: number;
  varied: Varied[];
  chunks: Points[];
}

/** The unit as it stands at the end of a column's name. */
function ending(unit: string): string {
  if (unit === "1" || unit === "") return "";
  const si = unit.replaceAll("N/m/m", "N/m^2");
  const plain = si.startsWith("1/") ? `per_${si.slice(2)}` : si.replaceAll("/", "_per_");
  return `_${plain.replaceAll("^", "")}`;
}

/** Keys of a case have a dot and columns of answers have none; `depth` is the one key without. */
function variedOf(chunk: Chunk): { column: string; varied: Varied }[] {
  return [...chunk.columns.keys()].flatMap((column) => {
    if (!column.includes(".") && !/^depth(_|$)/.test(column)) return [];
    const unit = chunk.said.get(`column.${column}.unit`) ?? "";
    const end = ending(unit);
    if (!column.endsWith(end)) throw new Error(`its column ${column} does not end in its unit, ${unit}`);
    return [{ column, varied: { key: column.slice(0, column.length - end.length), unit: unit === "" ? "1" : unit } }];
  });
}

type At = (row: number) => Side;

/** What says on which side a row lies: the verdict where it was asked, else the certified threshold. */
function sideOf(columns: Chunk["columns"]): At | null {
  const verdict = columns.get("verdict") ?? columns.get("verdict_verdict");
  // A part that waits comes back in the end: it does not stay.
  if (verdict !== undefined) return (i) => (verdict[i] === "stays" ? "stays" : verdict[i] === "returns" || verdict[i] === "waits" ? "returns" : "undecided");
  const several = columns.has("threshold_certified");
  const certified = columns.get(several ? "threshold_certified" : "certified");
  const ratio = columns.get(several ? "threshold_thickness_ratio" : "thickness_ratio");
  if (certified === undefined || ratio === undefined) return null;
  return (i) => {
    const r = ratio[i];
    if (certified[i] !== true || typeof r !== "number" || !Number.isFinite(r)) return "undecided";
    return r < 1 ? "stays" : "returns";
  };
}

/** What a map needs of a chunk; throws words on what is missing in it. */
export function pointsOf(chunk: Chunk): Points {
  const side = sideOf(chunk.columns);
  if (side === null) throw new Error('its sweep asked neither "threshold" nor "verdict", so it does not tell which parts stay; a plan for a map has one of the two among its questions');
  const found = variedOf(chunk);
  return {
    varied: found.map((f) => f.varied),
    values: found.map((f) => Float64Array.from({ length: chunk.rows }, (_, i) => Number(chunk.columns.get(f.column)?.[i] ?? NaN))),
    sides: Uint8Array.from({ length: chunk.rows }, (_, i) => SIDES.indexOf(side(i))),
  };
}

export type Counts = Record<Side, number>;

export function countsOf(sweep: Sweep): Counts & { all: number } {
  const out = { stays: 0, returns: 0, undecided: 0, all: 0 };
  for (const c of sweep.chunks)
    for (const s of c.sides) {
      out[SIDES[s] ?? "undecided"]++;
      out.all++;
    }
  return out;
}

/** Lowest and highest value of one of the numbers that vary. */
export function rangeOf(sweep: Sweep, which: number): [number, number] {
  let [low, high] = [Infinity, -Infinity];
  for (const c of sweep.chunks)
    for (const v of c.values[which] ?? []) {
      if (v < low) low = v;
      if (v > high) high = v;
    }
  return [low, high];
}

/** As many marks as a drawing still shows and moves with ease. */
export const MOST_DRAWN = 4000;

export interface Laid {
  sides: Record<Side, { x: number[]; y: number[] }>;
  /** Points beyond the ends of the axes. */
  beyond: number;
  /** Points within, of which those in `sides` are drawn. */
  within: number;
}

/** The points over two of the numbers that vary, by their places in `varied`; `ends`: those of the axes, SI. */
export function lay(sweep: Sweep, [a, b]: readonly [number, number], ends: readonly [readonly [number, number], readonly [number, number]], most = MOST_DRAWN): Laid {
  // What was written as an end of an axis may differ from it by a rounding.
  const within = (v: number, [low, high]: readonly [number, number]) => v >= low - 1e-9 * (high - low) && v <= high + 1e-9 * (high - low);
  const each = (take: (x: number, y: number, side: Side) => void) => {
    for (const c of sweep.chunks) c.sides.forEach((s, i) => take(c.values[a]?.[i] ?? NaN, c.values[b]?.[i] ?? NaN, SIDES[s] ?? "undecided"));
  };
  let [inside, beyond] = [0, 0];
  each((x, y) => (within(x, ends[0]) && within(y, ends[1]) ? inside++ : beyond++));
  const takes = some(inside, most);
  const sides: Laid["sides"] = { stays: { x: [], y: [] }, returns: { x: [], y: [] }, undecided: { x: [], y: [] } };
  each((x, y, side) => {
    if (!within(x, ends[0]) || !within(y, ends[1]) || !takes()) return;
    sides[side].x.push(x);
    sides[side].y.push(y);
  });
  return { sides, beyond, within: inside };
}

/** Bits mixed so that neighbouring numbers share nothing (the finaliser of MurmurHash3, 32 bits). */
function mixed(k: number): number {
  let z = k ^ 0x9e3779b9;
  z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
  z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
  return (z ^ (z >>> 16)) >>> 0;
}

/**
 * Says of one thing after another, `count` in all, whether it is taken, so that `most` are, every choice as likely (selection sampling:
 * Knuth, The Art of Computer Programming 2, section 3.4.2, algorithm S), and the same ones each time. Every so many-th would not do: points
 * of a grid or of a low-discrepancy sequence that are that far apart in number stand in one corner or on a few lines.
 */
export function some(count: number, most: number): () => boolean {
  let [k, wanted] = [0, Math.min(count, most)];
  return () => {
    // Exact: below 2^53 for the two million points that a page reads.
    const takes = (count - k) * mixed(k) < wanted * 2 ** 32;
    k++;
    if (takes) wanted--;
    return takes;
  };
}
