// Two points of the part, picked by clicking on it or with sliders, and the chord between them on the shape and on its mirror image.

import { film, frame, distance, mirrored, picking, picks, type Pick } from "../state/scene";
import { mm } from "./push";

function One({ index, pick, length }: { index: number; pick: Pick; length: number }) {
  const name = index === 0 ? "First point" : "Second point";
  const set = (next: Partial<Pick>) => (picks.value = picks.value.map((p, i) => (i === index ? { ...p, ...next } : p)));
  const degrees = Math.round((((pick.theta * 180) / Math.PI) % 360) + 360) % 360;
  return (
    <div class="see-hand-line">
      <label class="see-push">
        <span>{name}: from the pole</span>
        <input type="range" min={0} max={1000} value={Math.round((1000 * pick.s) / length)} aria-valuetext={`${mm(pick.s)} of arc`} onInput={(e) => set({ s: (Number(e.currentTarget.value) / 1000) * length })} />
      </label>
      <label class="see-push">
        <span>{name}: round the axis</span>
        <input type="range" min={0} max={359} value={degrees} aria-valuetext={`${degrees} degrees`} onInput={(e) => set({ theta: (Number(e.currentTarget.value) * Math.PI) / 180 })} />
      </label>
    </div>
  );
}

export function Picks() {
  const f = frame.value;
  const s = film.value?.s_m;
  if (!picking.value || f === null || s === undefined) return null;
  const length = s[s.length - 1] ?? 1;
  const two = picks.value;
  const [a, b] = two;
  return (
    <fieldset class="see-hand">
      <legend>Two points</legend>
      {two.length < 2 && <p class="soft">Click {two.length === 0 ? "a point" : "another point"} of the part, or set it with sliders.</p>}
      {two.map((p, i) => (
        <One key={i} index={i} pick={p} length={length} />
      ))}
      <div class="see-hand-line">
        {two.length < 2 && (
          <button type="button" onClick={() => (picks.value = [...picks.value, { s: length * (0.3 + 0.3 * two.length), theta: two.length === 0 ? 0 : 2 }])}>
            Set {two.length === 0 ? "the first" : "the second"} point with sliders
          </button>
        )}
        <button type="button" onClick={() => (picks.value = [])} disabled={two.length === 0}>
          Take the points away
        </button>
      </div>
      {a !== undefined && b !== undefined && (
        <p aria-live="polite" data-read="chord">
          Straight between them: {mm(distance(f, s, a, b))} on the shape, {mm(distance(mirrored(f), s, a, b))} on its mirror image (read from the picture).
        </p>
      )}
    </fieldset>
  );
}
