// What a window or a wish can be about, and how its readings stand on an axis.

import { canAsk } from "../state/answers";
import type { Question } from "../types";
import { mostOf, unitFor, type Axis } from "../plot/plot";
import { ZERO_C } from "./heat/axis";

/** Names as the desk reads them, and the question that must make sense for the case. */
const ALL: { name: string; needs: Question }[] = [
  { name: "margin", needs: "verdict" },
  { name: "waiting margin", needs: "release" },
  { name: "wait", needs: "release" },
  { name: "trip load", needs: "poke" },
  { name: "trip temperature", needs: "heat" },
  { name: "reset temperature", needs: "heat" },
  { name: "delta", needs: "heat" },
  { name: "snap ratio", needs: "poke" },
  { name: "peak strain", needs: "look" },
  { name: "mass", needs: "look" },
];

/** Those that can make sense for the case; which do the desk says when it is asked. */
export const gauges = (): string[] => ALL.filter((g) => g.needs === "look" || canAsk(g.needs).ok).map((g) => g.name);

/** An axis for readings in an SI unit. */
export function axisOf(gauge: string, unit: string, ...values: readonly (readonly (number | null)[])[]): Axis {
  const most = mostOf(...values);
  switch (unit) {
    case "K":
      return gauge.endsWith("temperature") ? { label: gauge, unit: "°C", per: 1, zero: ZERO_C } : { label: gauge, unit: "K", per: 1 };
    case "N":
      return { label: gauge, ...unitFor("force", most) };
    case "Pa":
      return { label: gauge, ...unitFor("pressure", most) };
    case "s":
      return { label: gauge, ...unitFor("time", most) };
    case "kg":
      return { label: gauge, unit: "g", per: 1e-3 };
    default:
      return { label: gauge, unit, per: 1 };
  }
}
