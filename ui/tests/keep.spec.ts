// Saving: what is downloaded holds what the page shows, and the one-file copy opens from disk without asking anybody.

import { expect, test, type Download, type Page } from "@playwright/test";
import { copyFile, readFile } from "node:fs/promises";
import { pathToFileURL } from "node:url";

async function begin(page: Page): Promise<void> {
  await page.goto("./");
  await expect(page.locator("#answer")).toContainText("2.556 mm", { timeout: 20_000 });
}

const contentOf = async (file: Download): Promise<string> => readFile(await file.path(), "utf8");

async function saving(page: Page, button: string | RegExp): Promise<Download> {
  const [file] = await Promise.all([page.waitForEvent("download"), page.getByRole("dialog").getByRole("button", { name: button }).click()]);
  return file;
}

/** The answer as the server gives it to the same question. */
async function served(page: Page, question: string, options: object, want: object = {}): Promise<{ sheet: { title: string }; report: Record<string, unknown>; tables: { name: string; csv: string }[] }> {
  return page.evaluate(
    async ([question, options, want]) => {
      const stored = (await (await fetch("./api/cases/silicone-cap-stays")).json()) as { text: string; files: object };
      const response = await fetch(`./api/ask/${String(question)}`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ text: stored.text, files: stored.files, options, want, page: "test" }) });
      const lines = (await response.text()).trim().split("\n");
      return JSON.parse(lines[lines.length - 1] ?? "{}").answer;
    },
    [question, options, want] as const,
  );
}

test("case and answer are saved as they are", async ({ page }) => {
  await begin(page);
  await page.getByRole("button", { name: "Save…" }).click();
  const dialog = page.getByRole("dialog");
  await expect(dialog).toBeVisible();

  const toml = await saving(page, /\.toml$/);
  expect(toml.suggestedFilename()).toBe("silicone-cap-stays.toml");
  const stored = await page.evaluate(async () => ((await (await fetch("./api/cases/silicone-cap-stays")).json()) as { text: string }).text);
  expect(await contentOf(toml)).toBe(stored);

  const answer = await served(page, "verdict", { depth: true });
  const json = JSON.parse(await contentOf(await saving(page, "Verdict as JSON"))) as Record<string, unknown>;
  expect(json).toEqual(answer.report);
  expect((json.margin as { threshold_thickness_m: number }).threshold_thickness_m).toBeCloseTo(2.556e-3, 6);

  const words = await contentOf(await saving(page, "Verdict in words"));
  expect(words.split("\n")[0]).toBe(answer.sheet.title);
  expect(words).toMatch(/^ {2}thickness h\/h\* {15,}0\.9391/m);
  for (const line of words.split("\n")) expect([...line].length).toBeLessThanOrEqual(110);

  // The server's own figures and tables of the same answer.
  await dialog.getByRole("button", { name: "Verdict: figures and tables" }).click();
  const [svg] = await Promise.all([page.waitForEvent("download"), dialog.getByRole("button", { name: /figure .* as SVG/ }).first().click()]);
  const parsed = await page.evaluate((text) => {
    const doc = new DOMParser().parseFromString(text, "image/svg+xml");
    return { root: doc.documentElement.tagName, broken: doc.querySelector("parsererror") !== null, children: doc.documentElement.children.length };
  }, await contentOf(svg));
  expect(parsed.root).toBe("svg");
  expect(parsed.broken).toBe(false);
  expect(parsed.children).toBeGreaterThan(3);
});

