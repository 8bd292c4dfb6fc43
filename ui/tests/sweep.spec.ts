// A sweep laid over the map: what the page counts and draws is what the program computed, and what cannot lie there says why.

import AxeBuilder from "@axe-core/playwright";
import { expect, test, type Page } from "@playwright/test";
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { cellsDigest } from "../src/questions/map/sweep/cells";
import { countsOf, lay, pointsOf, SIDES, some, type Cell, type Chunk, type Sweep } from "../src/questions/map/sweep/points";
import { casesFolder, printed } from "./lib/program";
import { begin } from "./lib/visit";

const CAP = join(casesFolder, "silicone-cap-stays");
const panel = (page: Page) => page.locator("#question-panel");
const over = (page: Page) => page.getByRole("group", { name: "A sweep over the map" });
const said = (page: Page) => over(page).getByRole("status");
const wrong = (page: Page) => over(page).getByRole("alert");
const folderInput = (page: Page) => over(page).getByLabel(/^Lay (a|another) sweep over it…$/);
const filesInput = (page: Page) => over(page).getByLabel("or some of its files…");

let home = "";
test.beforeAll(() => {
  home = mkdtempSync(join(tmpdir(), "calotte-swept-"));
});
test.afterAll(() => rmSync(home, { recursive: true, force: true }));

interface Made {
  folder: string;
  counts: { question: string; answer: string; points: number }[];
  /** The program's own table, a record a row. */
  rows: Record<string, string>[];
}

/** A sweep of the workshop's cap; `plan` without the line that names the case: that of the worked case. */
async function sweep(name: string, plan?: string): Promise<Made> {
  const [folder, csv, file] = [join(home, name), join(home, `${name}.csv`), plan === undefined ? join(CAP, "sweep.toml") : join(home, `${name}.toml`)];
  if (plan !== undefined) writeFileSync(file, `case = ${JSON.stringify(join(CAP, "case.toml"))}\n${plan}`);
  const summary = JSON.parse(await printed(["sweep", file, "--out", folder, "--csv", csv, "--json"])) as Pick<Made, "counts"> & { complete: boolean };
  expect(summary.complete).toBe(true);
  const lines = readFileSync(csv, "utf8").trim().split("\n").filter((l) => !l.startsWith("#"));
  const heads = (lines[0] ?? "").split(",");
  // The one column with commas in it is the last, the note.
  return { folder, counts: summary.counts, rows: lines.slice(1).map((l) => Object.fromEntries(l.split(",").slice(0, heads.length).map((v, i) => [heads[i] ?? "", v]))) };
}

const chunks = (made: Made) => readdirSync(made.folder).filter((f) => f.endsWith(".parquet")).sort().map((f) => join(made.folder, f));
const vary = (key: string, from: string, to: string, count: number) => `[vary."${key}"]\nfrom = "${from}"\nto = "${to}"\ncount = ${count}\n`;
const countOf = (made: Made, answer: string, question = "threshold") => made.counts.find((c) => c.question === question && c.answer === answer)?.points ?? 0;

/** Places of the signs of one kind, in the drawing's pixels. */
async function signs(page: Page, side: string): Promise<[number, number][]> {
  const path = panel(page).locator(`.map-plot g[clip-path] path[data-cloud="sweep: ${side}"]`);
  return (await path.count()) === 0 ? [] : places((await path.getAttribute("d")) ?? "");
}
const places = (d: string): [number, number][] => [...d.matchAll(/M(-?[\d.]+) (-?[\d.]+)/g)].map((m) => [Number(m[1]), Number(m[2])]);

/** How many there are of each, by rising key. */
function tally(list: number[]): number[] {
  const found = new Map<number, number>();
  for (const v of list) found.set(v, (found.get(v) ?? 0) + 1);
  return [...found].sort((a, b) => a[0] - b[0]).map((f) => f[1]);
}

