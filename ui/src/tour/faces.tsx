// A real wall: strain colours, and where along the wall the energy sits.

import { useMemo } from "preact/hooks";
import type { VerdictReport } from "../api";
import { rowOf } from "../answer/sheet";
import { Plot, mostOf, unitFor, type Axis, type Layer } from "../plot/plot";
import { verdict } from "../state/answers";
import { presenter } from "../state/settings";

export function Faces() {
  const answer = verdict.answer.value;
  const state = (answer?.report as VerdictReport | undefined)?.inverted ?? null;
  const energy = state?.energy;
  const layers = useMemo<Layer[]>(
    () =>
      energy === undefined
        ? []
        : [
            { kind: "curve", name: "bending", x: energy.s_m, y: energy.bending_J_per_m2, colour: "accent" },
            { kind: "curve", name: "stretching", x: energy.s_m, y: energy.stretching_J_per_m2, colour: "second", dash: "long" },
          ],
    [energy],
  );
  if (answer === null || energy === undefined || state === null) return <p role="status">Computing…</p>;
  const x: Axis = { label: "along the wall, from the pole", ...unitFor("length", mostOf(energy.s_m)), from: 0, to: mostOf(energy.s_m) };
  const y: Axis = { label: "energy per m²", unit: "J/m²", per: 1, withZero: true };
  const lip = rowOf(answer.sheet, "lip width");
  const strains = rowOf(answer.sheet, /^strains/);
  const end = mostOf(energy.s_m);
  return (
    <>
      <Plot title="Energy along the wall" says="Bending fills the wall and gives way at the rim, where stretching comes in." x={x} y={y} layers={layers} marks={state.lip_width_m === null ? [] : [{ kind: "x", at: end - state.lip_width_m, label: "lip begins" }]} height={presenter.value ? 330 : 220} />
      <p class="tour-says">
        {lip !== null && (
          <>
            The lip is <strong data-testid="tour-lip">{lip}</strong> wide, counted from the rim.{" "}
          </>
        )}
        {strains !== null && <>Strains: {strains}.</>}
      </p>
    </>
  );
}
