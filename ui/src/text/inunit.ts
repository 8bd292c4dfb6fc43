// A quantity written anew in another unit.

import { halfWidth, type Written } from "./quantity";
import { convert, short } from "./units";

/** The same quantity in another unit. */
export function inUnit(written: Written, unit: string, dimension: string | null): Written {
  const number = convert(written.number, written.unit, unit, dimension);
  if (number === null) return { ...written, unit };
  const half = halfWidth(written);
  // No shape has more than half a turn: 180° must not become more by being rounded in radians.
  const halfTurn = dimension?.toLowerCase() === "angle" ? (convert(180, "deg", unit, dimension) ?? Infinity) : Infinity;
  const w: Written = { ...written, unit, number, digits: short(number, halfTurn) };
  // A half-width with a unit of its own or in per cent of the value holds as it is.
  if (half === "" || /[^\d.eE+_-]/.test(half)) return w;
  const width = convert(Number(half.replaceAll("_", "")), written.unit, unit, dimension, true);
  return width === null ? w : { ...w, tolerance: `± ${short(width)}` };
}
