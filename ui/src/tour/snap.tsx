// The snap in slow motion: the panel's own player, with its buttons here too.

import type { ReleaseReport } from "../questions/reports";
import { Working } from "../answer/notes";
import { rowOf } from "../answer/sheet";
import { four, withUnit } from "../plot/plot";
import { endOf, usualSpeed } from "../questions/release/clock";
import { moment, playing, showMoment } from "../questions/release/player";
import { release } from "../state/answers";
import { isStill } from "../state/settings";

export function SnapStep() {
  const answer = release.answer.value;
  const report = answer?.report as ReleaseReport | undefined;
  if (release.busy.value) return <Working what="Let go" progress={release.progress.value} onStop={() => release.stop()} />;
  if (answer === null || report === undefined || release.stale.value)
    return (
      <p role="status">
        {release.refused.value?.says ?? "Not computed yet."}{" "}
        <button type="button" onClick={() => release.run({}, 0)}>
          Let go
        </button>
      </p>
    );
  const end = endOf(report);
  const go = (t: number) => {
    playing.value = false;
    showMoment(answer.film, t);
  };
  const lines = ["wait", "snap time", "peak speed", "jump height"].map((name) => [name, rowOf(answer.sheet, name)] as const).filter((l): l is readonly [string, string] => l[1] !== null);
  return (
    <>
      <div class="tour-buttons">
        <button
          type="button"
          class="main"
          onClick={() => {
            if (!playing.value) showMoment(answer.film, moment.peek() >= end ? 0 : moment.peek());
            playing.value = !playing.value;
          }}
        >
          {playing.value ? "Pause" : "Let go, in slow motion"}
        </button>
        {report.snap && (
          <button type="button" onClick={() => go(report.snap?.halfway_s ?? 0)}>
            Half way
          </button>
        )}
        <button type="button" onClick={() => go(0)}>
          From the start
        </button>
      </div>
      <p class="tour-clock" data-testid="tour-clock">
        {withUnit("time", Math.min(moment.value, end))} <span class="soft">· slowed {four(1 / usualSpeed(report), 3)} times</span>
      </p>
      {isStill() && <p class="soft">Movement is reduced: press the button to play, or go to single moments.</p>}
      <dl class="tour-rows">
        {lines.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd data-testid={`tour-${name.replaceAll(" ", "-")}`}>{value}</dd>
          </div>
        ))}
      </dl>
    </>
  );
}
