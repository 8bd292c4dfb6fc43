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

/** Words that can be a unit: `mm`, `°`, `1/s`, `1e-6/K`; not what is left of a fraction (`3/8 in`) or a decimal comma. */
const UNIT = /^(?:1(?:e-?\d+)?\/)?[A-Za-zµμ°º%"″][^()±,]*$/;

/** `null` when the text is no single number, or one written in a way that only the server reads (a fraction, brackets). */
export function takeApart(text: string): Written | null {
  const m = WHOLE.exec(text);
  if (m === null) return null;
  const [, digits = "", first = "", tolerance = "", last = ""] = m;
  const number = Number(digits.replaceAll("_", "").replace("−", "-"));
  if (!Number.isFinite(number)) return null;
  if ([first, last].some((u) => u !== "" && !UNIT.test(u))) return null;
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

/** The half-width alone, without its sign: `0.05`, `10 %`, `50 um`; empty for none. */
export function halfWidth(w: Written): string {
  return w.tolerance.replace(/^(?:±|\+\/-|\+-)\s*/, "");
}

/** The same with another half-width, as a person types it. */
export function withHalfWidth(w: Written, half: string): string {
  const h = half.trim();
  if (h === "") return putTogether({ ...w, tolerance: "", unitFirst: false });
  const unitless = /^[\d.eE+_-]+$/.test(h);
  return putTogether({ ...w, tolerance: `± ${h}`, unitFirst: unitless ? w.unitFirst && !/[^\d.eE+_\s±-]/.test(w.tolerance) : true });
}

/** A quantity as TOML: a bare number stays bare, everything else is a text in the quotes that were there. */
export function asToml(value: string, former: string | undefined): string {
  const v = value.trim();
  const bare = former !== undefined && !/^["']/.test(former.trim());
  if (bare && /^-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][-+]?\d+)?$/.test(v)) return v;
  if (former?.startsWith("'") && !v.includes("'")) return `'${v}'`;
  return JSON.stringify(v);
}
