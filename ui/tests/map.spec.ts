// The map: its curves, and the case in it as a marker.

import { expect, test, type Page } from "@playwright/test";

async function openMap(page: Page): Promise<void> {
  await page.goto("./");
  await expect(page.locator("#answer")).toContainText("2.556 mm", { timeout: 20_000 });
  await page.getByRole("tab", { name: "Map" }).click();
  await expect(page.locator(".map-plot svg")).toBeVisible({ timeout: 30_000 });
}

const marker = (page: Page) => page.getByRole("slider", { name: "You are here" });
const asked = (page: Page): string[] => {
  const list: string[] = [];
  page.on("request", (r) => {
    const m = /\/api\/ask\/(\w+)/.exec(r.url());
    if (m) list.push(m[1] ?? "");
  });
  return list;
};

test("dragging the marker across the threshold changes the verdict, and asks no new map", async ({ page }) => {
  await openMap(page);
  await expect(page.getByTestId("map-here")).toContainText("STAYS");
  await expect(marker(page)).toHaveAttribute("aria-valuetext", "half-angle 60.00°, thickness 2.400 mm");
  const svg = page.locator(".map-plot svg");
  for (const word of ["threshold", "stays", "returns", "h/h* = 0.8", "h/h* = 1.25", "half-angle", "thickness, mm"]) await expect(svg).toContainText(word);

  const questions = asked(page);
  await svg.scrollIntoViewIfNeeded();
  const knob = await marker(page).locator(".plot-knob").boundingBox();
  const box = await svg.boundingBox();
  if (knob === null || box === null) throw new Error("nothing drawn");
  const [x, y] = [knob.x + knob.width / 2, knob.y + knob.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x - 20, y - 30, { steps: 4 });
  await page.mouse.move(x - 60, y - 60, { steps: 4 });
  await page.mouse.up();
  await expect(page.getByTestId("map-here")).toContainText("RETURNS", { timeout: 15_000 });
  await expect(page.locator("#answer")).toContainText(/returns/i);
  // Both numbers of the case were written, with their tolerances.
  await page.getByRole("group", { name: "Show the case as" }).getByRole("button", { name: "Text" }).click();
  const text = await page.locator("#part textarea").first().inputValue();
  const half = /half_angle = "([\d.]+) ± 0\.7 deg"/.exec(text)?.[1];
  const wall = /thickness = "([\d.]+) ± 0\.05 mm"/.exec(text)?.[1];
  expect(Number(half)).toBeLessThan(58);
  expect(Number(wall)).toBeGreaterThan(2.5);
  expect(await marker(page).getAttribute("aria-valuetext")).toContain(`${Number(half).toFixed(2)}°`);
  await page.waitForTimeout(1500);
  expect(questions).toContain("verdict");
  expect(questions).not.toContain("map");

  // It can be undone; moves of one drag join while they follow each other quickly.
  const undo = page.getByRole("button", { name: /^Undo/ });
  for (let i = 0; i < 9 && (await undo.isEnabled()); i++) await undo.click();
  await expect(page.getByTestId("map-here")).toContainText("STAYS", { timeout: 15_000 });
  await expect(marker(page)).toHaveAttribute("aria-valuetext", "half-angle 60.00°, thickness 2.400 mm");
});

test("arrow keys and sliders move the case too", async ({ page }) => {
  await openMap(page);
  await marker(page).focus();
  for (let i = 0; i < 6; i++) await page.keyboard.press("ArrowUp");
  await expect(page.getByTestId("map-here")).toContainText("RETURNS", { timeout: 15_000 });
  await expect(marker(page)).toHaveAttribute("aria-valuetext", /half-angle 60\.00°, thickness 2\.7\d\d mm/);
  const angle = page.locator(".map-here").getByRole("slider", { name: "half-angle" });
  await angle.focus();
  for (let i = 0; i < 40; i++) await page.keyboard.press("ArrowRight");
  await expect(page.getByTestId("map-here")).toContainText("STAYS", { timeout: 15_000 });
});

test("a change of something else asks a new map, and choices change its curves", async ({ page }) => {
  await openMap(page);
  const questions = asked(page);
  await page.getByRole("group", { name: "Show the case as" }).getByRole("button", { name: "Text" }).click();
  const text = page.locator("#part textarea").first();
  await text.fill((await text.inputValue()).replace('name = "silicone-30"', 'name = "silicone-30"\npoisson_ratio = 0.3'));
  await expect.poll(() => questions.filter((q) => q === "map").length, { timeout: 20_000 }).toBe(1);
  await expect(page.locator(".map-plot svg")).toBeVisible();

  const form = page.locator(".map-form");
  await form.getByLabel("Trip loads").fill("2 N");
  await form.getByLabel("where snapping begins").check();
  await form.getByLabel("Equal margins h/h*").fill("0.9");
  await expect(page.getByText("The choices above have changed since this map.")).toBeVisible();
  await form.getByRole("button", { name: "Ask again" }).click();
  await expect(page.locator(".map-plot svg")).toContainText("trips at 2", { timeout: 40_000 });
  await expect(page.locator(".map-plot svg")).toContainText("snapping first");
  await expect(page.locator(".map-plot svg")).toContainText("h/h* = 0.9");
  await expect(page.locator(".map-plot svg")).not.toContainText("1.25");

  await form.getByLabel("Equal margins h/h*").fill("0");
  await form.getByRole("button", { name: "Ask again" }).click();
  await expect(page.getByRole("alert").filter({ hasText: /greater than 0/ })).toBeVisible({ timeout: 20_000 });
});

test("where depth is no number of the case, that is said", async ({ page }) => {
  await openMap(page);
  await page.getByRole("group", { name: "Show the case as" }).getByRole("button", { name: "Text" }).click();
  const text = page.locator("#part textarea").first();
  await text.fill((await text.inputValue()).replace('half_angle = "60 ± 0.7 deg"', 'rise = "12.4 mm"'));
  const sideways = page.locator(".map-form").getByLabel("Sideways, number");
  await expect(sideways).toHaveValue("shape.rise", { timeout: 20_000 });
  await sideways.selectOption("depth");
  await expect(page.getByText(/depth is no number of this case/)).toBeVisible({ timeout: 30_000 });
  await expect(page.locator(".map-here").getByRole("slider", { name: "half-angle" })).toBeDisabled();
  // The other axis still moves.
  await marker(page).focus();
  for (let i = 0; i < 8; i++) await page.keyboard.press("ArrowUp");
  await expect(page.getByTestId("map-here")).toContainText("RETURNS", { timeout: 15_000 });
});
