// What is seen, in words: numbers of the sheet where it has them, else numbers read from the shape shown, and said so.

import { computed } from "@preact/signals";
import type { VerdictReport } from "../api";
import { look, states, verdict } from "../state/answers";
import { film, frame, inverted, natural, shown } from "../state/scene";
import type { Answer } from "../types";
import { lengthWords } from "./extent";

/** A row of the verdict's sheet. */
export function row(name: string): string | null {
  const block = verdict.answer.value?.sheet.blocks.find((b) => b.kind === "row" && b.name === name);
  return block?.kind === "row" ? block.value : null;
}

/** The name of the shape shown. */
export const shapeName = computed(() => {
  const f = frame.value;
  const s = shown.value;
  if (f === null) return "no shape yet";
  if (s === null) return f === inverted.value ? "inverted shape" : "natural shape";
  const over = film.value?.over;
  if (s.to !== undefined) return "a jump, drawn straight from one shape to the other";
  if (s.film === "hand") return "pushed by hand";
  if (over === "time") return `${Number((f.at * 1e3).toPrecision(4))} ms after letting go`;
  if (over === "temperature") return `at ${(f.at - 273.15).toFixed(1)} °C${f.branch === null ? "" : `, ${f.branch} branch`}`;
  if (over === "path") return "under its load";
  return f.name === "" ? "between two shapes" : `${f.name} shape`;
});

/** Lip in words: the sheet's row for the inverted shape. */
export const lipWords = computed(() => {
  const f = frame.value;
  if (f === null || f.lip_m === null) return null;
  const said = f === inverted.value ? row("lip width") : null;
  return said?.split(" = ")[0] ?? lengthWords(f.lip_m);
});

/** Arclengths where the meridian's curvature changes sign; known for the inverted shape of the verdict. */
export const turns = computed<number[]>(() => {
  if (frame.value !== inverted.value || frame.value === null) return [];
  const report = (verdict.answer.value as Answer<VerdictReport> | null)?.report;
  return report?.inverted?.curvature_sign_changes_m ?? [];
});

/** The text that stands for the pictures. */
export const description = computed(() => {
  const f = frame.value;
  const part = look.answer.value?.report.part;
  if (f === null) return "No shape to show yet.";
  const out: string[] = [];
  const name = shapeName.value;
  out.push(`${name.slice(0, 1).toUpperCase()}${name.slice(1)}${part === undefined ? "" : ` of a part: ${part.shape}`}.`);
  if (f === inverted.value && row("pole over rim plane") !== null) {
    out.push(`Pole over rim plane ${row("pole over rim plane")}.`, `Rim radius ${row("rim radius")}.`);
    if (row("lip width") !== null) out.push(`Lip width ${row("lip width")}.`);
    if (row("curvature changes sign at") !== null) out.push(`The curvature changes sign at ${row("curvature changes sign at")}.`);
  } else {
    const last = f.z_m.length - 1;
    const pole = (f.z_m[last] ?? 0) - (f.z_m[0] ?? 0);
    const inside = natural.value !== null && Math.sign(pole) !== Math.sign((natural.value.z_m[last] ?? 0) - (natural.value.z_m[0] ?? 0));
    out.push(`Read from the shape: pole ${lengthWords(Math.abs(pole))} from the rim plane${pole === 0 ? "" : inside ? ", turned over" : ", on the side it was made"}; rim radius ${lengthWords(f.r_m[last] ?? 0)}.`);
  }
  return out.join(" ");
});

/** Listed states by name, for the menu. */
export const stateNames = computed(() => states.answer.value?.film?.frames.map((f) => f.name) ?? []);
