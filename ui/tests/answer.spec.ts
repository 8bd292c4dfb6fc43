// The answer as a person reads it: verdict, margin, evidence, and what it says while the case is wrong.

import { expect, test, type Page } from "@playwright/test";
import { begin } from "./lib/visit";

const answer = (page: Page) => page.locator("#answer");

for (const [name, word] of [
  ["silicone-cap-stays", "Stays"],
  ["silicone-cap-thicker", "Returns"],
  ["jumping-cap", "Waits"],
] as const) {
  test(`${name}: ${word}`, async ({ page }) => {
    const errors = await begin(page, name);
    await expect(answer(page).locator(".verdict-word")).toContainText(word, { timeout: 40_000 });
    await expect(answer(page).getByRole("heading", { name: "Margin" })).toBeVisible();
    // The gauge says the row of the sheet, and draws the number in it.
    const row = (await answer(page).locator(".gauge-row").textContent()) ?? "";
    const number = /^[\d.]+/.exec(row)?.[0] ?? "";
    expect(number).not.toBe("");
    await expect(answer(page).locator("dl.sheet-rows dd").filter({ hasText: row })).toHaveCount(1);
    await expect(answer(page).locator(".gauge svg")).toContainText(number);
    expect(errors).toEqual([]);
  });
}

test("evidence unfolds, warnings are there", async ({ page }) => {
  await begin(page, "silicone-cap-stays");
  const evidence = answer(page).locator("details", { has: page.locator("summary", { hasText: /^Evidence$/ }) });
  await expect(evidence).toBeVisible({ timeout: 40_000 });
  await expect(evidence.getByText("two meshes")).toBeHidden();
  await evidence.locator("summary").click();
  await expect(evidence.getByText("two meshes")).toBeVisible();
  await expect(evidence.getByText(/elements; threshold differs by/)).toBeVisible();
  await expect(answer(page).locator("summary", { hasText: "Warnings" })).toBeVisible();
  await expect(answer(page).locator(".fresh")).toContainText("Computed in");
});

test("a broken case keeps the last answer, greyed, and says so", async ({ page }) => {
  await begin(page, "silicone-cap-stays");
  await expect(answer(page).locator(".verdict-word")).toContainText("Stays", { timeout: 40_000 });
  await page.getByRole("button", { name: "Text", exact: true }).click();
  const box = page.locator("#part textarea");
  const good = await box.inputValue();
  await box.fill(good.replace(/half_angle = .*/, 'half_angle = "banana"'));
  await expect(answer(page).locator(".answer-broken")).toContainText("wrong", { timeout: 40_000 });
  await expect(answer(page).locator(".answer-broken")).toContainText("last case that could be read");
  await expect(answer(page).locator(".answer-old .verdict-word")).toContainText("Stays");
  await box.fill(good);
  await expect(answer(page).locator(".answer-broken")).toHaveCount(0, { timeout: 40_000 });
  await expect(answer(page).locator(".answer-old")).toHaveCount(0);
});

test("a part of lines and arcs lists its states; one click shows one", async ({ page }) => {
  test.setTimeout(240_000);
  const errors = await begin(page, "camp-bowl");
  const list = answer(page).getByRole("list", { name: "Stable states" });
  await expect(list).toBeVisible({ timeout: 200_000 });
  const shape = page.locator('#see [data-part="wall"]').first();
  const before = await shape.getAttribute("d");
  const second = list.getByRole("button").nth(1);
  await expect(second).toContainText("turned over");
  await second.click();
  await expect(second).toHaveAttribute("aria-pressed", "true");
  await expect(shape).not.toHaveAttribute("d", before ?? "");
  await second.click();
  await expect(shape).toHaveAttribute("d", before ?? "");
  expect(errors).toEqual([]);
});

test("from a part with a verdict to one that lists its states and on to another: the verdict is of the part in hand", async ({ page }) => {
  test.setTimeout(120_000);
  await begin(page, "silicone-cap-thicker");
  const word = answer(page).locator("[data-verdict]");
  await expect(word).toHaveText("Returns", { timeout: 40_000 });
  const pick = async (name: string) => {
    await page.getByRole("button", { name: "Worked cases" }).click();
    await page.locator(`[data-case="${name}"]`).click();
  };
  await pick("clutch-detent");
  await expect(answer(page).locator(".verdict-states")).toBeVisible({ timeout: 40_000 });
  await pick("silicone-cap-stays");
  await expect(word).toHaveText("Stays", { timeout: 40_000 });
  await expect(answer(page)).not.toContainText("of the case before the last change");
});
