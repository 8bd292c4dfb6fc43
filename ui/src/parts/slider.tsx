// A slider round the value that the case has. Its range stays put while it is moved and is laid round the value anew when it is let go.

import { useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import { fromSi } from "../text/units";
import type { KeyForm } from "../types";

export interface Range {
  lo: number;
  hi: number;
  log: boolean;
}

const TICKS = 1000;
/** Sizes that are thought of by ratio: half of it, twice as much. */
const BY_RATIO = /^(length|pressure|density|force|stiffness|rimstiffness|turningstiffness|acceleration|time|rate|molarenergy|expansion)$/;

/** The range to offer round a value; null where there is none (zero). */
export function rangeRound(value: number, unit: string, form: KeyForm): Range | null {
  if (value === 0 || !Number.isFinite(value)) return null;
  const dimension = (form.dimension ?? "").replaceAll("-", "").toLowerCase();
  const log = value > 0 && BY_RATIO.test(dimension);
  const reach = dimension === "temperature" ? 20 : Math.abs(value) / 3;
  let [lo, hi] = log ? [value / 2, value * 2] : [value - reach, value + reach];
  const [low, high] = form.usual.map((si) => (si === null ? null : fromSi(si, unit, form.dimension)));
  if (low !== null && low !== undefined && low <= value) lo = Math.max(lo, low);
  if (high !== null && high !== undefined && high >= value) hi = Math.min(hi, high);
  return hi > lo ? { lo, hi, log } : null;
}

/** What one step of a slider or an arrow key is worth: three to four digits of the value. */
export function stepAt(value: number): number {
  const size = Math.abs(value);
  if (size === 0 || !Number.isFinite(size)) return 0.01;
  const ten = 10 ** Math.floor(Math.log10(size) + 1e-9);
  return (ten / 100) * (size / ten < 2 ? 0.5 : 1);
}

function rounded(value: number): number {
  const step = stepAt(value);
  return Math.round(value / step) * step;
}

interface SliderProps {
  id: string;
  label: string;
  value: number;
  unit: string;
  form: KeyForm;
  onMove: (value: number, step: number) => void;
}

export function Slider({ id, label, value, unit, form, onMove }: SliderProps) {
  const range = useSignal<Range | null>(null);
  const moving = useRef(false);
  const unitOf = useRef(unit);
  let now = range.value;
  if (now === null || unitOf.current !== unit || (!moving.current && (value <= now.lo || value >= now.hi))) {
    now = rangeRound(value, unit, form);
    range.value = now;
    unitOf.current = unit;
  }
  if (now === null) return null;
  const { lo, hi, log } = now;
  const place = log ? Math.log(value / lo) / Math.log(hi / lo) : (value - lo) / (hi - lo);
  const at = (tick: number) => (log ? lo * (hi / lo) ** (tick / TICKS) : lo + ((hi - lo) * tick) / TICKS);
  const move = (to: number) => {
    const next = Math.min(hi, Math.max(lo, to));
    onMove(next, stepAt(next));
  };
  const release = () => {
    if (!moving.current) return;
    moving.current = false;
    range.value = null;
  };
  return (
    <input
      type="range"
      id={id}
      aria-label={`${label}, slider`}
      aria-valuetext={`${Number(value.toPrecision(6))} ${unit}`.trim()}
      min={0}
      max={TICKS}
      step={1}
      value={Math.round(Math.max(0, Math.min(1, place)) * TICKS)}
      onPointerDown={() => {
        moving.current = true;
      }}
      onInput={(e) => move(rounded(at(Number(e.currentTarget.value))))}
      onChange={release}
      onPointerUp={release}
      onPointerCancel={release}
      onBlur={() => {
        release();
        range.value = null;
      }}
      onKeyDown={(e) => {
        const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[e.key];
        if (by === undefined || e.altKey || e.ctrlKey || e.metaKey) return;
        // Its own steps: a tick of the range may be less than a digit of the number.
        e.preventDefault();
        const step = stepAt(value);
        const next = Math.round(value / step + by) * step;
        if (next <= lo || next >= hi) range.value = rangeRound(next, unit, form) ?? now;
        const r = range.peek() ?? now;
        onMove(Math.min(r.hi, Math.max(r.lo, next)), step);
      }}
    />
  );
}