test("what is seen is saved as a picture", async ({ page }) => {
  await begin(page);
  await page.getByRole("button", { name: "Save…" }).click();
  const png = await readFile(await (await saving(page, /3D view/)).path());
  expect([...png.subarray(1, 4)].map((c) => String.fromCharCode(c)).join("")).toBe("PNG");
  expect(png.readUInt32BE(16)).toBeGreaterThan(300);
  const svg = await contentOf(await saving(page, /Section/));
  expect(svg.match(/<path/g)?.length ?? 0).toBeGreaterThan(2);
  expect(/var\(--/.test(svg)).toBe(false);
});

test("the map is saved as drawing and as table", async ({ page }) => {
  await begin(page);
  await page.getByRole("tab", { name: "Map" }).click();
  const bar = page.getByRole("group", { name: "Save map" });
  await expect(bar).toBeVisible({ timeout: 30_000 });
  const [svgFile] = await Promise.all([page.waitForEvent("download"), bar.getByRole("button", { name: "SVG" }).click()]);
  const svg = await contentOf(svgFile);
  const read = await page.evaluate((text) => {
    const doc = new DOMParser().parseFromString(text, "image/svg+xml");
    return { broken: doc.querySelector("parsererror") !== null, words: doc.documentElement.textContent ?? "", sliders: doc.querySelectorAll("[role=slider], .plot-handle").length };
  }, svg);
  expect(read.broken).toBe(false);
  expect(read.words).toContain("stays");
  expect(read.words).toContain("returns");
  expect(read.sliders).toBe(0);
  expect(/var\(--/.test(svg)).toBe(false);

  const [csvFile] = await Promise.all([page.waitForEvent("download"), bar.getByRole("button", { name: "CSV" }).click()]);
  const rows = (await contentOf(csvFile)).trim().split("\n");
  expect(rows[0]).toBe("family,level,curve,x_si,y_si,cusp");
  const report = (await served(page, "map", { x: "depth=30 deg..120 deg", y: "wall.thickness=0.8 mm..7.2 mm", margin: [0.8, 1.25] })).report as { threshold: { x_si: number[]; y_si: number[] }[] };
  const threshold = rows.filter((r) => r.startsWith("threshold,")).map((r) => r.split(","));
  expect(threshold.map((r) => Number(r[3]))).toEqual(report.threshold.flatMap((c) => c.x_si));
  expect(threshold.map((r) => Number(r[4]))).toEqual(report.threshold.flatMap((c) => c.y_si));

  const [png] = await Promise.all([page.waitForEvent("download"), bar.getByRole("button", { name: "PNG" }).click()]);
  expect((await readFile(await png.path())).subarray(1, 4).toString()).toBe("PNG");
});

test("the page as one file opens from disk with the same numbers and asks nobody", async ({ page, context }, info) => {
  await begin(page);
  for (const tab of ["Let go", "Map"]) {
    await page.getByRole("tab", { name: tab }).click();
    await expect(page.locator("#question-panel .plot svg").first()).toBeVisible({ timeout: 40_000 });
  }
  const verdictWords = await page.locator("#answer").innerText();
  await page.getByRole("button", { name: "Save…" }).click();
  const button = page.getByRole("dialog").getByRole("button", { name: /\.html \(.*[kM]B\)/ });
  const pieces = page.getByText("comes in many pieces");
  await expect(button.or(pieces)).toBeVisible({ timeout: 20_000 });
  // Only a development server (CALOTTE_URL) serves pieces; from the program itself they would be a fault.
  test.skip(process.env.CALOTTE_URL !== undefined && (await pieces.isVisible()), "the page is served in pieces, as while it is being written: there is no single script to put into a file");
  const [file] = await Promise.all([page.waitForEvent("download"), button.click()]);
  const path = info.outputPath("copy.html");
  await copyFile(await file.path(), path);

  const copy = await context.newPage();
  const errors: string[] = [];
  const requests: string[] = [];
  copy.on("pageerror", (e) => errors.push(e.message));
  copy.on("console", (m) => {
    if (m.type() === "error") errors.push(m.text());
  });
  copy.on("request", (r) => {
    if (!/^(data|blob):/.test(r.url())) requests.push(r.url());
  });
  const url = pathToFileURL(path).href;
  await copy.goto(url);
  await expect(copy.locator(".kept-note")).toContainText(/A copy of .*: start calotte to ask more/);
  await expect(copy.locator("#answer")).toContainText("2.556 mm");
  const first = (words: string) => words.match(/threshold thickness[^.]*\d\.\d+ mm[^.]*/)?.[0];
  expect(first(await copy.locator("#answer").innerText())).toBe(first(verdictWords));
  await expect(copy.locator("#see canvas")).toBeVisible();
  // The map's curves and the release's film are in it.
  await copy.getByRole("tab", { name: "Map" }).click();
  await expect(copy.locator(".map-plot svg")).toContainText("stays");
  await expect(copy.locator(".map-here input").first()).toBeDisabled();
  await copy.getByRole("tab", { name: "Let go" }).click();
  const before = await copy.getByTestId("clock").innerText();
  await copy.locator(".player").getByRole("slider", { name: "Moment" }).press("End");
  await expect(copy.getByTestId("clock")).not.toHaveText(before);
  // The pole gives way to the hand, from the path in the file.
  const push = copy.getByRole("slider", { name: "Push the pole" });
  await expect(push).toHaveAttribute("aria-valuetext", "not touched");
  await push.focus();
  await push.press("PageUp");
  await expect(push).toHaveAttribute("aria-valuetext", /mm of travel, force .*N/);
  await expect(copy.locator("#quick input[type=range]").first()).toBeDisabled();
  // Nothing is offered that would have to be asked.
  await expect(copy.getByRole("button", { name: /^Ask/ })).toHaveCount(0);
  expect(errors).toEqual([]);
  expect(requests).toEqual([url]);
});
