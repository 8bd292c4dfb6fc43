// Solutions as a table, in the sheet's own words, each with a button that takes it into the case.

import { sectionsOf } from "../../answer/sheet";
import { kept } from "../../keep/kept";
import { text } from "../../state/case";
import type { Sheet } from "../../types";
import type { SizeReport } from "../reports";
import { take, taken } from "./take";

/** What the sheet says of each solution: its head, and the rows of its numbers and wishes in their order. */
export function said(sheet: Sheet): { head: string; rows: { name: string; value: string }[] }[] {
  return sectionsOf(sheet)
    .filter((s) => /^Solution\b/.test(s.head))
    .map((s) => ({ head: s.head, rows: s.blocks.flatMap((b) => (b.kind === "row" && b.name !== "" ? [b] : [])) }));
}

function Cell({ words }: { words: string }) {
  const [first = "", ...rest] = words.split("; ");
  return (
    <td>
      {first}
      {rest.map((r) => (
        <span class="size-more" key={r}>
          {r}
        </span>
      ))}
    </td>
  );
}

export function Solutions({ report, sheet }: { report: SizeReport; sheet: Sheet }) {
  const sections = said(sheet);
  const now = text.value;
  if (report.solutions.length === 0) return null;
  return (
    <section class="many" aria-label="Solutions">
      <h3>{report.solutions.length === 1 ? "The solution" : "The solutions"}</h3>
      <div class="sheet-scroll" tabIndex={0} role="group" aria-label="Table of solutions">
        <table class="sheet-table size-table">
          <thead>
            <tr>
              <td />
              {(sections[0]?.rows ?? []).map((r, i) => (
                <th key={i} scope="col">
                  {r.name}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {report.solutions.map((s, k) => {
              const section = sections[k];
              const name = section?.head.toLowerCase() ?? `solution ${k + 1}`;
              const there = s.case_toml !== null && taken(now, report, s) === now;
              return (
                <tr key={k}>
                  <th scope="row">
                    {section?.head ?? `Solution ${k + 1}`}
                    {kept === null && (
                      <button type="button" class="small" disabled={s.case_toml === null || there} aria-label={there ? `${name} stands in the case` : `Take this one: ${name}`} onClick={() => take(report, s, name)}>
                        {there ? "in the case" : "Take this one"}
                      </button>
                    )}
                  </th>
                  {(section?.rows ?? []).map((r, i) => (
                    <Cell key={i} words={r.value} />
                  ))}
                </tr>
              );
            })}
          </tbody>
        </table>
      </div>
      <p class="panel-hint" role="status">
        {report.solutions.map((s, k) => (s.case_toml !== null && taken(now, report, s) === now ? `${sections[k]?.head ?? `Solution ${k + 1}`} stands in the case; undo takes it back.` : "")).find((w) => w !== "") ?? ""}
      </p>
    </section>
  );
}