async function openMap(page: Page, name = "silicone-cap-stays"): Promise<string[]> {
  const heard = await begin(page, name, "map");
  await expect(panel(page).locator(".map-plot svg")).toBeVisible({ timeout: 60_000 });
  return heard;
}

test("the workshop's sweep: counts and places are the program's, and it is saved and taken away", async ({ page }) => {
  const made = await sweep("workshop");
  const [stay, back] = [countOf(made, "stays"), countOf(made, "returns")];
  expect(stay).toBeGreaterThan(20);
  expect(back).toBeGreaterThan(20);
  const heard = await openMap(page);
  expect(await page.evaluate(() => performance.getEntriesByType("resource").filter((r) => /\/read-/.test(r.name)).length)).toBe(0);
  await folderInput(page).setInputFiles(made.folder);
  await expect(said(page)).toContainText(`Sweep: ${stay + back} points: ${stay} stay, ${back} return, 0 undecided.`);
  await expect(wrong(page)).toBeEmpty();
  await expect(said(page)).not.toContainText("not drawn");
  await expect(said(page)).not.toContainText("another case");
  const svg = panel(page).locator(".map-plot svg");
  await expect(svg).toContainText("sweep: stays");
  await expect(svg).toContainText("sweep: returns");
  await expect(svg).not.toContainText("sweep: undecided");

  // Column by column and row by row as in the program's table; upwards is downwards in pixels.
  for (const [side, count] of [["stays", stay], ["returns", back]] as const) {
    const drawn = await signs(page, side);
    expect(drawn.length).toBe(count);
    const rows = made.rows.filter((r) => Number(r.thickness_ratio) < 1 === (side === "stays"));
    expect(tally(drawn.map((p) => p[0]))).toEqual(tally(rows.map((r) => Number(r["shape.half_angle_rad"]))));
    expect(tally(drawn.map((p) => -p[1]))).toEqual(tally(rows.map((r) => Number(r["wall.thickness_m"]))));
  }
  // One is filled and the other open, and both lie under the curves and the marker.
  const look = (side: string) => panel(page).locator(`g[clip-path] path[data-cloud="sweep: ${side}"]`).evaluate((el) => getComputedStyle(el).fill);
  expect(await look("returns")).toBe("none");
  expect(await look("stays")).toMatch(/^rgb/);
  expect(await svg.evaluate((el) => {
    const clouds = [...el.querySelectorAll("g[clip-path] [data-cloud]")];
    const curve = el.querySelector("g[clip-path] path[stroke-linejoin]");
    const knob = el.querySelector(".plot-knob");
    const before = (a: Element, b: Element | null) => b !== null && (a.compareDocumentPosition(b) & Node.DOCUMENT_POSITION_FOLLOWING) !== 0;
    return clouds.length === 2 && clouds.every((c) => before(c, curve) && before(c, knob));
  })).toBe(true);

  const save = async (what: string) => {
    const [file] = await Promise.all([page.waitForEvent("download"), page.getByRole("group", { name: "Save map" }).getByRole("button", { name: what, exact: true }).click()]);
    return readFileSync(await file.path(), "utf8");
  };
  const [picture, table] = [await save("SVG"), await save("CSV")];
  const paths = [...picture.matchAll(/<path[^>]* d="(M[^"]*)"/g)].map((m) => places(m[1] ?? "").length);
  expect(paths).toContain(stay);
  expect(paths).toContain(back);
  expect(table).toContain("threshold");
  expect(table).not.toContain("sweep");

  await over(page).getByRole("button", { name: "Take the sweep away" }).click();
  await expect(said(page)).toBeEmpty();
  await expect(svg).not.toContainText("sweep");
  expect(await signs(page, "stays")).toEqual([]);
  expect(heard).toEqual([]);
});

