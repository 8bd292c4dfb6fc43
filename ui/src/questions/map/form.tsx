// What to map: two numbers of the case, their ends, which curves.

import { choices, usual } from "./numbers";
import { askMap, axes, plan, type AxisPlan, type Plan } from "./plan";

const change = (next: Partial<Plan>) => (plan.value = { ...plan.value, ...next });

function AxisFields({ which }: { which: "x" | "y" }) {
  const [kx, ky] = axes.value;
  const key = which === "x" ? kx : ky;
  const other = which === "x" ? ky : kx;
  const chosen = plan.value[which];
  const ends = usual(key);
  const set = (next: Partial<AxisPlan>) => change({ [which]: { ...chosen, key, ...next } });
  const name = which === "x" ? "Sideways" : "Upwards";
  return (
    <fieldset class="map-axis">
      <legend>{name}</legend>
      <label>
        <span class="hidden-label">{name}, number</span>
        <select
          value={key}
          onChange={(e) => {
            change({ [which]: { key: e.currentTarget.value, from: "", to: "" } });
            askMap();
          }}
        >
          {choices()
            .filter((c) => c.key !== other)
            .map((c) => (
              <option key={c.key} value={c.key}>
                {c.label}
              </option>
            ))}
        </select>
      </label>
      <label>
        from <input type="text" aria-label={`${name}, from`} value={chosen.from} placeholder={ends[0] || "usual"} onInput={(e) => set({ from: e.currentTarget.value.trim() })} />
      </label>
      <label>
        to <input type="text" aria-label={`${name}, to`} value={chosen.to} placeholder={ends[1] || "usual"} onInput={(e) => set({ to: e.currentTarget.value.trim() })} />
      </label>
    </fieldset>
  );
}

export function MapForm({ main, disabled, again }: { main: boolean; disabled: boolean; again: boolean }) {
  const { margins, trips, snapping } = plan.value;
  return (
    <form
      class="panel-form map-form"
      onSubmit={(e) => {
        e.preventDefault();
        askMap();
      }}
    >
      <AxisFields which="x" />
      <AxisFields which="y" />
      <label title="Thickness over its threshold, h/h*: below 1 the part stays">
        Equal margins h/h* <input type="text" value={margins} onInput={(e) => change({ margins: e.currentTarget.value })} />
      </label>
      <label>
        Trip loads <input type="text" value={trips} placeholder="2 N, 5 N" onInput={(e) => change({ trips: e.currentTarget.value })} />
      </label>
      <label>
        <input type="checkbox" checked={snapping} onChange={(e) => change({ snapping: e.currentTarget.checked })} /> where snapping begins
      </label>
      <button type="submit" class={main ? "main" : ""} disabled={disabled}>
        {again ? "Ask again" : "Ask"}
      </button>
    </form>
  );
}
