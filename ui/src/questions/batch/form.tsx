// The form of a batch: how many parts, how each number varies, what a good part does.

import { words } from "../map/numbers";
import { gauges } from "../gauges";
import { LAWS, MEASURED, change, plan, toleranced, type PairRow, type WindowRow } from "./plan";

const put = <T,>(list: readonly T[], i: number, next: Partial<T>): T[] => list.map((v, k) => (k === i ? { ...v, ...next } : v));
const without = <T,>(list: readonly T[], i: number): T[] => list.filter((_, k) => k !== i);

function Windows() {
  const { windows } = plan.value;
  const names = gauges();
  const set = (i: number, next: Partial<WindowRow>) => change({ windows: put(windows, i, next) });
  return (
    <fieldset class="ask-group">
      <legend>A good part has</legend>
      {windows.length === 0 && <p class="panel-hint">No window: the good parts are those that stay inverted.</p>}
      {windows.map((w, i) => (
        <div class="ask-row" key={i} role="group" aria-label={`Window ${i + 1}`}>
          <select aria-label={`Window ${i + 1}, of what`} value={w.gauge} onChange={(e) => set(i, { gauge: e.currentTarget.value })}>
            {(names.includes(w.gauge) ? names : [w.gauge, ...names]).map((n) => (
              <option key={n} value={n}>
                {n}
              </option>
            ))}
          </select>
          <label>
            from <input type="text" aria-label={`Window ${i + 1}, from`} value={w.from} placeholder="open" onInput={(e) => set(i, { from: e.currentTarget.value })} />
          </label>
          <label>
            to <input type="text" aria-label={`Window ${i + 1}, to`} value={w.to} placeholder="open" onInput={(e) => set(i, { to: e.currentTarget.value })} />
          </label>
          <button type="button" class="small" aria-label={`Take window ${i + 1} out`} onClick={() => change({ windows: without(windows, i) })}>
            take out
          </button>
        </div>
      ))}
      <button type="button" class="small" onClick={() => change({ windows: [...windows, { gauge: names[0] ?? "mass", from: "", to: "" }] })}>
        Add a window
      </button>
    </fieldset>
  );
}

function Laws() {
  const { laws, measured } = plan.value;
  const chosen = toleranced.value.filter((i) => (laws[i.key] ?? LAWS[0]?.[0]) !== LAWS[0]?.[0]).length;
  return (
    <details class="ask-more">
      <summary>
        How the numbers vary{chosen > 0 && ` (${chosen} chosen)`}
      </summary>
      {toleranced.value.map((i) => {
        const law = laws[i.key] ?? LAWS[0]?.[0] ?? "";
        return (
          <div class="ask-row" key={i.key} role="group" aria-label={words(i.key)}>
            <span class="ask-name">
              {words(i.key)} <span class="soft">{i.shown}</span>
            </span>
            <select aria-label={`Distribution of ${words(i.key)}`} value={law} onChange={(e) => change({ laws: { ...laws, [i.key]: e.currentTarget.value } })}>
              {LAWS.map(([name, says]) => (
                <option key={name} value={name}>
                  {says}
                </option>
              ))}
              <option value={MEASURED}>as measured …</option>
            </select>
            {law === MEASURED && (
              <input
                type="text"
                class="ask-wide"
                aria-label={`Measured values of ${words(i.key)}`}
                placeholder="2.41; 2.38; 2.43"
                value={measured[i.key] ?? ""}
                onInput={(e) => change({ measured: { ...measured, [i.key]: e.currentTarget.value } })}
              />
            )}
          </div>
        );
      })}
      <Pairs />
    </details>
  );
}

function Pairs() {
  const { together } = plan.value;
  const keys = toleranced.value.map((i) => i.key);
  const set = (i: number, next: Partial<PairRow>) => change({ together: put(together, i, next) });
  if (keys.length < 2) return null;
  return (
    <>
      {together.map((t, i) => (
        <div class="ask-row" key={i} role="group" aria-label={`Pair ${i + 1}`}>
          {(["a", "b"] as const).map((side) => (
            <select key={side} aria-label={`Pair ${i + 1}, ${side === "a" ? "first" : "second"} number`} value={t[side]} onChange={(e) => set(i, { [side]: e.currentTarget.value })}>
              {(keys.includes(t[side]) ? keys : [t[side], ...keys]).map((k) => (
                <option key={k} value={k}>
                  {words(k)}
                </option>
              ))}
            </select>
          ))}
          <label>
            correlation <input type="text" class="narrow" aria-label={`Pair ${i + 1}, correlation`} value={t.r} placeholder="0.8" onInput={(e) => set(i, { r: e.currentTarget.value })} />
          </label>
          <button type="button" class="small" aria-label={`Take pair ${i + 1} out`} onClick={() => change({ together: without(together, i) })}>
            take out
          </button>
        </div>
      ))}
      <button type="button" class="small" onClick={() => change({ together: [...together, { a: keys[0] ?? "", b: keys[1] ?? "", r: "" }] })}>
        Add two numbers that vary together
      </button>
    </>
  );
}

export function BatchForm() {
  const { count, seed, want } = plan.value;
  return (
    <div class="ask-form">
      <div class="ask-row">
        <label>
          Parts <input type="number" min={100} max={1000000} value={count} onInput={(e) => change({ count: e.currentTarget.value })} />
        </label>
        <label title="The same seed draws the same parts">
          Seed <input type="number" class="narrow" min={0} value={seed} onInput={(e) => change({ seed: e.currentTarget.value })} />
        </label>
        <label title="The tolerances that give this share of good parts">
          Good parts wanted <input type="text" class="narrow" placeholder="99 %" value={want} onInput={(e) => change({ want: e.currentTarget.value })} />
        </label>
      </div>
      <Windows />
      <Laws />
    </div>
  );
}
