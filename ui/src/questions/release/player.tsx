// The player of a release: play, scrub, speed, clock, moments. It moves the picture and the cursor of the plots.

import { signal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Sign } from "../../answer/signs";
import { four, withUnit } from "../../plot/plot";
import { placeAt, shown } from "../../state/scene";
import { isStill } from "../../state/settings";
import type { Film } from "../../types";
import type { ReleaseReport } from "../reports";
import { SLOWEST, endOf, paceAt, timeAt, usualSpeed, valueAt } from "./clock";

/** Time since the hand began to let go, s. */
export const moment = signal(0);
export const playing = signal(false);
/** Speed a person set, real seconds per second on the screen; null: that of this release. */
const speedSet = signal<number | null>(null);

/** Shows a moment in the picture. */
export function showMoment(film: Film | null | undefined, t: number): void {
  moment.value = t;
  if (film) shown.value = { film: "release", place: placeAt(film, t) };
}

const MAIN = ["let-go", "gone", "snap", "halfway", "snapped", "take-off", "apex", "landing"];

export function Player({ report, film }: { report: ReleaseReport; film: Film }) {
  const end = endOf(report);
  const speed = speedSet.value ?? usualSpeed(report);
  const t = Math.min(moment.value, end);
  const pace = paceAt(report, t, speed);

  // A new answer begins at its beginning; nothing plays by itself.
  useEffect(() => {
    playing.value = false;
    if (moment.peek() > end) moment.value = 0;
    return () => void (playing.value = false);
  }, [report]);

  useEffect(() => {
    if (!playing.value) return;
    let before = performance.now();
    let handle = 0;
    const tick = (now: number) => {
      // Another panel, or the buttons of the picture, took the picture over.
      if (shown.peek()?.film !== "release") {
        playing.value = false;
        return;
      }
      const wall = Math.min(0.1, Math.max(0, (now - before) / 1000));
      before = now;
      const p = paceAt(report, moment.peek(), speedSet.peek() ?? usualSpeed(report));
      const next = Math.min(p.until, moment.peek() + wall * p.rate);
      showMoment(film, next);
      if (next >= end) playing.value = false;
      else handle = requestAnimationFrame(tick);
    };
    handle = requestAnimationFrame(tick);
    return () => cancelAnimationFrame(handle);
  }, [playing.value, report, film]);

  const play = () => {
    if (playing.value) playing.value = false;
    else {
      showMoment(film, moment.peek() >= end ? 0 : moment.peek());
      playing.value = true;
    }
  };
  const jump = (to: number) => {
    playing.value = false;
    showMoment(film, to);
  };
  const slow = 1 / speed;
  const speedWords = slow < 1.05 ? "as fast as it is" : `${four(slow, 3)} times slower than it is`;
  const h = report.history;
  const since = report.snap === null ? null : t - report.snap.wait_s;
  const skips = playing.value ? pace.skips : "";
  return (
    <div class="player">
      <div class="player-row">
        <button type="button" class="main player-play" onClick={play} aria-label={playing.value ? "Pause" : "Play"}>
          <Sign name={playing.value ? "pause" : "play"} /> {playing.value ? "Pause" : t >= end ? "Play again" : "Play"}
        </button>
        <output class="player-clock" data-testid="clock">
          <strong>{withUnit("time", t)}</strong>
          {since !== null && <span>{since < 0 ? `${withUnit("time", -since, 3)} before the snap` : `${withUnit("time", since, 3)} into the snap`}</span>}
          <span>{skips || `slow motion 1 : ${four(slow, 3)}`}</span>
        </output>
      </div>
      <label class="slider-row">
        <span>Moment</span>
        <input
          type="range"
          min={0}
          max={Math.max(1, film.frames.length - 1)}
          step="any"
          value={placeAt(film, t)}
          aria-valuetext={withUnit("time", t)}
          onInput={(e) => jump(timeAt(film, Number(e.currentTarget.value)))}
        />
      </label>
      <label class="slider-row">
        <span>Speed</span>
        <input type="range" min={-Math.log10(SLOWEST)} max={0} step={0.01} value={Math.log10(speed)} aria-valuetext={speedWords} onInput={(e) => (speedSet.value = 10 ** Number(e.currentTarget.value))} />
        <span class="slider-says">{speedWords}</span>
      </label>
      {speedSet.value !== null && (
        <button type="button" class="small" onClick={() => (speedSet.value = null)}>
          usual speed
        </button>
      )}
      {isStill() && <p class="panel-hint">Movement is reduced: nothing moves unless you press play; the slider shows single moments.</p>}
      <div class="jumps" role="group" aria-label="Go to">
        {report.events
          .filter((e) => MAIN.includes(e.kind))
          .map((e, i) => (
            <button key={i} type="button" onClick={() => jump(e.time_s)}>
              {e.what}
            </button>
          ))}
        <button type="button" onClick={() => jump(end)}>
          end
        </button>
        {report.events.some((e) => !MAIN.includes(e.kind)) && (
          <label class="jumps-all">
            <span class="hidden-label">Any event</span>
            <select
              value=""
              onChange={(e) => {
                const event = report.events[Number(e.currentTarget.value)];
                if (e.currentTarget.value !== "" && event) jump(event.time_s);
              }}
            >
              <option value="">all {report.events.length} events…</option>
              {report.events.map((e, i) => (
                <option key={i} value={i}>
                  {withUnit("time", e.time_s)}: {e.what}
                </option>
              ))}
            </select>
          </label>
        )}
      </div>
      <p class="readout" data-testid="release-read">
        Pole over rim {withUnit("length", valueAt(h.time_s, h.pole_over_rim_m, t))}, its speed {withUnit("speed", valueAt(h.time_s, h.pole_over_rim_speed_m_per_s, t), 3)}, moving {withUnit("energy", valueAt(h.time_s, h.kinetic_J, t), 3)}, elastic{" "}
        {withUnit("energy", valueAt(h.time_s, h.elastic_J, t), 3)}
      </p>
    </div>
  );
}
