// The page fits desks, tablets, phones, screen readers and weak eyes.

import AxeBuilder from "@axe-core/playwright";
import { expect, test } from "@playwright/test";
import { answer, field, form, fresh, openCase, quick } from "./lib/places";

test("while a number of the form is changed on a desk, picture and answer stay in sight", async ({ page }) => {
  await fresh(page);
  const last = field(page, "rim.kind");
  await last.scrollIntoViewIfNeeded();
  await expect(last).toBeInViewport();
  await expect(answer(page).getByText("Stays").first()).toBeInViewport();
  await expect(page.getByRole("region", { name: "What it looks like" })).toBeInViewport({ ratio: 0.9 });
  expect(await page.evaluate(() => document.documentElement.scrollHeight - innerHeight)).toBeLessThanOrEqual(1);
});

for (const width of [360, 390, 768, 1100]) {
  test(`nothing scrolls sideways at ${width} px`, async ({ page }) => {
    await page.setViewportSize({ width, height: 800 });
    await fresh(page);
    await openCase(page, "propagator-cutout");
    await expect(form(page)).toContainText("Layer 2");
    for (const what of ["Text", "Form"]) {
      await form(page).getByRole("button", { name: what, exact: true }).click();
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
    }
  });
}

test("on a phone the bar jumps between the parts of the page", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await fresh(page);
  const bar = page.getByRole("navigation", { name: "Parts of the page" });
  for (const [name, region] of [["Part", "The part"], ["Questions", "Questions"], ["Answer", "The answer"], ["See", "What it looks like"]] as const) {
    await bar.getByRole("button", { name }).click();
    await expect(page.getByRole("region", { name: region })).toBeInViewport();
  }
  // One slider stays in reach while the picture is looked at, above the bar.
  const slider = await quick(page).getByLabel("Thickness, slider").boundingBox();
  const low = await bar.boundingBox();
  if (slider === null || low === null) throw new Error("not drawn");
  expect(slider.y).toBeGreaterThan(0);
  expect(slider.y + slider.height).toBeLessThanOrEqual(low.y);
  await expect(quick(page).getByLabel("Half-angle", { exact: true })).toBeHidden();
  await quick(page).getByRole("button", { name: "All 3 sliders" }).click();
  await expect(quick(page).getByLabel("Half-angle", { exact: true })).toBeVisible();
});

for (const scheme of ["light", "dark"] as const) {
  test(`nothing stands in the way of a screen reader or weak eyes, ${scheme}`, async ({ page }) => {
    await page.emulateMedia({ colorScheme: scheme });
    await fresh(page);
    await openCase(page, "marine-handset-key");
    await expect(form(page)).toContainText("Corner 4");
    const of = async (...regions: string[]) => {
      const found = await regions.reduce((b, r) => b.include(r), new AxeBuilder({ page })).analyze();
      return found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ")).slice(0, 4).join(", ")}`);
    };
    expect(await of(".top", "#part", "#quick")).toEqual([]);
    await form(page).getByRole("button", { name: "Text", exact: true }).click();
    expect(await of("#part")).toEqual([]);
    await page.getByRole("button", { name: "Worked cases" }).click();
    expect(await of("dialog[open]")).toEqual([]);
  });
}

test("light, dark and presenter are kept", async ({ page }) => {
  await fresh(page);
  await page.getByText("View", { exact: true }).click();
  await page.getByLabel("dark").check();
  await page.getByLabel("presenter view").check();
  await expect(page.locator("html")).toHaveAttribute("data-theme", "dark");
  await page.reload();
  await expect(page.locator("html")).toHaveAttribute("data-theme", "dark");
  await expect(page.locator("html")).toHaveAttribute("data-presenter", "yes");
});
