// Modes as a person uses them, and the tabs by keys.

import { expect, test, type Page } from "@playwright/test";
import { begin } from "./lib/visit";

const panel = (page: Page) => page.locator("#question-panel");

test("shows the lowest mode, named as in the sheet, and lets it go again", async ({ page }) => {
  const errors = await begin(page, "silicone-cap-stays", "modes");
  const title = panel(page).locator(".panel-title");
  await expect(title).toContainText("LOWEST", { timeout: 40_000 });
  const lowest = /LOWEST ([\d.]+ k?Hz)/.exec((await title.textContent()) ?? "")?.[1] ?? "";
  expect(lowest).not.toBe("");
  const read = panel(page).getByTestId("mode-read");
  await expect(read).toContainText("Nothing is laid over the picture");
  await panel(page).getByRole("button", { name: "higher" }).click();
  await expect(read).toContainText(lowest);
  await expect(page.locator("#see")).toContainText(/ripple|waves|n = 2/i);
  await panel(page).getByRole("button", { name: "higher" }).click();
  await expect(read).not.toContainText(lowest);
  await panel(page).getByRole("button", { name: "at rest" }).click();
  await expect(read).toContainText("Nothing is laid over the picture");
  expect(errors).toEqual([]);
});

test("the table shows any mode; the inverted shape has its own", async ({ page }) => {
  test.setTimeout(120_000);
  await begin(page, "silicone-cap-stays", "modes");
  const title = panel(page).locator(".panel-title");
  await expect(title).toContainText("LOWEST", { timeout: 40_000 });
  const natural = await title.textContent();
  await panel(page).locator("summary", { hasText: /All \d+ modes/ }).click();
  await panel(page).getByRole("button", { name: "Show n = 3, order 1" }).click();
  await expect(panel(page).getByTestId("mode-read")).toContainText("3 waves");
  await panel(page).getByRole("radio", { name: "inverted shape" }).check();
  await expect(title).not.toHaveText(natural ?? "", { timeout: 60_000 });
  await expect(panel(page).locator(".sheet")).toContainText("inverted shape");
});

test("pressure is asked for, and what cannot be answered is said", async ({ page }) => {
  test.setTimeout(120_000);
  await begin(page, "key-dome", "modes");
  await expect(panel(page).locator(".panel-title")).toBeVisible({ timeout: 60_000 });
  await panel(page).getByLabel(/Buckling under pressure/).selectOption("outside");
  await expect(panel(page).locator(".sheet")).toContainText(/pressure/i, { timeout: 60_000 });
});

test("tabs by keys", async ({ page }) => {
  await begin(page, "silicone-cap-stays", "poke");
  const poke = page.getByRole("tab", { name: "Poke" });
  await poke.focus();
  await expect(poke).toHaveAttribute("aria-selected", "true");
  await poke.press("ArrowRight");
  await expect(page.getByRole("tab", { name: "Let go" })).toBeFocused();
  await expect(page.getByRole("tab", { name: "Let go" })).toHaveAttribute("aria-selected", "true");
  await page.keyboard.press("End");
  await expect(page.getByRole("tab", { name: "Size" })).toHaveAttribute("aria-selected", "true");
  await page.keyboard.press("Home");
  await expect(poke).toHaveAttribute("aria-selected", "true");
});
