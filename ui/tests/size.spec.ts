// Sizes as a person asks for them, and a solution taken into the case.

import AxeBuilder from "@axe-core/playwright";
import { expect, test, type Page } from "@playwright/test";
import { join } from "node:path";
import { flat, ofPage, ofTerminal, without } from "./lib/lines";
import { casesFolder, printed } from "./lib/program";
import { begin } from "./lib/visit";

const CAP = "silicone-cap-stays";
const panel = (page: Page) => page.locator("#question-panel");
const ask = (page: Page) => panel(page).locator(".panel-form > button[type=submit]").click();
const title = (page: Page) => panel(page).locator(".panel-title");
const wish = (page: Page, i: number, text: string) => panel(page).getByLabel(`Wish ${i}`, { exact: true }).fill(text);

async function wishes(page: Page, ...texts: string[]): Promise<void> {
  for (const [i, text] of texts.entries()) {
    if (i > 0) await panel(page).getByRole("button", { name: "Add a wish" }).click();
    await wish(page, i + 1, text);
  }
}

async function caseText(page: Page): Promise<string> {
  const sides = page.getByRole("group", { name: "Show the case as" });
  await sides.getByRole("button", { name: "Text" }).click();
  return await page.getByLabel("The case as text").inputValue();
}

test("the sheet is the terminal's, and the options are those of the form", async ({ page }) => {
  test.setTimeout(120_000);
  const asked: unknown[] = [];
  page.on("request", (r) => {
    if (r.url().endsWith("/api/ask/size")) asked.push((r.postDataJSON() as { options: unknown }).options);
  });
  const errors = await begin(page, CAP, "size");
  // 40 % either way of the thickness of the case.
  await expect(panel(page).getByLabel("Number 1, from")).toHaveValue("1.44 mm", { timeout: 40_000 });
  await expect(panel(page).getByLabel("Number 1, to")).toHaveValue("3.36 mm");
  await page.waitForTimeout(800);
  expect(asked).toEqual([]);
  await wishes(page, "margin >= 10 %", "largest mass");
  await ask(page);
  const out = ofTerminal(await printed(["size", join(casesFolder, CAP, "case.toml"), "--vary", "wall.thickness=1.44 mm..3.36 mm", "--wish", "margin >= 10 %", "--wish", "largest mass"]));
  await expect(title(page)).toHaveText(out.title, { timeout: 60_000 });
  expect((await ofPage(panel(page).locator(".sheet"))).map(flat)).toEqual(without(out.entries, /^doubts?$/i).map(flat));
  expect(asked).toEqual([{ vary: ["wall.thickness=1.44 mm..3.36 mm"], wish: ["margin >= 10 %", "largest mass"] }]);
  expect(errors).toEqual([]);
});

test("a solution is taken into the case, keeps its tolerance and its comments, and is undone in one step", async ({ page }) => {
  test.setTimeout(120_000);
  await begin(page, CAP, "size");
  await expect(panel(page).getByLabel("Number 1, from")).toHaveValue("1.44 mm", { timeout: 40_000 });
  const before = await caseText(page);
  await wishes(page, "margin >= 10 %", "largest mass");
  await ask(page);
  const table = panel(page).getByRole("group", { name: "Table of solutions" });
  await expect(table).toBeVisible({ timeout: 60_000 });
  const thickness = /([\d.]+) mm/.exec((await table.locator("tbody td").first().textContent()) ?? "")?.[1] ?? "";
  expect(parseFloat(thickness)).toBeGreaterThan(1.44);
  expect(parseFloat(thickness)).toBeLessThan(2.4);
  await table.getByRole("button", { name: /^Take this one/ }).click();
  const after = await caseText(page);
  expect(after).toBe(before.replace('"2.40 ± 0.05 mm"', `"${parseFloat(thickness)} ± 0.05 mm"`));
  await expect(panel(page)).toContainText("stands in the case; undo takes it back");
  await expect(table.getByRole("button")).toBeDisabled();
  // Its ends stay those that were asked.
  await expect(panel(page).getByLabel("Number 1, from")).toHaveValue("1.44 mm");
  // The verdict of the part now in hand is what was wished: ln(h*/h) = 10 %, so h/h* = exp(-0.1) = 0.9048.
  await expect(page.locator("#answer")).toContainText("h/h* 0.9048", { timeout: 40_000 });
  await page.getByRole("button", { name: /^Undo/ }).click();
  expect(await caseText(page)).toBe(before);
  await expect(table.getByRole("button", { name: /^Take this one/ })).toBeEnabled();
});