test("chunks that are missing, twice there or damaged are told, and the others are not lost", async ({ page }) => {
  const made = await sweep("broken");
  const [first, second, third, fourth] = chunks(made);
  if (first === undefined || second === undefined || third === undefined || fourth === undefined) throw new Error("fewer chunks than there should be");
  const folder = join(home, "hurt");
  mkdirSync(folder);
  const put = (name: string, bytes: Uint8Array | string) => {
    writeFileSync(join(folder, name), bytes);
    return join(folder, name);
  };
  await openMap(page);
  await filesInput(page).setInputFiles([first, second, fourth]);
  await expect(said(page)).toContainText("Sweep: 126 points:");
  await expect(said(page)).toContainText("These are 126 of the 176 points of its plan");

  // A changed cell: the smallest wall's number is one bit off, which Parquet itself does not notice.
  const bytes = readFileSync(second);
  const at = bytes.indexOf(Buffer.from(new Float64Array([Number(made.rows[50]?.["wall.thickness_m"])]).buffer));
  expect(at).toBeGreaterThan(0);
  const changed = Uint8Array.from(bytes);
  changed[at] = (changed[at] ?? 0) ^ 1;
  const twice = join(folder, "chunk-000000 (1).parquet");
  copyFileSync(first, twice);
  await filesInput(page).setInputFiles([
    first,
    twice,
    put("changed.parquet", changed),
    put("cut.parquet", readFileSync(third).subarray(0, 1500)),
    put("letter.parquet", "Dear all,\nthis is no table.\n"),
    fourth,
  ]);
  await expect(said(page)).toContainText("Sweep: 76 points:");
  await expect(wrong(page).locator("p")).toHaveText([
    "chunk-000000.parquet is left out: it holds the same points as chunk-000000 (1).parquet.",
    "cut.parquet is left out: its end is missing.",
    "letter.parquet is left out: it is no Parquet file.",
    "changed.parquet is left out: it is damaged: its cells are not those that it was written with.",
  ]);
  const rows = made.rows.filter((r) => Number(r.point) < 50 || Number(r.point) >= 150);
  const stay = rows.filter((r) => Number(r.thickness_ratio) < 1).length;
  await expect(said(page)).toContainText(`Sweep: 76 points: ${stay} stay, ${76 - stay} return`);
  expect((await signs(page, "stays")).length).toBe(stay);

  // Nothing that can be read: what lay there stays, and what would be right is said.
  await filesInput(page).setInputFiles([join(folder, "letter.parquet")]);
  await expect(wrong(page)).toContainText("None of these files can be read. Pick the folder that was given to calotte sweep with --out");
  await expect(said(page)).toContainText("Sweep: 76 points:");
  await filesInput(page).setInputFiles([join(CAP, "case.toml")]);
  await expect(wrong(page)).toContainText("There is no .parquet file among what was picked.");
});

test("chunks of two plans are refused", async ({ page }) => {
  const [one, two] = [await sweep("one", `questions = ["threshold"]\ndesign = "grid"\n${vary("wall.thickness", "1 mm", "4 mm", 5)}${vary("depth", "40 deg", "70 deg", 5)}`), await sweep("two", `questions = ["threshold"]\ndesign = "grid"\n${vary("wall.thickness", "1 mm", "4 mm", 6)}${vary("depth", "40 deg", "70 deg", 5)}`)];
  const other = join(home, "of-two.parquet");
  copyFileSync(chunks(two)[0] ?? "", other);
  await openMap(page);
  await filesInput(page).setInputFiles([...chunks(one), other]);
  await expect(wrong(page)).toContainText(/These chunks are not of one sweep: 1 of plan [0-9a-f]{16}.*\(chunk-000000\.parquet\); 1 of plan [0-9a-f]{16}.*\(of-two\.parquet\)\. Pick the chunks of one plan/);
  await expect(said(page)).toBeEmpty();
  expect(await signs(page, "stays")).toEqual([]);
  // Each by itself is taken.
  await filesInput(page).setInputFiles([other]);
  await expect(said(page)).toContainText("Sweep: 30 points:");
  await expect(wrong(page)).toBeEmpty();
});

