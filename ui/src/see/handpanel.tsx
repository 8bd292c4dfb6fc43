// The hand in words and controls: a slider and keys do what dragging the pole does.

import { hand, listsStates } from "../state/answers";
import { at, inUse, knot, mm, moving, newton, path, pushToShare, release, says, turnOver } from "./push";
import { isStill } from "../state/settings";
import { phase, ripple, showRest } from "../state/scene";

export function HandPanel() {
  const p = path.value;
  const k = inUse.value ? knot.value : null;
  const most = p?.most ?? 0;
  const value = k === null ? 0 : Math.max(0, k.d);
  const unknown = p === null;
  return (
    <fieldset class="see-hand">
      <legend>By hand</legend>
      <div class="see-hand-line">
        <label class="see-push">
          <span>Push the pole</span>
          <input type="range" min={0} max={1000} step={1} value={most > 0 ? Math.round((1000 * value) / most) : 0} aria-valuetext={k === null ? "not touched" : `${mm(k.travel)} of travel, force ${newton(k.load)}`} onInput={(e) => pushToShare(Number(e.currentTarget.value) / 1000)} />
        </label>
        <button type="button" onClick={() => release()} disabled={k === null || moving.value}>
          Let go
        </button>
        <button type="button" onClick={() => turnOver()} disabled={moving.value}>
          Turn inside out by hand
        </button>
        {inUse.value && (
          <button type="button" onClick={() => showRest("natural")}>
            Hand away
          </button>
        )}
      </div>
      {inUse.value && unknown && hand.busy.value && <p class="soft" role="status">Following the path …</p>}
      {inUse.value && unknown && hand.refused.value !== null && (
        <p class="see-warn" role="status">
          {hand.refused.value.says} {hand.refused.value.help}
        </p>
      )}
      {k !== null && (
        <dl class="see-read">
          <div>
            <dt>travel</dt>
            <dd data-read="travel">{mm(k.travel)}</dd>
          </div>
          <div>
            <dt>force</dt>
            <dd data-read="force">
              {newton(Math.abs(k.load))} <span class="soft">{Math.abs(k.load) < 5e-8 ? "none" : k.load > 0 ? "hand pushes" : "hand pulls back"}</span>
            </dd>
          </div>
          <div>
            <dt>held there</dt>
            <dd data-read="stable">{k.waves.length > 0 ? <strong class="see-lost">not stable: ripples with n = {k.waves.join(", ")}</strong> : k.held > 0 ? <strong class="see-lost">not stable</strong> : "stable"}</dd>
          </div>
        </dl>
      )}
      {k !== null && k.waves.length > 0 && ripple.value !== null && (
        <p class="soft">The ripple is drawn as it begins, with a size chosen to be seen; how far it grows is not followed here.</p>
      )}
      <p class="see-says" aria-live="polite">
        {says.value}
      </p>
      {inUse.value && k !== null && (
        <p class="soft">
          Read from the path of a slow push ({at.value === null ? "" : `row ${Math.round(at.value)} of ${Math.max(0, (p?.knots[p.knots.length - 1]?.at ?? 0))}`}), linearly between its rows{hand.stale.value ? "; the case has changed since" : ""}.
        </p>
      )}
      {listsStates.value && !inUse.value && <p class="soft">The hand starts from the natural shape.</p>}
    </fieldset>
  );
}

/** Phase of a ripple that does not swing by itself. */
export function PhaseSlider() {
  if (ripple.value === null) return null;
  return (
    <div class="see-hand-line">
      <span>
        Ripple with n = {ripple.value.n}
      </span>
      {isStill() && (
        <label class="see-push">
          <span>Phase</span>
          <input type="range" min={0} max={360} step={5} value={Math.round((phase.value * 180) / Math.PI) % 361} aria-valuetext={`${Math.round((phase.value * 180) / Math.PI)} degrees`} onInput={(e) => (phase.value = (Number(e.currentTarget.value) * Math.PI) / 180)} />
        </label>
      )}
      <button type="button" onClick={() => (ripple.value = null)}>
        Without the ripple
      </button>
    </div>
  );
}
