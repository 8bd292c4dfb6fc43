// Units and their sizes in SI, for changing the unit of a number that stands in the form. The server alone reads a case; a test asks it
// whether a number written in another unit by this table is still the same.

interface Unit {
  symbol: string;
  /** SI value = (number + zero) · factor. */
  factor: number;
  zero?: number;
  also?: string[];
}

const POUND = 0.45359237 * 9.80665;

const TABLE: Record<string, Unit[]> = {
  Length: [
    { symbol: "mm", factor: 1e-3 },
    { symbol: "m", factor: 1 },
    { symbol: "cm", factor: 1e-2 },
    { symbol: "um", factor: 1e-6, also: ["µm", "μm"] },
    { symbol: "nm", factor: 1e-9 },
    { symbol: "in", factor: 0.0254, also: ['"', "″", "inch"] },
    { symbol: "mil", factor: 2.54e-5, also: ["thou"] },
    { symbol: "ft", factor: 0.3048 },
  ],
  Angle: [
    { symbol: "deg", factor: Math.PI / 180, also: ["°", "º"] },
    { symbol: "rad", factor: 1 },
    { symbol: "mrad", factor: 1e-3 },
  ],
  Pressure: [
    { symbol: "MPa", factor: 1e6, also: ["N/mm^2"] },
    { symbol: "kPa", factor: 1e3 },
    { symbol: "GPa", factor: 1e9 },
    { symbol: "Pa", factor: 1, also: ["N/m^2"] },
    { symbol: "bar", factor: 1e5 },
    { symbol: "mbar", factor: 1e2 },
    { symbol: "psi", factor: POUND / 0.0254 ** 2 },
    { symbol: "ksi", factor: (1000 * POUND) / 0.0254 ** 2 },
  ],
  Density: [
    { symbol: "kg/m^3", factor: 1, also: ["kg/m3"] },
    { symbol: "g/cm^3", factor: 1e3, also: ["g/cm3", "g/cc"] },
  ],
  Number: [
    { symbol: "", factor: 1 },
    { symbol: "%", factor: 1e-2 },
  ],
  Force: [
    { symbol: "N", factor: 1 },
    { symbol: "mN", factor: 1e-3 },
    { symbol: "kN", factor: 1e3 },
    { symbol: "gf", factor: 9.80665e-3, also: ["p"] },
    { symbol: "kgf", factor: 9.80665, also: ["kp"] },
    { symbol: "lbf", factor: POUND },
  ],
  Stiffness: [
    { symbol: "N/mm", factor: 1e3, also: ["kN/m"] },
    { symbol: "N/m", factor: 1, also: ["mN/mm"] },
    { symbol: "gf/mm", factor: 9.80665 },
    { symbol: "lbf/in", factor: POUND / 0.0254 },
  ],
  RimStiffness: [
    { symbol: "N/mm/mm", factor: 1e6, also: ["N/mm^2", "MPa"] },
    { symbol: "kN/m/m", factor: 1e3, also: ["N/mm/m"] },
    { symbol: "N/m/m", factor: 1, also: ["N/m^2", "Pa"] },
  ],
  TurningStiffness: [
    { symbol: "N/rad", factor: 1, also: ["N", "N*m/rad/m"] },
    { symbol: "N*mm/rad/m", factor: 1e-3 },
  ],
  Acceleration: [
    { symbol: "g0", factor: 9.80665 },
    { symbol: "m/s^2", factor: 1 },
    { symbol: "mm/s^2", factor: 1e-3 },
  ],
  Time: [
    { symbol: "s", factor: 1 },
    { symbol: "ms", factor: 1e-3 },
    { symbol: "us", factor: 1e-6, also: ["µs", "μs"] },
    { symbol: "min", factor: 60 },
    { symbol: "h", factor: 3600 },
  ],
  Rate: [
    { symbol: "1/s", factor: 1, also: ["s^-1"] },
    { symbol: "1/ms", factor: 1e3 },
    { symbol: "1/min", factor: 1 / 60 },
  ],
  Temperature: [
    { symbol: "degC", factor: 1, zero: 273.15, also: ["°C", "C"] },
    { symbol: "K", factor: 1 },
    { symbol: "degF", factor: 5 / 9, zero: 459.67, also: ["°F", "F"] },
  ],
  TemperatureDifference: [{ symbol: "K", factor: 1, also: ["degC"] }],
  MolarEnergy: [
    { symbol: "kJ/mol", factor: 1e3 },
    { symbol: "J/mol", factor: 1 },
    { symbol: "kcal/mol", factor: 4184 },
  ],
  Expansion: [
    { symbol: "ppm/K", factor: 1e-6, also: ["um/m/K", "1e-6/K"] },
    { symbol: "1/K", factor: 1 },
    { symbol: "ppm/degF", factor: 1.8e-6 },
  ],
  Curvature: [
    { symbol: "1/m", factor: 1 },
    { symbol: "1/mm", factor: 1e3 },
  ],
};

/** The server writes a dimension `rim-stiffness`. */
function known(dimension: string | null): Unit[] {
  const plain = (dimension ?? "").replaceAll("-", "").toLowerCase();
  return Object.entries(TABLE).find(([name]) => name.toLowerCase() === plain)?.[1] ?? [];
}

function find(dimension: string | null, symbol: string): Unit | undefined {
  return known(dimension).find((u) => u.symbol === symbol || u.also?.includes(symbol));
}

/** Units to choose from, the handiest first: those that the server offers, or all that are known here. */
export function unitsFor(dimension: string | null, offered: string[]): string[] {
  const handy = known(dimension).map((u) => u.symbol);
  if (offered.length === 0) return handy;
  const first = handy.filter((u) => u === "" || offered.includes(u));
  return [...first, ...offered.filter((u) => !first.includes(u))];
}

/** What a number of one unit is in another; `null` when one of them is not known here. A `width` has no zero. */
export function convert(value: number, from: string, to: string, dimension: string | null, width = false): number | null {
  const a = find(dimension, from);
  const b = find(dimension, to);
  if (a === undefined || b === undefined) return null;
  if (a === b) return value;
  const si = (value + (width ? 0 : (a.zero ?? 0))) * a.factor;
  return si / b.factor - (width ? 0 : (b.zero ?? 0));
}

/** The SI value of a number with a unit; `null` for a unit that is not known here. */
export function toSi(value: number, unit: string, dimension: string | null): number | null {
  const u = find(dimension, unit);
  return u === undefined ? null : (value + (u.zero ?? 0)) * u.factor;
}

/** A number of the unit with this SI value. */
export function fromSi(si: number, unit: string, dimension: string | null): number | null {
  const u = find(dimension, unit);
  return u === undefined ? null : si / u.factor - (u.zero ?? 0);
}

/** The shortest decimal within half a millionth of the value; one that is not above `most` stays so. */
export function short(value: number, most = Infinity): string {
  if (value === 0 || !Number.isFinite(value)) return String(value);
  const size = Math.abs(value);
  for (let digits = 2; digits < 12; digits++) {
    const near = Number(size.toPrecision(digits));
    const unit = 10 ** (Math.floor(Math.log10(size)) + 1 - digits);
    const kept = near > most && size <= most ? Number((near - unit).toPrecision(digits)) : near;
    if (Math.abs(kept - size) <= 5e-7 * size) return String(Math.sign(value) * kept);
  }
  return String(value);
}