test("a sweep of other numbers says so, and a button makes them the axes", async ({ page }) => {
  const made = await sweep("other", `questions = ["threshold"]\ndesign = "grid"\n${vary("wall.thickness", "1 mm", "4 mm", 9)}${vary("shape.radius", "20 mm", "40 mm", 7)}`);
  const heard = await openMap(page);
  await folderInput(page).setInputFiles(made.folder);
  await expect(said(page)).toContainText("Not drawn. The sweep varies thickness (wall) and radius (shape); the axes of this map are depth and thickness (wall).");
  expect(await signs(page, "stays")).toEqual([]);
  await over(page).getByRole("button", { name: "Map over the sweep's two numbers" }).click();
  await expect(said(page)).not.toContainText("Not drawn", { timeout: 60_000 });
  await expect(panel(page).locator(".map-plot svg")).toContainText("radius, mm");
  await expect.poll(async () => (await signs(page, "stays")).length + (await signs(page, "returns")).length).toBe(63);
  expect((await signs(page, "stays")).length).toBe(countOf(made, "stays"));
  await expect(said(page)).not.toContainText("beyond");
  await expect(over(page).getByRole("button", { name: "Map over the sweep's two numbers" })).toHaveCount(0);
  // Upwards stayed what it was.
  await expect(panel(page).getByLabel("Upwards, number")).toHaveValue("wall.thickness");
  await expect(panel(page).getByLabel("Sideways, number")).toHaveValue("shape.radius");
  expect(heard).toEqual([]);
});

test("three numbers, another case, points beyond the axes and too many to draw are said", async ({ page }) => {
  const plan = `questions = ["threshold"]\ndesign = "latin hypercube"\npoints = 9001\nchunk = 3000\n[vary."wall.thickness"]\nfrom = "1 mm"\nto = "8 mm"\n[vary.depth]\nfrom = "40 deg"\nto = "70 deg"\n[vary."shape.radius"]\nfrom = "24 mm"\nto = "40 mm"\n`;
  const made = await sweep("three", plan);
  await openMap(page);
  await folderInput(page).setInputFiles(made.folder);
  const certified = (r: Record<string, string>) => r.certified === "true";
  const stay = made.rows.filter((r) => certified(r) && Number(r.thickness_ratio) < 1);
  const back = made.rows.filter((r) => certified(r) && Number(r.thickness_ratio) >= 1);
  const rest = made.rows.filter((r) => !certified(r));
  expect(rest.length).toBeGreaterThan(10);
  const spaced = (n: number) => n.toLocaleString("en").replaceAll(",", " ");
  await expect(said(page)).toContainText(`Sweep: 9 001 points: ${spaced(stay.length)} stay, ${spaced(back.length)} return, ${spaced(rest.length)} undecided.`, { timeout: 20_000 });
  await expect(said(page)).toContainText("The points lie at different values of radius (shape), which is on neither axis");
  // The map's usual ends: a third to three times the wall of 2.4 mm.
  const beyond = made.rows.filter((r) => Number(r["wall.thickness_m"]) > 7.2e-3 * (1 + 1e-9)).length;
  await expect(said(page)).toContainText(`${spaced(beyond)} points lie beyond the ends of the axes and are not drawn.`);
  const inside = 9001 - beyond;
  expect(inside).toBeGreaterThan(4000);
  await expect(said(page)).toContainText(`Of the ${spaced(inside)} within the axes 4 000, picked by chance, are drawn; all are counted.`);
  const drawn = (await Promise.all(["stays", "returns", "undecided"].map((s) => signs(page, s)))).map((s) => s.length);
  expect(drawn.reduce((a, b) => a + b, 0)).toBe(4000);
  expect(drawn[2]).toBeGreaterThan(0);
  await expect(panel(page).locator(".map-plot svg")).toContainText("sweep: undecided");
  // More than two numbers are no axes.
  await expect(over(page).getByRole("button", { name: "Map over the sweep's two numbers" })).toHaveCount(0);
});

