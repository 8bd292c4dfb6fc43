// What is said of a sweep over a map.

import type { MapReport } from "../../../api";
import { keyOf, words } from "../numbers";
import { countsOf, type Laid, type Sweep } from "./points";

const list = (names: readonly string[]) => (names.length < 2 ? (names[0] ?? "nothing") : `${names.slice(0, -1).join(", ")} and ${names[names.length - 1]}`);
const spaced = (n: number) => n.toLocaleString("en").replaceAll(",", " ");
const verb = (n: number, many: string) => `${spaced(n)} ${n === 1 ? `${many}s` : many}`;
const points = (n: number) => `${spaced(n)} ${n === 1 ? "point" : "points"}`;

/** "Sweep: 176 points: 71 stay, 105 return, 0 undecided." */
export function countWords(sweep: Sweep): string {
  const { all, stays, returns, undecided } = countsOf(sweep);
  return `Sweep: ${points(all)}: ${verb(stays, "stay")}, ${verb(returns, "return")}, ${spaced(undecided)} undecided.`;
}

/** Which of the sweep's numbers lie on the axes; the depth of a cap whose half-angle is a number of the case is that number. */
export function onAxes(sweep: Sweep, report: MapReport): [number | null, number | null] {
  const same = (a: string, b: string) => a === b || (keyOf(a) ?? a) === (keyOf(b) ?? b);
  const find = (axis: MapReport["axes"][number]) => {
    // The depth of caps is an angle, that of other parts a factor.
    const at = sweep.varied.findIndex((v) => same(v.key, axis.key) && (v.unit === "1") === (axis.unit === ""));
    return at < 0 ? null : at;
  };
  return [find(report.axes[0]), find(report.axes[1])];
}

/** Why the sweep cannot lie over this map, and what would help; `null` where it can. */
export function whyNot(sweep: Sweep, report: MapReport): string | null {
  const found = onAxes(sweep, report);
  if (found[0] !== null && found[1] !== null) return null;
  const varied = sweep.varied.map((v) => words(v.key));
  const axes = report.axes.map((a) => words(a.key));
  const has = `The sweep varies ${list(varied)}; the axes of this map are ${list(axes)}.`;
  if (varied.length < 2) return `${has} A map lies over two numbers: the plan of the sweep must vary both.`;
  return `${has} Its points have a place where ${varied.length === 2 ? "both of its numbers are" : "two of its numbers are"} on the axes.`;
}

/** What else there is to say where it lies over the map. */
export function remarks(sweep: Sweep, report: MapReport, laid: Laid): string[] {
  const out: string[] = [];
  const { all } = countsOf(sweep);
  if (all < sweep.planned) out.push(`These are ${spaced(all)} of the ${points(sweep.planned)} of its plan: the others are not computed yet, or their files were not read.`);
  if (laid.beyond > 0) out.push(`${points(laid.beyond)} ${laid.beyond === 1 ? "lies" : "lie"} beyond the ends of the axes and ${laid.beyond === 1 ? "is" : "are"} not drawn.`);
  const drawn = Object.values(laid.sides).reduce((n, side) => n + side.x.length, 0);
  if (drawn < laid.within) out.push(`Of the ${spaced(laid.within)} within the axes ${spaced(drawn)}, picked by chance, are drawn; all are counted.`);
  const on = onAxes(sweep, report);
  const besides = sweep.varied.filter((_, i) => !on.includes(i)).map((v) => words(v.key));
  if (besides.length > 0) out.push(`The points lie at different values of ${list(besides)}, which ${besides.length === 1 ? "is" : "are"} on neither axis: signs of both kinds may lie side by side.`);
  const digest = (report as { provenance?: { case_digest?: string } }).provenance?.case_digest;
  if (sweep.caseDigest === null) out.push("The files do not say which case they were made of: the page cannot tell whether it is this one.");
  else if (digest !== undefined && sweep.caseDigest !== digest) out.push("The sweep was made of another case than this map, or of another state of it. Where only numbers of the two axes differ that does not matter; the page cannot tell.");
  return out;
}
