// Small things that every answer needs: how long it took, work under way, why there is none, doubts.

import type { Answer, Progress, Refused } from "../types";
import { Sign } from "./signs";
import "../styles/answer.css";

function duration(ms: number): string {
  return ms < 1 ? "under 1 ms" : ms < 995 ? `${Math.round(ms)} ms` : `${(ms / 1000).toPrecision(3)} s`;
}

/** How fresh and how fast an answer is. */
export function Freshness({ answer, tookMs, stale }: { answer: Answer; tookMs: number; stale: boolean }) {
  return (
    <p class="fresh">
      Computed in {duration(answer.seconds * 1000)}
      {tookMs > 0 && `, here after ${duration(tookMs)}`}
      {stale && <strong> · of the case before the last change</strong>}
    </p>
  );
}

/** Work under way, with its words and share, and a button that stops it. */
export function Working({ progress, onStop, what }: { progress: Progress | null; onStop: () => void; what: string }) {
  const share = progress?.share ?? null;
  return (
    <div class="working" role="group" aria-label={`${what}: under way`}>
      <progress aria-label={`${what}: share done`} {...(share === null ? {} : { value: share, max: 1 })} />
      <span class="working-words">
        {progress?.words || "Working"}
        {share !== null && ` · ${Math.round(share * 100)} %`}
      </span>
      <button type="button" onClick={onStop}>
        Stop
      </button>
    </div>
  );
}

const HEADS: Record<Refused["kind"], string> = {
  case: "The case cannot be read.",
  question: "Not answered.",
  busy: "The server is busy.",
  slow: "It took too long and was stopped.",
  stopped: "Stopped.",
  failed: "Something went wrong inside.",
  away: "No server.",
};

/** Why there is no answer, and what would help. */
export function RefusedNote({ refused, again }: { refused: Refused; again?: () => void }) {
  const head = HEADS[refused.kind];
  return (
    <div class="refused" role="alert">
      <p>
        <span class="refused-sign" aria-hidden="true">
          <Sign name="cross" />
        </span>
        <strong>{head}</strong> {refused.says !== head && refused.says}
      </p>
      {refused.help !== null && <p class="refused-help">{refused.help}</p>}
      {again && (
        <button type="button" onClick={again}>
          Ask again
        </button>
      )}
    </div>
  );
}

/** Doubts come first and are not folded away. */
export function Doubts({ doubts }: { doubts: readonly string[] }) {
  if (doubts.length === 0) return null;
  return (
    <section class="doubts" aria-label="Doubts">
      <h3>
        <Sign name="warning" />{" "}
        {doubts.length === 1 ? "One doubt" : `${doubts.length} doubts`}
      </h3>
      <ul>
        {doubts.map((d) => (
          <li key={d}>{d}</li>
        ))}
      </ul>
    </section>
  );
}
