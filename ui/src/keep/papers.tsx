// Every figure and table that came with an answer, each to be kept.

import { download, fromBase64 } from "./download";
import type { Papers } from "./figures";

export function PaperButtons({ papers, prefix }: { papers: Papers; prefix: string }) {
  return (
    <ul class="papers">
      {papers.figures.map((f) => (
        <li key={f.name}>
          <span class="papers-name" title={f.caption}>
            {f.name}
          </span>
          <button type="button" aria-label={`${prefix}, figure ${f.name} as SVG`} onClick={() => download(`${prefix}-${f.name}.svg`, f.svg, "image/svg+xml")}>
            SVG
          </button>
          {f.png !== "" && (
            <button type="button" aria-label={`${prefix}, figure ${f.name} as PNG`} onClick={() => download(`${prefix}-${f.name}.png`, fromBase64(f.png, "image/png"))}>
              PNG
            </button>
          )}
        </li>
      ))}
      {papers.tables.map((t) => (
        <li key={`table ${t.name}`}>
          <span class="papers-name">{t.name}</span>
          <button type="button" aria-label={`${prefix}, table ${t.name} as CSV`} onClick={() => download(`${prefix}-${t.name}.csv`, t.csv, "text/csv")}>
            CSV
          </button>
        </li>
      ))}
    </ul>
  );
}
