// Poke as a person uses it.

import { expect, test, type Page } from "@playwright/test";
import { begin } from "./lib/visit";

const panel = (page: Page) => page.locator("#question-panel");
const row = (page: Page, name: string | RegExp) => panel(page).locator("dl.sheet-rows > div", { has: page.locator("dt", { hasText: name }) }).first().locator("dd");

test("names the trip of the sheet, and the marker moves the shape", async ({ page }) => {
  const errors = await begin(page, "silicone-cap-stays", "poke");
  await expect(panel(page).locator(".panel-title")).toContainText("TRIPS", { timeout: 40_000 });
  await expect(panel(page)).toContainText("no [load] table");
  // "1.57 N at 9.190 mm (axisymmetric); work …"
  const said = /^([\d.]+) N at ([\d.]+) mm/.exec((await row(page, "trip, load set").textContent()) ?? "");
  expect(said).not.toBeNull();
  const shape = page.locator('#see [data-part="wall"]').first();
  await expect(shape).toBeAttached({ timeout: 40_000 });
  const before = await shape.getAttribute("d");
  await panel(page).getByRole("button", { name: "trip: peak" }).click();
  const read = panel(page).getByTestId("poke-read");
  await expect(read).toContainText(`at ${said?.[2]} mm`);
  const force = Number(/force ([\d.]+) N/.exec((await read.textContent()) ?? "")?.[1]);
  expect(force.toPrecision(3)).toBe(Number(said?.[1]).toPrecision(3));
  await expect(read).toContainText("Shown:");
  await expect(shape).not.toHaveAttribute("d", before ?? "");
  // Keys move the marker on, onto the piece that gives way.
  const there = await shape.getAttribute("d");
  const marker = panel(page).getByRole("slider", { name: "Place on the path" });
  await marker.focus();
  await marker.press("ArrowRight");
  await marker.press("ArrowRight");
  await expect(read).toContainText("unstable");
  await expect(shape).not.toHaveAttribute("d", there ?? "");
  await panel(page).getByRole("button", { name: "where it lands" }).click();
  await expect(read).toContainText(", stable");
  expect(errors).toEqual([]);
});

test("the marker follows the pointer", async ({ page }) => {
  await begin(page, "silicone-cap-stays", "poke");
  const marker = panel(page).getByRole("slider", { name: "Place on the path" });
  await expect(marker).toBeVisible({ timeout: 40_000 });
  await marker.scrollIntoViewIfNeeded();
  const at = await marker.locator(".plot-knob").boundingBox();
  if (at === null) throw new Error("no marker");
  const before = await marker.getAttribute("aria-valuetext");
  await page.mouse.move(at.x + at.width / 2, at.y + at.height / 2);
  await page.mouse.down();
  await page.mouse.move(at.x + 60, at.y - 80, { steps: 6 });
  await page.mouse.up();
  expect(await marker.getAttribute("aria-valuetext")).not.toBe(before);
  await expect(panel(page).getByTestId("poke-read")).toContainText("Shown:");
});

test("with the displacement set it trips elsewhere, sideways", async ({ page }) => {
  await begin(page, "silicone-cap-stays", "poke");
  await expect(panel(page).locator(".panel-title")).toBeVisible({ timeout: 40_000 });
  const said = /at ([\d.]+) mm \(sideways, n = (\d+)\)/.exec((await row(page, "trip, displacement set").textContent()) ?? "");
  expect(said).not.toBeNull();
  await panel(page).getByRole("radio", { name: /the displacement/ }).check();
  await panel(page).getByRole("button", { name: `trip: sideways, n = ${said?.[2]}` }).click();
  await expect(panel(page).getByTestId("poke-read")).toContainText(`at ${said?.[1]} mm`);
});

test("the load of the case is taken where there is one", async ({ page }) => {
  await begin(page, "pressed-lid", "poke");
  await expect(panel(page).locator(".panel-title")).toBeVisible({ timeout: 40_000 });
  await expect(panel(page)).not.toContainText("no [load] table");
  await expect(panel(page).locator(".plot svg")).toContainText("pressure");
});

test("the plot can be kept as numbers and as a picture", async ({ page }) => {
  await begin(page, "silicone-cap-stays", "poke");
  const bar = panel(page).getByRole("group", { name: "Save poke" });
  await expect(bar).toBeVisible({ timeout: 40_000 });
  const csv = page.waitForEvent("download");
  await bar.getByRole("button", { name: "CSV" }).click();
  const rows = await text(await csv);
  expect(rows.split("\n")[0]).toContain("load_N,displacement_m");
  expect(rows.trim().split("\n").length).toBeGreaterThan(20);
  const svg = page.waitForEvent("download");
  await bar.getByRole("button", { name: "SVG" }).click();
  const drawing = await text(await svg);
  expect(drawing).toContain("<svg");
  expect(drawing).not.toContain("var(--");
});

async function text(download: { createReadStream(): Promise<NodeJS.ReadableStream> }): Promise<string> {
  let out = "";
  for await (const chunk of await download.createReadStream()) out += String(chunk);
  return out;
}
