// A batch as a person asks for it.

import AxeBuilder from "@axe-core/playwright";
import { expect, test, type Page } from "@playwright/test";
import { join } from "node:path";
import { flat, ofPage, ofTerminal, without } from "./lib/lines";
import { casesFolder, printed } from "./lib/program";
import { begin } from "./lib/visit";

const CAP = "silicone-cap-stays";
const panel = (page: Page) => page.locator("#question-panel");
const ask = (page: Page) => panel(page).locator(".panel-form > button[type=submit]").click();

/** What the page sends, as it goes out. */
function sent(page: Page): Record<string, unknown>[] {
  const list: Record<string, unknown>[] = [];
  page.on("request", (r) => {
    if (r.url().endsWith("/api/ask/spread")) list.push((r.postDataJSON() as { options: Record<string, unknown> }).options);
  });
  return list;
}

async function window(page: Page, from: string, to = ""): Promise<void> {
  await panel(page).getByRole("button", { name: "Add a window" }).click();
  await panel(page).getByLabel("Window 1, from").fill(from);
  await panel(page).getByLabel("Window 1, to").fill(to);
}

test("the sheet is the terminal's, and nothing is asked before the button is pressed", async ({ page }) => {
  test.setTimeout(120_000);
  const asked = sent(page);
  const errors = await begin(page, CAP, "spread");
  await expect(panel(page).getByRole("button", { name: "Ask", exact: true })).toBeEnabled({ timeout: 40_000 });
  await page.waitForTimeout(800);
  expect(asked).toEqual([]);
  await window(page, "0.03");
  await panel(page).getByLabel("Good parts wanted").fill("99.5 %");
  await ask(page);
  const { title, entries } = ofTerminal(await printed(["spread", join(casesFolder, CAP, "case.toml"), "--window", "margin=0.03..", "--want", "99.5 %"]));
  await expect(panel(page).locator(".panel-title")).toHaveText(title, { timeout: 60_000 });
  expect((await ofPage(panel(page).locator(".sheet"))).map(flat)).toEqual(without(entries, /^doubts?$/i).map(flat));
  expect(asked).toEqual([{ count: 100000, seed: 1, window: ["margin=0.03.."], want: "99.5 %" }]);
  expect(errors).toEqual([]);
});

test("distributions, measured values and pairs are sent as chosen", async ({ page }) => {
  const asked = sent(page);
  await begin(page, CAP, "spread");
  await panel(page).getByText("How the numbers vary").click();
  await panel(page).getByLabel("Parts", { exact: true }).fill("2000");
  await panel(page).getByLabel("Seed").fill("7");
  await panel(page).getByLabel("Distribution of radius (shape)").selectOption("uniform");
  await panel(page).getByLabel("Distribution of thickness (wall)").selectOption("measured");
  await panel(page).getByLabel("Measured values of thickness (wall)").fill("2.38; 2.41; 2.44");
  await panel(page).getByRole("button", { name: "Add two numbers that vary together" }).click();
  await panel(page).getByLabel("Pair 1, correlation").fill("0.5");
  await panel(page).getByLabel("Pair 1, second number").selectOption("material.youngs_modulus");
  await panel(page).getByLabel("Pair 1, first number").selectOption("shape.half_angle");
  await ask(page);
  await expect(panel(page).locator(".sheet")).toContainText("measured", { timeout: 60_000 });
  await expect(panel(page).locator(".sheet")).toContainText("seed 7");
  expect(asked).toEqual([
    { count: 2000, seed: 7, distribution: ["shape.radius=uniform", "wall.thickness=2.38; 2.41; 2.44;"], together: ["shape.half_angle,material.youngs_modulus=0.5"] },
  ]);
});

test("what is refused is said in place, and put right there", async ({ page }) => {
  await begin(page, CAP, "spread");
  await window(page, "0.1", "0.05");
  await ask(page);
  await expect(panel(page).getByRole("alert")).toContainText("the window is empty", { timeout: 40_000 });
  await expect(panel(page).getByRole("alert")).toContainText("FROM lies below TO");
  await panel(page).getByRole("button", { name: "Take window 1 out" }).click();
  await ask(page);
  await expect(panel(page).locator(".panel-title")).toContainText("GOOD", { timeout: 60_000 });
  await expect(panel(page).getByRole("alert")).toHaveCount(0);
});

