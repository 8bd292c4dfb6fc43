// The form of sizes: what may change between which ends, and what is wished.

import { useId } from "preact/hooks";
import { words } from "../map/numbers";
import { change, examples, keys, plan, rows, type VaryRow } from "./plan";

const MOST = 5;

function Vary() {
  const { vary } = plan.value;
  const set = (i: number, next: Partial<VaryRow>) => change({ vary: vary.map((v, k) => (k === i ? { ...v, key: rows.value[i]?.key ?? v.key, ...next } : v)) });
  return (
    <fieldset class="ask-group">
      <legend>What may change</legend>
      {rows.value.map((r, i) => (
        <div class="ask-row" key={i} role="group" aria-label={`Number ${i + 1}`}>
          <select aria-label={`Number ${i + 1}, which`} value={r.key} onChange={(e) => set(i, { key: e.currentTarget.value, from: null, to: null })}>
            {keys.value
              .filter((k) => k === r.key || !rows.value.some((o) => o.key === k))
              .map((k) => (
                <option key={k} value={k}>
                  {words(k)}
                </option>
              ))}
          </select>
          <label>
            from <input type="text" aria-label={`Number ${i + 1}, from`} value={r.from} onInput={(e) => set(i, { from: e.currentTarget.value })} />
          </label>
          <label>
            to <input type="text" aria-label={`Number ${i + 1}, to`} value={r.to} onInput={(e) => set(i, { to: e.currentTarget.value })} />
          </label>
          {rows.value.length > 1 && (
            <button type="button" class="small" aria-label={`Take number ${i + 1} out`} onClick={() => change({ vary: vary.filter((_, k) => k !== i) })}>
              take out
            </button>
          )}
        </div>
      ))}
      {rows.value.length < Math.min(MOST, keys.value.length) && (
        <button type="button" class="small" onClick={() => change({ vary: [...rows.value, { key: "", from: null, to: null }] })}>
          Add a number
        </button>
      )}
    </fieldset>
  );
}

function Wishes() {
  const { wishes } = plan.value;
  const id = useId();
  const said = examples();
  const set = (i: number, text: string) => change({ wishes: wishes.map((w, k) => (k === i ? text : w)) });
  const take = (text: string) => {
    const empty = wishes.findIndex((w) => w.trim() === "");
    if (empty < 0) change({ wishes: [...wishes, text] });
    else set(empty, text);
  };
  return (
    <fieldset class="ask-group">
      <legend>What is wished</legend>
      <datalist id={id}>
        {said.map((w) => (
          <option key={w} value={w} />
        ))}
      </datalist>
      {wishes.map((w, i) => (
        <div class="ask-row ask-row-wide" key={i}>
          <input type="text" class="ask-wide" aria-label={`Wish ${i + 1}`} list={id} value={w} placeholder={said[1] ?? said[0] ?? ""} onInput={(e) => set(i, e.currentTarget.value)} />
          {wishes.length > 1 && (
            <button type="button" class="small" aria-label={`Take wish ${i + 1} out`} onClick={() => change({ wishes: wishes.filter((_, k) => k !== i) })}>
              take out
            </button>
          )}
        </div>
      ))}
      <button type="button" class="small" onClick={() => change({ wishes: [...wishes, ""] })}>
        Add a wish
      </button>
      <details class="ask-more">
        <summary>Examples</summary>
        <div class="jumps" role="group" aria-label="Examples of wishes">
          {said.map((w) => (
            <button key={w} type="button" onClick={() => take(w)}>
              {w}
            </button>
          ))}
        </div>
      </details>
    </fieldset>
  );
}

export function SizeForm() {
  return (
    <div class="ask-form">
      <Vary />
      <Wishes />
    </div>
  );
}
