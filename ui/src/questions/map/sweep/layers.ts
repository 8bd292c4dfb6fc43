// A sweep's points as layers of the map's plot: filled, open and crossed, so that they differ without colour.

import type { MapReport } from "../../../api";
import type { Cloud } from "../../../plot/plot";
import { lay, type Laid, type Side, type Sweep } from "./points";
import { onAxes } from "./words";

const SIGNS: readonly [Side, Pick<Cloud, "sign" | "colour">][] = [
  ["returns", { sign: "ring", colour: "second" }],
  ["stays", { sign: "dot", colour: "accent" }],
  ["undecided", { sign: "cross", colour: "ink-soft" }],
];

/** The points where both axes are numbers of the sweep. */
export function laidOver(sweep: Sweep, report: MapReport): Laid | null {
  const [a, b] = onAxes(sweep, report);
  if (a === null || b === null) return null;
  const ends = report.axes.map((x): [number, number] => [x.low_si, x.high_si]);
  return lay(sweep, [a, b], [ends[0] ?? [0, 0], ends[1] ?? [0, 0]]);
}

export function cloudsOf(laid: Laid): Cloud[] {
  const count = Object.values(laid.sides).reduce((n, s) => n + s.x.length, 0);
  const radius = count > 1500 ? 2 : count > 400 ? 2.6 : 3.2;
  return SIGNS.flatMap(([side, look]): Cloud[] => (laid.sides[side].x.length === 0 ? [] : [{ kind: "cloud", name: `sweep: ${side}`, ...laid.sides[side], ...look, radius }]));
}
