// Heat as a person uses it: up to the trip, down to the reset.

import { expect, test, type Page } from "@playwright/test";
import { begin } from "./lib/visit";

const panel = (page: Page) => page.locator("#question-panel");

test("trips going up, resets going down, at the temperatures of the sheet", async ({ page }) => {
  test.setTimeout(90_000);
  const errors = await begin(page, "propagator-cutout", "heat");
  await expect(panel(page).locator(".panel-title")).toContainText("TRIPS", { timeout: 40_000 });
  const sheet = (await panel(page).locator(".sheet").textContent()) ?? "";
  const [trip, reset] = [/It trips at ([\d.]+ °C)/.exec(sheet)?.[1] ?? "", /It resets at ([\d.]+ °C)/.exec(sheet)?.[1] ?? ""];
  expect(trip).toMatch(/^[\d.]+ °C$/);
  expect(parseFloat(trip)).toBeGreaterThan(parseFloat(reset));
  const slider = panel(page).locator('input[type="range"]').first();
  const read = panel(page).getByTestId("heat-read");
  const said = panel(page).getByTestId("heat-jump");
  const to = (celsius: number) => slider.fill(String(celsius + 273.15));
  // Between the two it is as made on the way up …
  const between = (parseFloat(trip) + parseFloat(reset)) / 2;
  await to(between);
  await expect(read).toContainText("As made");
  const low = await read.textContent();
  await to(parseFloat(trip) - 0.5);
  await expect(read).toContainText("As made");
  await to(parseFloat(trip) + 0.5);
  await expect(read).toContainText("Tripped");
  await expect(said).toContainText(`tripped at ${trip}`);
  // … and tripped on the way down, at the same temperature.
  await to(between);
  await expect(read).toContainText("Tripped");
  expect(await read.textContent()).not.toBe(low);
  await to(parseFloat(reset) + 0.5);
  await expect(read).toContainText("Tripped");
  await to(parseFloat(reset) - 0.5);
  await expect(read).toContainText("As made");
  await expect(said).toContainText(`reset at ${reset}`);
  expect(errors).toEqual([]);
});

test("spread and map on demand", async ({ page }) => {
  test.setTimeout(240_000);
  await begin(page, "propagator-cutout", "heat");
  await expect(panel(page).locator(".panel-title")).toBeVisible({ timeout: 40_000 });
  await panel(page).locator("summary", { hasText: "Ask about many discs" }).click();
  await panel(page).getByLabel(/Discs drawn/).fill("30");
  await panel(page).getByRole("button", { name: "Spread of trip and reset" }).click();
  await expect(panel(page).getByRole("region", { name: "Spread of trip and reset" })).toContainText("over 30 drawn discs", { timeout: 90_000 });
  await panel(page).getByLabel("Grid").fill("7x7");
  await panel(page).getByRole("button", { name: "Map over depth and thickness" }).click();
  const map = panel(page).getByRole("region", { name: "Map over depth and thickness" });
  await expect(map).toContainText("Of 49 parts", { timeout: 120_000 });
  await expect(map.getByRole("group", { name: "Curves of equal trip temperature" })).toBeVisible();
});

test("a part without layers says why the question makes no sense", async ({ page }) => {
  await begin(page, "silicone-cap-stays", "heat");
  await expect(page.locator("#tab-heat")).toHaveAccessibleName(/not for this part/, { timeout: 40_000 });
  await expect(panel(page)).toContainText("makes no sense for this part");
  await expect(panel(page)).toContainText(/layers/);
});
