// The wall is thinned step by step: what the inverted shape still costs, and the hill on the way to it, over thickness.

import { signal } from "@preact/signals";
import { useMemo } from "preact/hooks";
import type { VerdictReport } from "../api";
import { Plot, four, mostOf, onAxis, unitFor, withUnit, type Axis, type Layer } from "../plot/plot";
import { look } from "../state/answers";
import { ask } from "../state/ask";
import { doc, files, setRaw, text, valueOf } from "../state/case";
import { put, quoted } from "../text/toml";
import { takeApart, withNumber } from "../text/quantity";
import { presenter } from "../state/settings";

export interface ThinRow {
  /** As it stands in the case. */
  written: string;
  thickness_m: number;
  verdict: string;
  /** Elastic energy of the inverted shape. */
  energy_J: number;
  stretching_J: number;
  bending_J: number;
  /** Energy at the top of the way there. */
  hill_J: number | null;
}

export const rows = signal<ThinRow[]>([]);
const at = signal<number | null>(null);
const working = signal(false);
const refused = signal("");
let stopper: AbortController | null = null;

const STEPS = 9;

/** Asks a verdict for each of the thinner walls; what was computed before for the same case is kept. */
export async function thin(): Promise<void> {
  stopper?.abort();
  const mine = new AbortController();
  stopper = mine;
  const base = { text: text.peek(), files: files.peek() };
  const first = takeApart(valueOf("wall.thickness") ?? "");
  if (first === null) {
    refused.value = "This case gives no single thickness.";
    return;
  }
  rows.value = [];
  at.value = null;
  refused.value = "";
  working.value = true;
  for (let i = 0; i < STEPS && !mine.signal.aborted; i++) {
    const number = Number((first.number * 2 ** (-i / 2)).toPrecision(2));
    const written = i === 0 ? (valueOf("wall.thickness") ?? "") : withNumber({ ...first, tolerance: "" }, number, 10 ** (Math.floor(Math.log10(number)) - 1));
    const out = await ask<VerdictReport>("verdict", { text: put(base.text, "wall.thickness", quoted(written)), files: base.files, options: { depth: false } }, { film: false }, undefined, undefined, mine.signal);
    if (mine.signal.aborted) break;
    const state = out.answer?.report.inverted;
    if (out.answer === null || !state) {
      refused.value = out.refused?.says ?? "One of the walls has no inverted shape.";
      break;
    }
    rows.value = [
      ...rows.peek(),
      {
        written,
        thickness_m: out.answer.report.part.thickness_m,
        verdict: out.answer.report.verdict,
        energy_J: state.stretching_energy_J + state.bending_energy_J + state.rim_energy_J,
        stretching_J: state.stretching_energy_J,
        bending_J: state.bending_energy_J,
        hill_J: state.saddle_energy_J,
      },
    ];
  }
  if (stopper === mine) working.value = false;
}

export function stopThin(): void {
  stopper?.abort();
  working.value = false;
}

/** Exponent between two points: what power of the thickness carries one into the other. */
export const exponent = (h1: number, e1: number, h2: number, e2: number): number => Math.log(e2 / e1) / Math.log(h2 / h1);

/** What an exponent looks like; nothing is claimed that it does not carry. */
export function likeness(p: number): string {
  if (Math.abs(p - 3) < 0.12) return "close to 3, what bending alone would give";
  if (Math.abs(p - 2.5) < 0.12) return "close to 5/2, what a narrow lip or crease gives, which bends and stretches at once";
  if (p > 2.5 && p < 3) return "between 5/2 (a narrow crease that bends and stretches) and 3 (bending alone)";
  return "neither that of bending alone (3) nor that of a narrow crease (5/2)";
}

