// Letting go as a person sees it: the film to its end, moments, a long one stopped.

import { expect, test, type Page } from "@playwright/test";
import { begin } from "./lib/visit";

const panel = (page: Page) => page.locator("#question-panel");
const row = (page: Page, name: string) => panel(page).locator("dl.sheet-rows > div", { has: page.locator("dt", { hasText: new RegExp(`^${name}$`) }) }).first().locator("dd");

test("plays a release to its end", async ({ page }) => {
  test.setTimeout(150_000);
  const errors = await begin(page, "jumping-cap", "release");
  const play = panel(page).getByRole("button", { name: "Play", exact: true });
  await expect(play).toBeVisible({ timeout: 90_000 });
  const shape = page.locator('#see [data-part="wall"]').first();
  // Nothing plays by itself.
  await expect(panel(page).getByTestId("clock")).toContainText("0 s");
  // As fast as it goes: the whole film in seconds, the wait skipped through.
  await play.click();
  await expect(panel(page).getByTestId("clock")).toContainText("Skips quickly through the wait");
  const first = await shape.getAttribute("d");
  await panel(page).getByRole("slider", { name: "Speed" }).fill("-1.5");
  await expect(panel(page).getByRole("button", { name: "Play", exact: true })).toBeVisible({ timeout: 60_000 });
  await expect(panel(page)).toContainText("Play again");
  expect(await shape.getAttribute("d")).not.toBe(first);
  expect(errors).toEqual([]);
});

test("moments are those of the sheet", async ({ page }) => {
  test.setTimeout(120_000);
  await begin(page, "jumping-cap", "release");
  await expect(panel(page).locator(".panel-title")).toContainText("WAITS", { timeout: 90_000 });
  const wait = (await row(page, "wait").textContent()) ?? "";
  expect(wait).toMatch(/^[\d.]+ s$/);
  await panel(page).getByRole("button", { name: /the snap begins, after/ }).click();
  await expect(panel(page).getByTestId("clock")).toContainText(wait);
  await panel(page).getByRole("button", { name: "pole and rim are at one height" }).click();
  const height = /Pole over rim ([−\d.]+) (µm|mm)/.exec((await panel(page).getByTestId("release-read").textContent()) ?? "");
  const mm = Math.abs(Number(height?.[1]?.replace("−", "-"))) * (height?.[2] === "µm" ? 1e-3 : 1);
  expect(mm).toBeLessThan(0.2);
  // The cursor goes by keys too.
  const before = await panel(page).getByTestId("clock").textContent();
  const cursor = panel(page).getByRole("slider", { name: "Moment" }).nth(1);
  await cursor.focus();
  await cursor.press("ArrowRight");
  expect(await panel(page).getByTestId("clock").textContent()).not.toBe(before);
});

test("a long one can be stopped, and says that it was", async ({ page }) => {
  test.setTimeout(120_000);
  await begin(page, "poked-back", "release");
  const stop = panel(page).getByRole("button", { name: "Stop" });
  await expect(stop).toBeVisible({ timeout: 40_000 });
  await stop.click();
  await expect(panel(page).locator(".refused")).toContainText("Stopped", { timeout: 30_000 });
  await expect(panel(page).getByRole("button", { name: "Ask again" })).toBeVisible();
  await expect(stop).toHaveCount(0);
});

test("a bad time to follow is refused in words", async ({ page }) => {
  await begin(page, "silicone-cap-thicker", "release");
  await expect(panel(page).locator(".panel-title")).toBeVisible({ timeout: 60_000 });
  await panel(page).getByLabel("Follow for").fill("soon");
  await panel(page).getByRole("button", { name: "Ask again" }).first().click();
  await expect(panel(page).locator(".refused")).toContainText("soon", { timeout: 40_000 });
  // The answer before is still there.
  await expect(panel(page).locator(".panel-title")).toContainText("RETURNS");
});

test("wait against hold on demand", async ({ page }) => {
  test.setTimeout(200_000);
  await begin(page, "jumping-cap", "release");
  await expect(panel(page).locator(".panel-title")).toBeVisible({ timeout: 90_000 });
  await panel(page).locator("summary", { hasText: "Ask many releases" }).click();
  await panel(page).getByLabel("holds").fill("4");
  await panel(page).getByRole("button", { name: "Wait against hold" }).click();
  const curve = panel(page).getByRole("region", { name: "Wait against hold" });
  await expect(curve).toBeVisible({ timeout: 150_000 });
  await expect(curve.locator("li").first()).toContainText("rests");
});

test("movement reduced: nothing plays, single moments can be seen", async ({ page }) => {
  test.setTimeout(120_000);
  await page.emulateMedia({ reducedMotion: "reduce" });
  await begin(page, "jumping-cap", "release");
  await expect(panel(page)).toContainText("Movement is reduced", { timeout: 90_000 });
  const clock = panel(page).getByTestId("clock");
  const before = await clock.textContent();
  await page.waitForTimeout(600);
  expect(await clock.textContent()).toBe(before);
  await panel(page).getByRole("button", { name: "end", exact: true }).click();
  await expect(clock).toContainText("into the snap");
});
