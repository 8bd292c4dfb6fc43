// The page says what the terminal prints: every row, item and cell of every sheet, one by one.

import { expect, test, type Page } from "@playwright/test";
import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { flat, ofPage, ofTerminal, without, type Entry } from "./lib/lines";
import { casesFolder, printed } from "./lib/program";
import { openWith } from "./lib/visit";

const CASES = readdirSync(casesFolder).filter((n) => existsSync(join(casesFolder, n, "case.toml")));
const DOUBTS = /^doubts?$/i;

function same(page: Entry[], terminal: Entry[]): void {
  // Whole first: what is missing or in another order shows at its place.
  expect(page.map(flat)).toEqual(terminal.map(flat));
  let apart = 0;
  page.forEach((e, i) => {
    const t = terminal[i];
    if (t === undefined || e.kind === "head" || e.kind === "text" || e.kind === "item") return;
    // A name too long for its column leaves a single blank before its value: the terminal's line says no more than the text above.
    if (t.cells.length !== e.cells.length) return;
    apart++;
    expect(e.cells).toEqual(t.cells);
  });
  const tabular = page.filter((e) => e.kind === "row" || e.kind === "cells").length;
  expect(apart).toBeGreaterThanOrEqual(Math.floor(0.8 * tabular));
}

test("there are worked cases to compare", () => {
  expect(CASES.length).toBeGreaterThan(15);
});

for (const name of CASES) {
  test(`${name}: the answer is the terminal's`, async ({ page }) => {
    test.setTimeout(240_000);
    const { title, entries } = ofTerminal(await printed(["verdict", join(casesFolder, name, "case.toml")]));
    expect(entries.length).toBeGreaterThan(10);
    await openWith(page, name);
    const answer = page.locator("#answer");
    await expect(answer.locator(".fresh")).toContainText("Computed in", { timeout: 200_000 });
    const word = ((await answer.locator(".verdict-word").textContent()) ?? "").trim().replaceAll(/\s+/g, " ");
    expect(title.toLowerCase().startsWith(word.toLowerCase().replace(/^(\d+)(?=\D)/, "$1 ").replaceAll(/\s+/g, " ")), `${word} / ${title}`).toBe(true);
    same(await ofPage(answer.locator(".sheet")), without(entries, DOUBTS));
    // Doubts stand above the sheet.
    const doubts = entries.filter((e) => !without(entries, DOUBTS).includes(e) && e.kind === "item").map(flat);
    for (const d of doubts) await expect(answer.locator(".doubts")).toContainText(d);
  });
}

interface Ask {
  question: "poke" | "release" | "heat" | "modes";
  /** A worked case, or a template of the program. */
  name: string;
}
const ASKS: Ask[] = [
  { question: "poke", name: "key-dome" },
  { question: "poke", name: "silicone-cap-stays" },
  { question: "release", name: "jumping-cap" },
  { question: "release", name: "silicone-cap-thicker" },
  { question: "heat", name: "propagator-cutout" },
  { question: "heat", name: "new-disc" },
  { question: "modes", name: "silicone-cap-stays" },
  { question: "modes", name: "metal-dome" },
];

async function fileOf(page: Page, name: string, folder: string): Promise<string> {
  if (CASES.includes(name)) return join(casesFolder, name, "case.toml");
  const stored = (await (await page.request.get(`./api/cases/${name}`)).json()) as { text: string };
  const path = join(folder, `${name}.toml`);
  writeFileSync(path, stored.text);
  return path;
}

for (const { question, name } of ASKS) {
  test(`${question} of ${name}: the panel is the terminal's`, async ({ page }) => {
    test.setTimeout(240_000);
    const folder = mkdtempSync(join(tmpdir(), "calotte-numbers-"));
    try {
      const { title, entries } = ofTerminal(await printed([question, await fileOf(page, name, folder)]));
      expect(entries.length).toBeGreaterThan(10);
      await openWith(page, name);
      await page.locator(`#tab-${question}`).click({ timeout: 40_000 });
      const panel = page.locator("#question-panel");
      await expect(panel.locator(".panel-title")).toHaveText(title, { timeout: 180_000 });
      same(await ofPage(panel.locator(".sheet")), without(entries, DOUBTS));
      const doubts = entries.filter((e) => !without(entries, DOUBTS).includes(e) && e.kind === "item").map(flat);
      for (const d of doubts) await expect(panel.locator(".doubts")).toContainText(d);
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
}