test("whether the sweep is of this case is said", async ({ page }) => {
  const made = await sweep("case");
  const other = "The sweep was made of another case than this map";
  await openMap(page, "silicone-cap-stays");
  await folderInput(page).setInputFiles(made.folder);
  await expect(said(page)).toContainText("Sweep: 176 points:");
  await expect(said(page)).not.toContainText(other);
  await openMap(page, "silicone-cap-thicker");
  await folderInput(page).setInputFiles(made.folder);
  await expect(said(page)).toContainText("Sweep: 176 points:");
  await expect(said(page)).toContainText(other);
});

test("where the verdict was asked it decides", async ({ page }) => {
  const made = await sweep("both", `questions = ["threshold", "verdict"]\ndesign = "grid"\n${vary("wall.thickness", "1 mm", "4 mm", 6)}${vary("depth", "40 deg", "70 deg", 5)}`);
  const [stay, back, none] = ["stays", "returns", "undecided"].map((a) => countOf(made, a, "verdict"));
  await openMap(page);
  await folderInput(page).setInputFiles(made.folder);
  await expect(said(page)).toContainText(`Sweep: 30 points: ${stay} stay, ${back} return, ${none} undecided.`);
  // Only a poke tells nothing of the kind.
  writeFileSync(join(home, "poked-case.toml"), `${readFileSync(join(CAP, "case.toml"), "utf8").replace('kind = "free"', 'kind = "table"')}\n[load]\nkind = "ball"\nradius = "4 mm"\n`);
  writeFileSync(join(home, "poked.toml"), `case = "poked-case.toml"\nquestions = ["poke"]\ndesign = "grid"\n${vary("wall.thickness", "2 mm", "2.4 mm", 2)}`);
  await printed(["sweep", join(home, "poked.toml"), "--out", join(home, "poked"), "--json"]);
  await folderInput(page).setInputFiles(join(home, "poked"));
  await expect(wrong(page)).toContainText('chunk-000000.parquet is left out: its sweep asked neither "threshold" nor "verdict"');
});

