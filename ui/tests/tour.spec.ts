// The guided tour, from the first step to the last by the keys of a clicker, with the numbers it shows.

import { expect, test, type Page } from "@playwright/test";

async function begin(page: Page): Promise<void> {
  await page.goto("./");
  await expect(page.locator("#answer")).toContainText("2.556 mm", { timeout: 20_000 });
}

const title = (page: Page) => page.getByTestId("tour-title");
const number = async (page: Page, id: string): Promise<number> => Number((await page.getByTestId(id).innerText()).replace("−", "-").match(/-?[\d.]+/)?.[0] ?? NaN);

test("from the first step to the last by keyboard, and all is put back", async ({ page }) => {
  test.setTimeout(180_000);
  await begin(page);
  // A case of one's own, changed: it must come back.
  await page.getByRole("group", { name: "Show the case as" }).getByRole("button", { name: "Text" }).click();
  const own = page.locator("#part textarea").first();
  const mine = `# mine\n${(await own.inputValue()).replace("2.40 ±", "2.10 ±")}`;
  await own.fill(mine);
  await expect(page.locator("#answer")).toContainText("18 % thinner", { timeout: 15_000 });

  await page.getByRole("button", { name: "Tour", exact: true }).focus();
  await page.keyboard.press("Enter");
  await expect(title(page)).toHaveText("A cap and its mirror image");
  await expect(title(page)).toBeFocused();

  // The mirror image: two distances, one number.
  await expect(page.getByTestId("tour-distance")).toBeVisible({ timeout: 20_000 });
  const distances: string[] = [];
  for (let i = 0; i < 3; i++) {
    const on = await page.getByTestId("tour-distance").innerText();
    expect(on).toMatch(/^\d+\.\d+ mm$/);
    expect(await page.getByTestId("tour-mirror-distance").innerText()).toBe(on);
    distances.push(on);
    await page.getByRole("button", { name: "Another pair of points" }).press("Enter");
  }
  expect(new Set(distances).size).toBe(3);

  // The vanishing wall.
  await page.keyboard.press("PageDown");
  await expect(title(page)).toHaveText("A vanishing wall turns inside out for nothing");
  await expect(page.getByTestId("tour-exponent")).toBeVisible({ timeout: 60_000 });
  // Bending alone gives 3; what the lip saves takes a little off while the wall is not yet vanishing.
  const p = await number(page, "tour-exponent");
  expect(p).toBeGreaterThan(2.85);
  expect(p).toBeLessThan(3.05);
  const q = await number(page, "tour-hill-exponent");
  expect(q).toBeGreaterThan(1.9);
  expect(q).toBeLessThan(p);
  // The marker thins the real wall.
  const wall = page.getByRole("slider", { name: "Thickness of the wall" });
  await wall.focus();
  await page.keyboard.press("End");
  await page.keyboard.press("ArrowLeft");
  await expect(wall).toHaveAttribute("aria-valuetext", /0\.21\d* mm/);
  await expect(page.locator("#answer")).toContainText(/9\d % thinner/, { timeout: 15_000 });

  // The faces and the lip.
  await page.keyboard.press("PageDown");
  await expect(title(page)).toHaveText("A real wall has two faces");
  await expect(page.getByTestId("tour-lip")).toHaveText("11.99 mm = 1.55 √(Rh)", { timeout: 20_000 });

  // The threshold.
  await page.keyboard.press("PageDown");
  await expect(page.getByTestId("tour-verdict")).toContainText("STAYS", { timeout: 20_000 });
  await expect(page.getByTestId("tour-verdict")).toContainText("0.9391");
  await page.getByTestId("tour-thickness").focus();
  for (let i = 0; i < 12; i++) await page.keyboard.press("ArrowRight");
  await expect(page.getByTestId("tour-verdict")).toContainText("RETURNS", { timeout: 20_000 });

  // The wait grows with the hold.
  await page.keyboard.press("PageDown");
  await expect(title(page)).toHaveText("The wait");
  const held = page.getByRole("slider", { name: "Time held" });
  await expect(held).toBeVisible({ timeout: 60_000 });
  const waits: number[] = [];
  const seconds = (words: string | null): number => {
    const m = /waits ([\d.]+) (µs|ms|s)/.exec(words ?? "");
    return Number(m?.[1] ?? NaN) * ({ "µs": 1e-6, ms: 1e-3, s: 1 }[m?.[2] ?? "s"] ?? NaN);
  };
  await held.focus();
  for (const key of ["Home", "ArrowRight", "ArrowRight", "ArrowRight"]) {
    await page.keyboard.press(key);
    waits.push(seconds(await held.getAttribute("aria-valuetext")));
  }
  for (let i = 1; i < waits.length; i++) expect(waits[i]).toBeGreaterThan(waits[i - 1] ?? Infinity);

  // The snap.
  await page.keyboard.press("PageDown");
  await expect(page.getByTestId("tour-wait")).toContainText("2.781 s", { timeout: 60_000 });
  await expect(page.getByTestId("tour-snap-time")).toContainText("5.628 ms");
  await page.getByRole("button", { name: "Half way" }).press("Enter");
  await expect(page.getByTestId("tour-clock")).toContainText("2.784 s");
  await page.getByRole("button", { name: "Let go, in slow motion" }).press("Enter");
  await expect(page.getByTestId("tour-clock")).not.toContainText("2.784 s", { timeout: 10_000 });

  // The disc: up past the trip, down past the reset.
  await page.keyboard.press("PageDown");
  await expect(title(page)).toHaveText("Where it is useful");
  const heat = page.getByTestId("tour-heat");
  await expect(heat).toContainText("trips at 55.73 °C", { timeout: 60_000 });
  await expect(heat).toContainText("as made");
  const temperature = page.getByTestId("tour-temperature");
  await temperature.fill(String(273.15 + 60));
  await expect(heat).toContainText(/60\.\d+ °C, tripped/);
  await temperature.fill(String(273.15 + 45));
  await expect(heat).toContainText(/4[45]\.\d+ °C, tripped/);
  await temperature.fill(String(273.15 + 30));
  await expect(heat).toContainText(/(29|30)\.\d+ °C, as made/);

  // Leaving puts everything back.
  await page.keyboard.press("Escape");
  await expect(title(page)).toHaveCount(0);
  await expect(own).toHaveValue(mine);
  await expect(page.locator("#answer")).toContainText("18 % thinner", { timeout: 15_000 });
  await expect(page.getByRole("tab", { name: "Poke" })).toHaveAttribute("aria-selected", "true");
});

test("a step can be left with its case kept, and back goes back", async ({ page }) => {
  await begin(page);
  // The case of the step that is left at once comes late: it must not take the place of the one wanted since.
  let late = false;
  await page.route("**/api/cases/propagator-cutout", async (route) => {
    await new Promise((resolve) => setTimeout(resolve, 1500));
    await route.continue();
    late = true;
  });
  await page.getByRole("button", { name: "Tour", exact: true }).click();
  await page.getByRole("button", { name: "7: Where it is useful" }).click();
  await expect(title(page)).toHaveText("Where it is useful");
  await page.keyboard.press("PageUp");
  await expect(title(page)).toHaveText("The snap");
  await expect(page.locator(".tour-count")).toHaveText("Step 6 of 7");
  await expect(page.locator(".top-title")).toContainText("Jumping cap", { timeout: 15_000 });
  await expect.poll(() => late).toBe(true);
  await page.waitForTimeout(500);
  await expect(page.locator(".top-title")).toContainText("Jumping cap");
  await page.getByRole("button", { name: "Leave, go on with this case" }).click();
  await expect(page.locator(".tour")).toHaveCount(0);
  await expect(page.locator(".top-title")).toContainText("Jumping cap");
});
