// One number of the case: number, half-width, unit and slider. A number that is written in another way (a fraction, brackets, a slip)
// stands whole in the first box.

import { useComputed } from "@preact/signals";
import { asToml, halfWidth, putTogether, takeApart, withHalfWidth, withNumber, type Written } from "../text/quantity";
import { inUnit } from "../text/inunit";
import { unitsFor } from "../text/units";
import { Box } from "./box";
import { foundAt, shownValue, type Place } from "./place";
import { Slider, stepAt } from "./slider";

interface NumberProps {
  place: Place;
  slider?: boolean;
  describedBy?: string | undefined;
  /** Room for one box only: the number whole, as people write it. */
  whole?: boolean;
  labelled?: string | undefined;
}

export function NumberControl({ place, slider = true, describedBy, whole = false, labelled }: NumberProps) {
  const raw = useComputed(() => place.raw()).value;
  const written = raw === undefined ? null : takeApart(shownValue(place));
  const invalid = foundAt(place).some((f) => f.level === "error");
  const merge = `number ${place.id}`;
  const write = (value: string, key: string | null = merge) => place.set(asToml(value, place.raw() ?? (whole && /^[\d.]+$/.test(value) && place.form.dimension?.toLowerCase() === "number" ? "0" : undefined)), key);
  const step = (by: number) => {
    const w = takeApart(shownValue(place));
    if (w === null) return;
    const size = stepAt(w.number);
    write(withNumber(w, Math.round(w.number / size + by) * size, size));
  };
  if (whole) {
    return (
      <Box
        id={place.id}
        label={labelled}
        value={shownValue(place)}
        invalid={invalid}
        describedBy={describedBy}
        placeholder={place.form.example.startsWith("[") ? "" : place.form.example}
        late={raw === undefined}
        onType={(typed) => typed.trim() !== "" && write(typed)}
        onStep={step}
      />
    );
  }
  const units = unitsFor(place.form.dimension, place.form.units);
  const type = (typed: string) => {
    if (typed.trim() === "") return;
    const t = takeApart(typed);
    const alone = t !== null && t.unit === "" && t.tolerance === "" && !typed.includes("%");
    // Typed as a whole, `2.10 ± 0.05 mm`: taken as it is. A number alone keeps half-width and unit.
    if (alone && written !== null) write(putTogether({ ...written, number: t.number, digits: t.digits }));
    else write(typed);
  };
  return (
    <>
      <div class="number-row">
        <Box id={place.id} class="number-main" value={written?.digits ?? shownValue(place)} invalid={invalid} describedBy={describedBy} onType={type} onStep={step} label={labelled} />
        {written !== null && place.form.tolerance && (
          <span class="number-half">
            <span aria-hidden="true">±</span>
            <Box
              id={`${place.id}-half`}
              label={`${place.label}: half-width of the tolerance`}
              value={halfWidth(written)}
              placeholder="none"
              onType={(typed) => write(withHalfWidth(written, typed))}
            />
          </span>
        )}
        {written !== null && <UnitMenu written={written} units={units} place={place} onPick={(w) => write(putTogether(w), null)} />}
      </div>
      {slider && written !== null && (
        <Slider
          id={`${place.id}-slider`}
          label={place.label}
          value={written.number}
          unit={written.unit}
          form={place.form}
          onMove={(value, size) => {
            const w = takeApart(shownValue(place));
            if (w !== null) write(withNumber(w, value, size));
          }}
        />
      )}
    </>
  );
}

interface UnitProps {
  written: Written;
  units: string[];
  place: Place;
  onPick: (w: Written) => void;
}

/** Another unit means the same size written anew: number and half-width are converted. A unit that is not known is only replaced. */
function UnitMenu({ written, units, place, onPick }: UnitProps) {
  const all = units.includes(written.unit) ? units : [written.unit, ...units];
  if (all.length < 2) return <span class="number-unit soft">{written.unit}</span>;
  return (
    <select
      id={`${place.id}-unit`}
      class="number-unit"
      aria-label={`${place.label}: unit`}
      value={written.unit}
      onChange={(e) => onPick(inUnit(written, e.currentTarget.value, place.form.dimension))}
    >
      {all.map((u) => (
        <option key={u} value={u}>
          {u === "" ? "–" : u}
        </option>
      ))}
    </select>
  );
}

/** The same for a number that the case does not have yet: a box that becomes one when it is filled. */
export function EmptyNumber({ place, describedBy }: { place: Place; describedBy?: string | undefined }) {
  const units = unitsFor(place.form.dimension, place.form.units);
  const unit = units[0] ?? "";
  return (
    <div class="number-row">
      <Box
        id={place.id}
        class="number-main"
        value=""
        late
        placeholder={`e.g. ${place.form.example}`}
        describedBy={describedBy}
        onType={(typed) => {
          const t = takeApart(typed);
          if (typed.trim() === "") return;
          const bare = t !== null && t.unit === "" && !typed.includes("%");
          place.set(asToml(bare ? putTogether({ ...t, unit, unitFirst: false }) : typed, unit === "" ? "0" : undefined), null);
        }}
      />
      {unit !== "" && <span class="number-unit soft">{unit}</span>}
    </div>
  );
}
