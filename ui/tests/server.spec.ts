// The page and its server: a server that goes and comes back, the folder, the token, two tabs, and whom the page asks.

import { expect, test, type Page } from "@playwright/test";
import { mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { complaints, foreign, openWith, pick } from "./lib/visit";
import { casesFolder, endAfterwards, serve } from "./lib/program";

endAfterwards();

const answer = (page: Page) => page.locator("#answer");
const thickness = (page: Page) => page.locator('[data-path="wall.thickness"] input[type=text]').first();
const notice = (page: Page) => page.getByRole("alert").filter({ hasText: "The server is away." });
const panel = (page: Page) => page.locator("#question-panel");

async function textOf(page: Page): Promise<string> {
  await page.getByRole("group", { name: "Show the case as" }).getByRole("button", { name: "Text" }).click();
  const value = await page.getByLabel("The case as text").inputValue();
  await page.getByRole("group", { name: "Show the case as" }).getByRole("button", { name: "Form" }).click();
  return value;
}

test("the server dies and comes back: nothing is lost, the page goes on by itself", async ({ page }) => {
  test.setTimeout(120_000);
  const first = await serve();
  await page.goto(first.url);
  await expect(answer(page)).toContainText("Stays", { timeout: 40_000 });
  await thickness(page).fill("2.3");
  await expect(answer(page)).toContainText("2.300 mm", { timeout: 20_000 });
  await first.kill();

  await thickness(page).fill("2.7");
  await expect(notice(page)).toBeVisible({ timeout: 20_000 });
  await expect(notice(page)).toContainText("nothing you changed is lost");
  // The answer of before stays, and is not taken for one of the case in hand.
  await expect(answer(page).locator("[data-verdict]")).toHaveText("Stays");
  await expect(answer(page)).toContainText("of the case before the last change");
  // Edits go on, as text and as form, and can be undone.
  await thickness(page).fill("2.8");
  expect(await textOf(page)).toContain('thickness = "2.8 ± 0.05 mm"');
  await page.locator('[data-path="shape.half_angle"] input[type=text]').first().fill("55");
  await page.getByRole("button", { name: "Undo the change of shape.half_angle" }).click();
  await expect(page.locator('[data-path="shape.half_angle"] input[type=text]').first()).toHaveValue("60");
  // The cases are with the server; the dialog says so or shows what it knows, and nothing breaks.
  await pick(page, "key-dome");
  await expect(page.getByText(/could not be opened/)).toBeVisible();
  await expect(thickness(page)).toHaveValue("2.8");
  await page.waitForTimeout(1500);
  await expect(notice(page)).toBeVisible();

  await serve([], first.port);
  await expect(notice(page)).toHaveCount(0, { timeout: 30_000 });
  await expect(answer(page).locator("[data-verdict]")).toHaveText("Returns", { timeout: 30_000 });
  await expect(answer(page)).toContainText("2.800 mm");
  await expect(answer(page)).not.toContainText("of the case before the last change");
  await expect(answer(page)).not.toContainText("cannot be reached");
});

test("the server dies in the middle of a long question: that is said, and it can be asked again", async ({ page }) => {
  test.setTimeout(180_000);
  const first = await serve();
  await openWith(page, "jumping-cap", first.url);
  await page.locator("#tab-release").click({ timeout: 40_000 });
  await expect(panel(page).locator(".panel-title")).toContainText("WAITS", { timeout: 90_000 });
  await panel(page).locator("summary", { hasText: "Ask many releases" }).click();
  await panel(page).getByLabel("Parts drawn from the tolerances").fill("2000");
  await panel(page).getByRole("button", { name: "Spread of the wait" }).click();
  await expect(panel(page).getByRole("progressbar")).toHaveAttribute("value", /\d/, { timeout: 40_000 });
  await first.kill();
  await expect(panel(page).locator(".refused")).toContainText(/ended before it answered|cannot be reached/, { timeout: 20_000 });
  await expect(panel(page).getByRole("progressbar")).toHaveCount(0);
  // The answer before is still there.
  await expect(panel(page).locator(".panel-title")).toContainText("WAITS");

  await serve([], first.port);
  await expect(notice(page)).toHaveCount(0, { timeout: 30_000 });
  await panel(page).getByLabel("Parts drawn from the tolerances").fill("10");
  await panel(page).getByRole("button", { name: "Spread of the wait" }).click();
  await expect(panel(page).getByRole("region", { name: /spread/i }).first()).toBeVisible({ timeout: 120_000 });
  await expect(panel(page).locator(".refused")).toHaveCount(0);
});

test("a folder: listed, opened, saved, saved under a new name; other names are refused", async ({ page }) => {
  test.setTimeout(120_000);
  const folder = mkdtempSync(join(tmpdir(), "calotte-folder-"));
  try {
    const own = readFileSync(join(casesFolder, "silicone-cap-stays/case.toml"), "utf8");
    writeFileSync(join(folder, "mine.toml"), own.replace("2.40 ±", "2.20 ±"));
    writeFileSync(join(folder, "notes.txt"), "not a case");
    const server = await serve(["--folder", folder]);
    await page.goto(server.url);
    await expect(answer(page)).toContainText("Stays", { timeout: 40_000 });
    const dialog = page.getByRole("dialog");
    const cases = () => page.getByRole("button", { name: "Worked cases" }).click();
    await cases();
    await expect(dialog).not.toContainText("notes.txt");
    await dialog.getByRole("button", { name: "mine.toml" }).click();
    await expect(page.getByText("Opened mine.toml from the folder.")).toBeVisible();
    await expect(thickness(page)).toHaveValue("2.20");

    await thickness(page).fill("2.25");
    await cases();
    await expect(dialog.getByLabel("Save the case in hand as")).toHaveValue("mine.toml");
    await dialog.getByRole("button", { name: "Save over it" }).click();
    await expect(page.getByText("Saved mine.toml in the folder.")).toBeVisible();
    expect(readFileSync(join(folder, "mine.toml"), "utf8")).toBe(await textOf(page));
    await expect(page.getByRole("banner")).not.toContainText("(changed)");

    // A new name, and the tables go with it.
    await pick(page, "wall-table");
    await expect(page.getByRole("banner")).toContainText("lamp shade");
    await cases();
    await dialog.getByLabel("Save the case in hand as").fill("shade two");
    await dialog.getByRole("button", { name: "Save", exact: true }).click();
    await expect(page.getByText("Saved shade two.toml in the folder.")).toBeVisible();
    expect(readFileSync(join(folder, "shade two.toml"), "utf8")).toBe(readFileSync(join(casesFolder, "wall-table/case.toml"), "utf8"));
    expect(readFileSync(join(folder, "wall.csv"), "utf8")).toBe(readFileSync(join(casesFolder, "wall-table/wall.csv"), "utf8"));

    const before = readdirSync(folder).sort();
    for (const name of ["../out", "a/b", ".hidden", "a\\b"]) {
      await cases();
      await dialog.getByLabel("Save the case in hand as").fill(name);
      await dialog.getByRole("button", { name: "Save", exact: true }).click();
      await expect(page.getByText(`${name}.toml could not be saved:`)).toBeVisible();
    }
    expect(readdirSync(folder).sort()).toEqual(before);
    expect(readdirSync(join(folder, "..")).includes("out.toml")).toBe(false);
  } finally {
    rmSync(folder, { recursive: true });
  }
});

test("a token: the printed address opens the page, which goes on after a reload; without it nothing is given", async ({ page, browser }) => {
  test.setTimeout(120_000);
  const server = await serve(["--token", "a-word-of-ours"]);
  expect(server.url).toContain("?token=a-word-of-ours");
  await page.goto(server.url);
  await expect(answer(page)).toContainText("Stays", { timeout: 40_000 });
  expect(page.url()).not.toContain("token");
  await page.reload();
  await expect(answer(page)).toContainText("Stays", { timeout: 40_000 });
  await thickness(page).fill("2.7");
  await expect(answer(page)).toContainText("Returns", { timeout: 20_000 });

  const stranger = await browser.newContext();
  const response = await stranger.request.get(`http://127.0.0.1:${server.port}/api/about`);
  expect(response.status()).toBeGreaterThanOrEqual(400);
  expect(await response.text()).toContain("token");
  await stranger.close();

  // Started again with another token it answers no more: that is said, and nothing is lost.
  await server.kill();
  await thickness(page).fill("2.5");
  await expect(notice(page)).toBeVisible({ timeout: 20_000 });
  await serve(["--token", "another-word"], server.port);
  await expect(page.getByRole("alert").filter({ hasText: "The server does not answer this page" })).toContainText("token", { timeout: 20_000 });
  await page.getByRole("button", { name: "Worked cases" }).click();
  await page.getByRole("dialog").getByRole("button", { name: "Close" }).click();
  await expect(thickness(page)).toHaveValue("2.5");
});

test("two tabs with two cases at once", async ({ context }) => {
  test.setTimeout(120_000);
  const server = await serve();
  const [a, b] = [await context.newPage(), await context.newPage()];
  await openWith(a, "silicone-cap-stays", server.url);
  await openWith(b, "silicone-cap-thicker", server.url);
  await expect(answer(a).locator("[data-verdict]")).toHaveText("Stays", { timeout: 40_000 });
  await expect(answer(b).locator("[data-verdict]")).toHaveText("Returns", { timeout: 40_000 });
  await Promise.all([thickness(a).fill("2.75"), thickness(b).fill("2.05")]);
  await expect(answer(a).locator("[data-verdict]")).toHaveText("Returns", { timeout: 40_000 });
  await expect(answer(b).locator("[data-verdict]")).toHaveText("Stays", { timeout: 40_000 });
  await a.reload();
  await expect(thickness(a)).toHaveValue("2.75");
  await expect(thickness(b)).toHaveValue("2.05");
});

test("a walk through all worked cases and all questions: nobody else is asked, nothing complains", async ({ page }) => {
  test.setTimeout(900_000);
  const server = await serve();
  const others = foreign(page, server.url);
  const heard = complaints(page);
  await page.goto(server.url);
  await expect(answer(page)).toContainText("Stays", { timeout: 40_000 });
  const cases = await page.evaluate(async () => ((await (await fetch("./api/about")).json()) as { cases: { name: string; title: string }[] }).cases);
  expect(cases.length).toBeGreaterThan(10);
  for (const { name, title } of cases) {
    await pick(page, name);
    await expect(page.getByRole("banner")).toContainText(title, { timeout: 20_000 });
    await expect(answer(page).locator("[data-verdict], .verdict-states").first(), name).toBeVisible({ timeout: 60_000 });
    // Which tabs there are comes with the answer about the case: each that is there is visited once.
    const tabs = () => page.getByRole("tab").evaluateAll((all) => all.map((t) => t.id));
    const visited = new Set<string>();
    let before = "";
    await expect.poll(async () => { const now = (await tabs()).join(); const settled = now === before; before = now; return settled; }, { intervals: [400] }).toBe(true);
    for (;;) {
      const next = (await tabs()).find((id) => !visited.has(id));
      if (next === undefined) break;
      visited.add(next);
      await page.locator(`#${next}`).click({ timeout: 20_000 });
      // An answer, work under way, what to ask, or why not: a panel is never empty.
      await expect(panel(page).locator(".panel-title, .panel-not, .panel-form, .working, .refused, .map-plot, .panel-note").first(), `${name}, ${next}`).toBeVisible({ timeout: 60_000 });
    }
    expect(visited.size, name).toBeGreaterThan(5);
    expect(heard, name).toEqual([]);
  }
  expect(others).toEqual([]);
});
