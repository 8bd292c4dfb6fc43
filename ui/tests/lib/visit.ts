// What tests of the whole page share: opening a case, hearing what the browser complains about, whom the page asks.

import type { Page } from "@playwright/test";

/** Errors and warnings of the page and its console, as they come. */
export function complaints(page: Page): string[] {
  const heard: string[] = [];
  page.on("pageerror", (e) => heard.push(`error: ${e.message}`));
  page.on("console", (m) => {
    // The software renderer of this browser says of itself that reading pixels back is slow; a machine with a graphics card does not.
    if (/GPU stall due to ReadPixels|Automatic fallback to software WebGL/.test(m.text())) return;
    if (m.type() === "error" || m.type() === "warning") heard.push(`${m.type()}: ${m.text()}`);
  });
  return heard;
}

/** Requests that go to another origin than the page's. */
export function foreign(page: Page, url: string): string[] {
  const heard: string[] = [];
  const own = new URL(url).origin;
  page.on("request", (r) => {
    if (!/^(data|blob):/.test(r.url()) && new URL(r.url()).origin !== own) heard.push(r.url());
  });
  return heard;
}

/** Opens the page with a worked case in hand. */
export async function openWith(page: Page, name: string, url = "./"): Promise<void> {
  await page.goto(url);
  const stored = await page.evaluate(async (n) => await (await fetch(`./api/cases/${n}`)).text(), name);
  await page.evaluate((s) => sessionStorage.setItem("calotte.case", s), stored);
  await page.reload();
}

/** Opens a worked case by the dialog, as a person does. */
export async function pick(page: Page, name: string): Promise<void> {
  await page.getByRole("button", { name: "Worked cases" }).click();
  await page.locator(`[data-case="${name}"]`).click();
}

/** Opens the page with a worked case from its first moment on, and a question's tab where one is named; what the browser complains about. */
export async function begin(page: Page, name: string, tab: string | null = null): Promise<string[]> {
  const heard = complaints(page);
  const stored = await (await page.request.get(`/api/cases/${name}`)).text();
  await page.addInitScript((s) => sessionStorage.setItem("calotte.case", s), stored);
  await page.goto("/");
  if (tab !== null) await page.locator(`#tab-${tab}`).click({ timeout: 40_000 });
  return heard;
}