test("what cannot be read is said in place, with its column", async ({ page }) => {
  await begin(page, CAP, "size");
  await wishes(page, "margn >= 10 %");
  await ask(page);
  await expect(panel(page).getByRole("alert")).toContainText("column 1", { timeout: 40_000 });
  await expect(panel(page).getByRole("alert")).toContainText("margin");
  await wish(page, 1, "");
  await ask(page);
  await expect(panel(page).getByRole("alert")).toContainText("nothing is wished", { timeout: 20_000 });
});

test("two wishes that compete: the trade-off is drawn, and its ends and knee can be taken", async ({ page }) => {
  test.setTimeout(120_000);
  await begin(page, CAP, "size");
  await panel(page).getByRole("button", { name: "Add a number" }).click({ timeout: 40_000 });
  await panel(page).getByLabel("Number 2, which").selectOption("shape.half_angle");
  await wishes(page, "largest margin", "largest mass");
  await ask(page);
  await expect(title(page)).toContainText("TRADE-OFF", { timeout: 90_000 });
  const front = panel(page).getByRole("region", { name: "What largest margin costs largest mass" });
  await expect(front.getByRole("group", { name: "What largest margin costs largest mass" })).toBeVisible();
  await expect(panel(page).getByRole("button", { name: /^Take this one: solution \d: the knee/ })).toBeEnabled();
});

test("no solution: which wish stands in the way", async ({ page }) => {
  await begin(page, CAP, "size");
  await wishes(page, "margin >= 500 %");
  await ask(page);
  await expect(title(page)).toContainText("NO SOLUTION", { timeout: 60_000 });
  await expect(panel(page).getByRole("button", { name: /^Take this one/ })).toHaveCount(0);
});

test("an example fills the wish that is empty, then adds one", async ({ page }) => {
  await begin(page, CAP, "size");
  await panel(page).getByText("Examples", { exact: true }).click({ timeout: 40_000 });
  const examples = panel(page).getByRole("group", { name: "Examples of wishes" });
  await examples.getByRole("button", { name: "stays", exact: true }).click();
  await examples.getByRole("button", { name: "smallest mass" }).click();
  await expect(panel(page).getByLabel("Wish 1", { exact: true })).toHaveValue("stays");
  await expect(panel(page).getByLabel("Wish 2", { exact: true })).toHaveValue("smallest mass");
  // A silicone cap has no temperatures.
  await expect(examples.getByRole("button", { name: /temperature/ })).toHaveCount(0);
});

test("a long one can be stopped", async ({ page }) => {
  test.setTimeout(120_000);
  await begin(page, "jumping-cap", "size");
  for (let i = 0; i < 3; i++) await panel(page).getByRole("button", { name: "Add a number" }).click({ timeout: 40_000 });
  await wishes(page, "largest margin", "smallest mass");
  await ask(page);
  const working = panel(page).getByRole("group", { name: "Size: under way" });
  await expect(working).toBeVisible({ timeout: 40_000 });
  await working.getByRole("button", { name: "Stop" }).click();
  await expect(panel(page).getByRole("alert")).toContainText("Stopped", { timeout: 20_000 });
});

test("by keys alone, with names for a screen reader; on a phone nothing scrolls sideways", async ({ page }) => {
  test.setTimeout(120_000);
  await page.setViewportSize({ width: 360, height: 800 });
  await begin(page, CAP, "size");
  await panel(page).getByLabel("Wish 1", { exact: true }).fill("margin >= 10 %", { timeout: 40_000 });
  await page.keyboard.press("Enter");
  await expect(panel(page).getByRole("group", { name: "Table of solutions" })).toBeVisible({ timeout: 60_000 });
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(360);
  await panel(page).evaluate((el) => el.querySelectorAll("details").forEach((d) => (d.open = true)));
  for (const colorScheme of ["light", "dark"] as const) {
    await page.emulateMedia({ colorScheme });
    const found = await new AxeBuilder({ page }).include("#question-panel").analyze();
    expect(found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ")).slice(0, 4).join(", ")}`)).toEqual([]);
  }
});