test("drawings say in words what the sheet says", async ({ page }) => {
  await begin(page, CAP, "spread");
  await window(page, "0.03");
  await ask(page);
  const shares = panel(page).getByRole("region", { name: "What the parts do" });
  await expect(shares).toBeVisible({ timeout: 60_000 });
  const row = async (name: string) => ((await panel(page).locator(".sheet-rows > div", { has: page.locator("dt", { hasText: new RegExp(`^${name}$`) }) }).first().locator("dd").first().textContent()) ?? "").trim();
  const good = await row("good");
  expect(good).toMatch(/^9\d[\d.]* % \(95 % interval/);
  await expect(shares.getByRole("img")).toHaveAccessibleName(new RegExp(`good: ${good.replaceAll(/[.()]/g, "\\$&")}`));
  await expect(panel(page).getByRole("img", { name: /^What makes parts differ in their margin/ })).toHaveAccessibleName(/half angle \(shape\): [\d.]+ % of the variance alone/);
  await expect(panel(page).getByRole("img", { name: /^What half a tolerance would save/ })).toHaveAccessibleName(/half angle \(shape\): [\d.]+ % ± /);
  // As many parts in the histogram's table as were drawn.
  const [file] = await Promise.all([page.waitForEvent("download"), panel(page).getByRole("group", { name: "Save batch", exact: true }).getByRole("button", { name: "CSV" }).click()]);
  const chunks: Buffer[] = [];
  for await (const c of await file.createReadStream()) chunks.push(c as Buffer);
  const [head = "", ...lines] = Buffer.concat(chunks).toString().trim().split(/\r?\n/);
  expect(head).toMatch(/^from_SI,to_SI,/);
  expect(lines.reduce((sum, l) => sum + l.split(",").slice(2).reduce((a, b) => a + Number(b), 0), 0)).toBe(100000);
});

test("a long one tells how far it is and can be stopped", async ({ page }) => {
  test.setTimeout(120_000);
  await begin(page, "jumping-cap", "spread");
  await panel(page).getByRole("button", { name: "Add a window" }).click();
  await panel(page).getByLabel("Window 1, of what").selectOption("wait");
  await panel(page).getByLabel("Window 1, from").fill("0.1 s");
  await ask(page);
  const working = panel(page).getByRole("group", { name: "Batch: under way" });
  await expect(working).toBeVisible({ timeout: 40_000 });
  await working.getByRole("button", { name: "Stop" }).click();
  await expect(panel(page).getByRole("alert")).toContainText("Stopped", { timeout: 20_000 });
  await expect(working).toHaveCount(0);
});

test("another number of the case: the answer says that it is of the case before", async ({ page }) => {
  await begin(page, CAP, "spread");
  await ask(page);
  await expect(panel(page).locator(".panel-title")).toContainText("GOOD", { timeout: 60_000 });
  await page.getByRole("region", { name: "Quick changes" }).getByLabel("Thickness, slider").press("ArrowRight");
  await expect(panel(page)).toContainText("The case has changed: ask again.");
  await ask(page);
  await expect(panel(page)).not.toContainText("The case has changed", { timeout: 60_000 });
});

test("by keys alone, with names for a screen reader", async ({ page }) => {
  await begin(page, CAP, "spread");
  await page.locator("#tab-spread").press("ArrowLeft");
  await page.keyboard.press("ArrowRight");
  await expect(page.getByRole("tab", { name: "Batch" })).toBeFocused();
  await panel(page).getByLabel("Parts", { exact: true }).focus();
  await panel(page).getByLabel("Parts", { exact: true }).fill("1000");
  await page.keyboard.press("Enter");
  await expect(panel(page).locator(".panel-title")).toContainText("GOOD", { timeout: 60_000 });
  await panel(page).evaluate((el) => el.querySelectorAll("details").forEach((d) => (d.open = true)));
  for (const colorScheme of ["light", "dark"] as const) {
    await page.emulateMedia({ colorScheme });
    const found = await new AxeBuilder({ page }).include("#question-panel").analyze();
    expect(found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ")).slice(0, 4).join(", ")}`)).toEqual([]);
  }
});

test("on a phone nothing scrolls sideways", async ({ page }) => {
  await page.setViewportSize({ width: 360, height: 800 });
  await begin(page, CAP, "spread");
  await window(page, "0.03");
  await panel(page).getByText("How the numbers vary").click();
  await ask(page);
  await expect(panel(page).locator(".panel-title")).toContainText("GOOD", { timeout: 60_000 });
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(360);
});

test("a part without tolerances says why the question makes no sense", async ({ page }) => {
  const heard = await (await page.request.get(`/api/cases/${CAP}`)).text();
  const stored = JSON.parse(heard) as { text: string };
  stored.text = '[shape]\nkind = "cap"\nradius = "25 mm"\nhalf_angle = "60 deg"\n[wall]\nthickness = "2.4 mm"\n[material]\nyoungs_modulus = "1.2 MPa"\npoisson_ratio = 0.49\n[rim]\nkind = "free"\n';
  await page.addInitScript((s) => sessionStorage.setItem("calotte.case", s), JSON.stringify(stored));
  await page.goto("/");
  await page.locator("#tab-spread").click({ timeout: 40_000 });
  await expect(panel(page)).toContainText("makes no sense for this part", { timeout: 40_000 });
  await expect(panel(page)).toContainText(/tolerance/);
});
