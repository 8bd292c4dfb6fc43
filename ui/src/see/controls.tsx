// What is shown and how: natural or inverted, cut open, colours, the wall's scale, mirror image, lip, natural shape.

import type { Signal } from "@preact/signals";
import { listsStates, states, verdict } from "../state/answers";
import { colouring, cut, film, inverted, rest, showGhost, showLip, showMirror, showRest, shown, wallScale, type Colouring } from "../state/scene";
import { rampHex, top, valueWords } from "./ramp";
import { opening } from "./solidview";
import { stateNames } from "./words";

export function Toggle({ on, words }: { on: Signal<boolean>; words: string }) {
  return (
    <label class="see-toggle">
      <input type="checkbox" checked={on.value} onChange={(e) => (on.value = e.currentTarget.checked)} />
      {words}
    </label>
  );
}

/** Natural or inverted. */
export function ShapeButtons() {
  const which = shown.value === null ? (rest.value === "inverted" && inverted.value !== null ? "inverted" : "natural") : null;
  return (
      <div class="see-pair" role="group" aria-label="Shape">
        <button type="button" aria-pressed={which === "natural"} onClick={() => showRest("natural")}>
          Natural
        </button>
        {!listsStates.value && (
          <button type="button" aria-pressed={which === "inverted"} disabled={inverted.value === null} title={inverted.value === null ? "There is no inverted equilibrium to show" : ""} onClick={() => showRest("inverted")}>
            Inverted
          </button>
        )}
      </div>
  );
}

export function Controls() {
  const names = stateNames.value;
  return (
    <div class="see-controls">
      <div class="see-row">
        {listsStates.value && (
          <label class="see-choice">
            <span>State</span>
            {names.length > 0 ? (
              <select value={shown.value?.film === "states" ? String(Math.round(shown.value.place)) : ""} onChange={(e) => (shown.value = e.currentTarget.value === "" ? null : { film: "states", place: Number(e.currentTarget.value) })}>
                <option value="">as made</option>
                {names.map((n, i) => (
                  <option key={n} value={i}>
                    {n}
                  </option>
                ))}
              </select>
            ) : (
              <button type="button" disabled={states.busy.value} onClick={() => states.run()}>
                {states.busy.value ? "Looking for states …" : "Look for states"}
              </button>
            )}
          </label>
        )}
        {!listsStates.value && inverted.value === null && verdict.answer.value !== null && <span class="soft">No inverted shape to show.</span>}
        <label class="see-choice">
          <span>Colour</span>
          <select value={colouring.value} onChange={(e) => (colouring.value = e.currentTarget.value as Colouring)}>
            <option value="plain">plain</option>
            <option value="strain">strain</option>
            <option value="energy">energy</option>
          </select>
        </label>
        <label class="see-choice">
          <span>Wall</span>
          <select value={String(wallScale.value)} onChange={(e) => (wallScale.value = Number(e.currentTarget.value))}>
            <option value="1">true</option>
            <option value="3">× 3</option>
            <option value="10">× 10</option>
          </select>
        </label>
        <label class="see-choice">
          <span>Cut open</span>
          <select value={cut.value ? String(opening.value) : "no"} onChange={(e) => {
              const v = e.currentTarget.value;
              cut.value = v !== "no";
              if (v !== "no") opening.value = v === "90" ? 90 : 180;
            }}>
            <option value="no">no</option>
            <option value="90">a quarter</option>
            <option value="180">half</option>
          </select>
        </label>
        <Toggle on={showMirror} words="Mirror image" />
        <Toggle on={showLip} words="Lip" />
        <Toggle on={showGhost} words="As made, too" />
      </div>
    </div>
  );
}

/** What the colours mean. */
export function ColourLegend() {
  const by = colouring.value;
  if (by === "plain") return null;
  const most = top.value;
  const name = by === "strain" ? "Largest strain at either face" : "Elastic energy per natural area";
  if (most <= 0) return <p class="see-legend soft">{name}: none in this shape.</p>;
  return (
    <div class="see-legend" role="img" aria-label={`${name}: from 0, light, to ${valueWords(most, by)}, dark; the largest value of ${film.value !== null && film.value.frames.length > 1 ? "all shapes of this film" : "this shape"}.`}>
      <span>{name}</span>
      <span class="see-legend-bar">
        <svg viewBox="0 0 120 10" preserveAspectRatio="none" shape-rendering="crispEdges" aria-hidden="true">
          {Array.from({ length: 40 }, (_, i) => (
            <rect key={i} x={3 * i} y={0} width={3} height={10} fill={rampHex((i + 0.5) / 40)} />
          ))}
        </svg>
        <span>0</span>
        <span>{valueWords(most / 2, by)}</span>
        <span>{valueWords(most, by)}</span>
      </span>
    </div>
  );
}
