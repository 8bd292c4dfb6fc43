// A solution into the case: the numbers that may change as the solution's own case file has them written, the rest of the text as it is.

import { edit, text } from "../../state/case";
import { put, scan } from "../../text/toml";
import type { SizeReport, SizeSolution } from "../reports";

/** Paths in the text that a solution changes; an entry of a list goes with its list. */
function paths(report: SizeReport): string[] {
  const varied = report.vary.map((v) => v.key.replace(/\[.*$/, ""));
  return [...new Set([...varied, ...(report.wishes.some((w) => w.hold_s !== null) ? ["hold.time"] : [])])];
}

/** The text with the solution's numbers in it; `null` where the solution has no case file. */
export function taken(now: string, report: SizeReport, solution: SizeSolution): string | null {
  if (solution.case_toml === null) return null;
  const written = scan(solution.case_toml).entries;
  return paths(report).reduce((t, path) => {
    const raw = written.find((e) => e.path === path)?.raw;
    return raw === undefined ? t : put(t, path, raw);
  }, now);
}

/** Puts the solution into the case in hand; one step of undo. */
export function take(report: SizeReport, solution: SizeSolution, name: string): void {
  const next = taken(text.peek(), report, solution);
  if (next !== null) edit(next, `taking of ${name}`);
}
