// A cap and its mirror image: two points keep their distance.

import type { Film, Frame } from "../types";
import { four } from "../plot/plot";
import { filmOf } from "../state/answers";
import { distance, mirrored, natural, picks, type Pick } from "../state/scene";

/** Pairs to go on with for those who do not click: shares of the arc, angles. */
const PAIRS: [Pick, Pick][] = [
  [{ s: 0.35, theta: 0.4 }, { s: 0.8, theta: 2.3 }],
  [{ s: 0, theta: 0 }, { s: 1, theta: 1 }],
  [{ s: 1, theta: 0 }, { s: 1, theta: Math.PI }],
  [{ s: 0.6, theta: -0.2 }, { s: 0.7, theta: 0.3 }],
];
let next = 0;

function shape(): { film: Film; frame: Frame } | null {
  const film = [filmOf("look"), filmOf("verdict")].find((f) => f?.frames.some((x) => x === natural.value)) ?? null;
  return film === null || natural.value === null ? null : { film, frame: natural.value };
}

export function anotherPair(): void {
  const has = shape();
  const pair = PAIRS[next++ % PAIRS.length];
  if (has === null || pair === undefined) return;
  const length = has.film.s_m[has.film.s_m.length - 1] ?? 0;
  picks.value = pair.map((p) => ({ s: p.s * length, theta: p.theta }));
}

export function Mirror() {
  const has = shape();
  const [a, b] = picks.value;
  if (has === null) return <p role="status">Computing the shape…</p>;
  const s = has.film.s_m;
  const mm = (v: number) => `${four(v * 1e3, 5)} mm`;
  return (
    <>
      <p aria-live="polite" class="tour-says">
        {a !== undefined && b !== undefined ? (
          <>
            Between your two points: <strong data-testid="tour-distance">{mm(distance(has.frame, s, a, b))}</strong> on the cap,{" "}
            <strong data-testid="tour-mirror-distance">{mm(distance(mirrored(has.frame), s, a, b))}</strong> on its mirror image.
          </>
        ) : a !== undefined ? (
          "One point is picked; pick the other."
        ) : (
          "Pick two points on the cap."
        )}
      </p>
      <div class="tour-buttons">
        <button type="button" onClick={anotherPair}>
          Another pair of points
        </button>
        <button type="button" onClick={() => (picks.value = [])}>
          Pick anew
        </button>
      </div>
    </>
  );
}
