// What tests of form, text and fit share: the places of the page and how a person comes to a case.

import { expect, type Page } from "@playwright/test";

export async function openCase(page: Page, name: string) {
  await page.getByRole("button", { name: "Worked cases" }).click();
  await page.locator(`[data-case="${name}"]`).click();
  await expect(page.getByRole("dialog")).toHaveCount(0);
}

export async function fresh(page: Page) {
  await page.goto("./");
  await expect(page.getByRole("region", { name: "The answer" })).toContainText("Stays", { timeout: 20_000 });
}

export const form = (page: Page) => page.getByRole("region", { name: "The part" });
export const quick = (page: Page) => page.getByRole("region", { name: "Quick changes" });
export const answer = (page: Page) => page.getByRole("region", { name: "The answer" });
export const field = (page: Page, path: string) => page.locator(`[data-path="${path}"]`);