export function Thin() {
  const all = rows.value;
  const last = all[all.length - 1];
  const before = all[all.length - 2];
  const x: Axis = { label: "thickness", ...unitFor("length", 1.5e-3), scale: "log" };
  const y: Axis = { label: "energy", ...unitFor("energy", mostOf(all.map((r) => r.hill_J ?? r.energy_J))), scale: "log" };
  const layers = useMemo<Layer[]>(() => {
    const h = all.map((r) => r.thickness_m);
    const first = all[0];
    const out: Layer[] = [
      { kind: "curve", name: "turned inside out", x: h, y: all.map((r) => r.energy_J), colour: "accent", dots: true },
      { kind: "curve", name: "top of the hill on the way", x: h, y: all.map((r) => r.hill_J), colour: "second", dash: "long", dots: true },
    ];
    // A ruler for the eye: h³ through the thickest wall.
    if (first !== undefined && all.length > 1) out.push({ kind: "curve", name: "h³, to compare", x: [h[0] ?? 0, h[h.length - 1] ?? 0], y: [first.energy_J, first.energy_J * ((h[h.length - 1] ?? 0) / (h[0] ?? 1)) ** 3], colour: "ink-soft", dash: "dot", aside: true });
    return out;
  }, [all]);
  // Until a person moves it, the marker stands at the wall of the case, as the picture does.
  const place = Math.min(at.value ?? 0, all.length - 1);
  const here = all[Math.round(place)];
  const go = (p: number) => {
    at.value = p;
    const row = all[Math.round(p)];
    if (row !== undefined && doc.peek().entries.some((e) => e.path === "wall.thickness")) setRaw("wall.thickness", quoted(row.written), "tour");
  };
  if (last === undefined || all.length < 2) return <p role="status">{refused.value || `Computing: ${all.length} of ${STEPS} walls…`}</p>;
  const p = before === undefined ? NaN : exponent(before.thickness_m, before.energy_J, last.thickness_m, last.energy_J);
  const q = before?.hill_J && last.hill_J ? exponent(before.thickness_m, before.hill_J, last.thickness_m, last.hill_J) : null;
  const [one, two] = [all[0], all[1]];
  const p0 = one && two ? exponent(one.thickness_m, one.energy_J, two.thickness_m, two.energy_J) : NaN;
  const q0 = one?.hill_J && two?.hill_J ? exponent(one.thickness_m, one.hill_J, two.thickness_m, two.hill_J) : null;
  return (
    <>
      <Plot
        title="Energy over thickness"
        says="Both energies fall steeply as the wall gets thinner."
        x={x}
        y={y}
        layers={layers}
        markers={[{ kind: "along", name: "Thickness of the wall", says: here ? `${onAxis(x, here.thickness_m)}, ${onAxis(y, here.energy_J)}` : "", x: all.map((r) => r.thickness_m), y: all.map((r) => r.energy_J), place, onPlace: (v) => go(Math.round(v)) }]}
        height={presenter.value ? 360 : 250}
        hint={here ? `Wall ${onAxis(x, here.thickness_m)}: ${withUnit("energy", here.energy_J, 3)} inside out (${here.verdict}).` : " "}
      />
      <p class="tour-says" aria-live="polite">
        {working.value ? (
          `Computing: ${all.length} of ${STEPS} walls…`
        ) : (
          <>
            From {onAxis(x, all[0]?.thickness_m)} to {onAxis(x, last.thickness_m)} the energy falls from {withUnit("energy", all[0]?.energy_J, 3)} to {withUnit("energy", last.energy_J, 3)}. Between the two thinnest walls it goes as the thickness to the power{" "}
            <strong data-testid="tour-exponent">{four(p, 3)}</strong> (the two thickest: {four(p0, 3)}): {likeness(p)}.{" "}
            {q !== null && (
              <>
                The hill on the way there goes with the power <strong data-testid="tour-hill-exponent">{four(q, 3)}</strong>
                {q0 !== null && <> (the two thickest: {four(q0, 3)})</>}: {likeness(q)}.
              </>
            )}
          </>
        )}
      </p>
      {refused.value !== "" && <p role="alert">{refused.value}</p>}
      <p class="soft">The stiffness of the material is the same for all walls ({look.answer.value?.report.inputs.find((i) => i.key === "material.youngs_modulus") ? "that of the case" : "that of the material named in the case"}), so the energies compare directly.</p>
    </>
  );
}
