// A number as people write it: `2.10 ± 0.05 mm`. Taken apart so that a slider can move the number and keep tolerance and unit.

export interface Written {
  number: number;
  /** The number as written, for its digits. */
  digits: string;
  /** `± 0.05`, `± 10 %`, with its sign; empty for none. */
  tolerance: string;
  unit: string;
  /** `2.1 mm ± 0.1 mm` instead of `2.1 ± 0.1 mm`. */
  unitFirst: boolean;
}

const NUMBER = "[-+−]?(?:\\d[\\d_]*\\.?\\d*|\\.\\d+)(?:[eE][-+]?\\d+)?";
const WHOLE = new RegExp(`^\\s*(${NUMBER})\\s*([^±+]*?)\\s*((?:±|\\+/-|\\+-)\\s*${NUMBER})?\\s*([^±]*?)\\s*$`);

/** `null` when the text is no single number. */
export function takeApart(text: string): Written | null {
  const m = WHOLE.exec(text);
  if (m === null) return null;
  const [, digits = "", first = "", tolerance = "", last = ""] = m;
  const number = Number(digits.replaceAll("_", "").replace("−", "-"));
  if (!Number.isFinite(number)) return null;
  const percent = last === "%" && tolerance !== "";
  if (percent) return { number, digits, tolerance: `${tolerance} %`, unit: first, unitFirst: true };
  return { number, digits, tolerance: first !== "" && tolerance !== "" ? `${tolerance} ${last}` : tolerance, unit: first || last, unitFirst: first !== "" };
}

/** The parts as text again. */
export function putTogether(w: Written): string {
  const parts = w.unitFirst || w.tolerance === "" ? [w.digits, w.unit, w.tolerance] : [w.digits, w.tolerance, w.unit];
  return parts.filter((p) => p.trim() !== "").join(" ");
}

/** The same with another number, written to the digits that a slider's step is worth. */
export function withNumber(w: Written, number: number, step: number): string {
  const places = Math.max(0, Math.min(9, Math.ceil(-Math.log10(Math.abs(step) || 1) - 1e-9)));
  return putTogether({ ...w, number, digits: number.toFixed(places) });
}