for (const colorScheme of ["light", "dark"] as const)
  test(`on a phone, ${colorScheme}`, async ({ page }, info) => {
    await page.setViewportSize({ width: 375, height: 812 });
    await page.emulateMedia({ colorScheme });
    const made = await sweep(`phone-${colorScheme}`);
    await openMap(page);
    await folderInput(page).setInputFiles(made.folder);
    await expect(said(page)).toContainText("Sweep: 176 points:");
    await filesInput(page).setInputFiles(join(CAP, "case.toml"));
    await expect(wrong(page)).toContainText("no .parquet file");
    expect((await signs(page, "stays")).length).toBe(countOf(made, "stays"));
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(375);
    const found = await new AxeBuilder({ page }).include("#question-panel").analyze();
    expect(found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ")).join(", ")}`)).toEqual([]);
    await panel(page).locator(".map-plot").screenshot({ path: info.outputPath("map.png") });
  });

function chunk(columns: Record<string, Cell[]>, units: Record<string, string> = {}): Chunk {
  const names = Object.keys(columns);
  return { file: "a.parquet", said: new Map(names.map((n) => [`column.${n}.unit`, units[n] ?? "1"])), rows: columns[names[0] ?? ""]?.length ?? 0, columns: new Map(Object.entries(columns)) };
}

test("rows become points", () => {
  const of = (columns: Record<string, Cell[]>, units: Record<string, string> = {}): Sweep => {
    const points = pointsOf(chunk(columns, units));
    return { plan: "", caseDigest: null, planned: 9, varied: points.varied, chunks: [points] };
  };
  const ratio = of({ "wall.thickness_m": [1e-3, 2e-3, 3e-3, 4e-3], "material.poisson_ratio": [0.3, 0.4, 0.45, 0.5], thickness_ratio: [0.9, 1, 0.9, null], certified: [true, true, false, null] }, { "wall.thickness_m": "m" });
  expect(ratio.varied).toEqual([{ key: "wall.thickness", unit: "m" }, { key: "material.poisson_ratio", unit: "1" }]);
  expect(countsOf(ratio)).toEqual({ all: 4, stays: 1, returns: 1, undecided: 2 });
  // The verdict decides, also against the threshold; a part that waits comes back.
  const both = of({ depth_rad: [1, 1, 1, 1, 1], threshold_thickness_ratio: [2, 2, 2, 2, 2], threshold_certified: [true, true, true, true, true], verdict_verdict: ["stays", "returns", "waits", "undecided", null] }, { depth_rad: "rad" });
  expect(both.varied).toEqual([{ key: "depth", unit: "rad" }]);
  expect(countsOf(both)).toEqual({ all: 5, stays: 1, returns: 2, undecided: 2 });
  // Units as they stand in names.
  const units = of({ "a.b_per_K": [1], "c.d_N_per_m2": [1], "e.f_kg_per_m3": [1], verdict: ["stays"] }, { "a.b_per_K": "1/K", "c.d_N_per_m2": "N/m/m", "e.f_kg_per_m3": "kg/m^3" });
  expect(units.varied.map((v) => v.key)).toEqual(["a.b", "c.d", "e.f"]);
  expect(() => of({ "wall.thickness_m": [1], verdict: ["stays"] }, { "wall.thickness_m": "kg" })).toThrow("does not end in its unit");
  expect(() => of({ "wall.thickness_m": [1], trip_load_SI: [1] }, { "wall.thickness_m": "m" })).toThrow("threshold");

  // Both ends of an axis belong to it; beyond them nothing is drawn, and of many some.
  const ends = [[1e-3, 3e-3], [0.3, 0.5]] as const;
  expect(lay(ratio, [0, 1], ends)).toMatchObject({ beyond: 1, within: 3, sides: { stays: { x: [1e-3], y: [0.3] }, returns: { x: [2e-3] }, undecided: { x: [3e-3] } } });
  const two = lay(ratio, [0, 1], ends, 2);
  expect(two).toMatchObject({ beyond: 1, within: 3 });
  expect(SIDES.reduce((n, side) => n + two.sides[side].x.length, 0)).toBe(2);
});

test("some of many points lie as all do", () => {
  const taken = (count: number, most: number) => {
    const takes = some(count, most);
    return Array.from({ length: count }, (_, k) => k).filter(() => takes());
  };
  expect(taken(7, 9)).toEqual([0, 1, 2, 3, 4, 5, 6]);
  expect(taken(0, 4)).toEqual([]);
  for (const [count, most] of [[8, 7], [4001, 4000], [2_000_000, 4000], [100, 0]] as const) expect(taken(count, most).length).toBe(most);
  // No residue and no stretch is favoured: 250 in each of sixteen boxes, give or take 15; five standard deviations are allowed.
  for (const count of [65_536, 100_000, 1_000_000])
    for (const box of [(k: number) => k % 16, (k: number) => Math.floor((k * 16) / count), (k: number) => Math.floor(k / 256) % 16]) {
      const boxes = new Array<number>(16).fill(0);
      for (const k of taken(count, 4000)) boxes[box(k)] = (boxes[box(k)] ?? 0) + 1;
      expect(Math.max(...boxes.map((n) => Math.abs(n - 250)))).toBeLessThan(75);
    }
});

test("a checksum of cells changes with every cell and with their places", () => {
  const digest = (first: number, ...columns: Cell[][]) => cellsDigest(first, columns[0]?.length ?? 0, columns);
  const all = [digest(0, [1, 2]), digest(1, [1, 2]), digest(0, [2, 1]), digest(0, [1, null]), digest(0, [1n, 2n]), digest(0, [true, false]), digest(0, ["a", "b"]), digest(0, ["ab", ""]), digest(0, [1], [2])];
  expect(new Set(all).size).toBe(all.length);
  for (const d of all) expect(d).toMatch(/^[0-9a-f]{16}$/);
});
