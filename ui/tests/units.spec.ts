// Every unit that the page changes numbers into, against the reader of the case: the SI value stays what it was.

import { expect, test } from "@playwright/test";
import { asToml } from "../src/text/quantity";
import { fromSi, unitsFor } from "../src/text/units";

const CAP = (wall: string, more: string) => `[shape]
kind = "cap"
radius = "25 mm"
half_angle = "SHAPE"

[wall]
${wall}

[material]
youngs_modulus = "E"
poisson_ratio = "NU"
density = "RHO"

[rim]
kind = "elastic"
radial = "K"
axial = "0.05 MPa"
circumferential = "0.02 MPa"
turning = "T"
${more}`;

/** Where each dimension is tried: what stands for it in the text, its key, its SI value. */
const PLACES: [string, string, string, number][] = [
  ["Angle", "SHAPE", "shape.half_angle", 1],
  ["Length", "WALL", "wall.thickness", 2e-3],
  ["Pressure", "E", "material.youngs_modulus", 1.2e6],
  ["Number", "NU", "material.poisson_ratio", 0.45],
  ["Density", "RHO", "material.density", 1100],
  ["RimStiffness", "K", "rim.radial", 5e4],
  ["TurningStiffness", "T", "rim.turning", 0.2],
  ["Time", "TIME", "hold.time", 90],
  ["Temperature", "TEMP", "surroundings.temperature", 296],
  ["Acceleration", "ACC", "surroundings.gravity", 9.5],
  ["Rate", "RATE", "surroundings.damping", 0.5],
];
const TEXT = CAP('thickness = "WALL"', '\n[hold]\ntime = "TIME"\n\n[surroundings]\ntemperature = "TEMP"\ngravity = "ACC"\ndamping = "RATE"\n');

const rounds = Math.max(...PLACES.map(([dimension]) => unitsFor(dimension, []).length));

test("there are units to try", () => {
  expect(rounds).toBeGreaterThan(5);
});

for (let round = 0; round < rounds; round++) {
  test(`units, number ${round + 1} of each dimension`, async ({ request }) => {
    let text = TEXT;
    const wanted: [string, string, number][] = [];
    for (const [dimension, mark, key, si] of PLACES) {
      const units = unitsFor(dimension, []);
      const unit = units[round % units.length] ?? "";
      const value = fromSi(si, unit, dimension);
      if (value === null) throw new Error(`${unit} is not known`);
      text = text.replace(`"${mark}"`, asToml(`${value} ${unit}`.trim(), undefined));
      wanted.push([key, unit, si]);
    }
    const response = await request.post("./api/ask/look", { data: { text, files: {}, options: {}, want: {}, page: "test" } });
    const lines = (await response.text()).trim().split("\n").map((l) => JSON.parse(l) as Record<string, unknown>);
    expect((lines[0]?.findings as { level: string }[]).filter((f) => f.level === "error")).toEqual([]);
    const last = lines[lines.length - 1] as { answer?: { report: { inputs: { key: string; value_si: number }[] } } };
    const inputs = last.answer?.report.inputs ?? [];
    for (const [key, unit, si] of wanted) {
      const found = inputs.find((i) => i.key === key);
      expect(found, `${key} in ${unit}`).toBeDefined();
      expect(Math.abs((found?.value_si ?? Number.NaN) / si - 1), `${key} in ${unit}`).toBeLessThan(1e-9);
    }
  });
}
