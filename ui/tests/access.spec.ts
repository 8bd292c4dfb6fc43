// Everyone can use the page: screen readers, weak eyes, no pointer, no movement, few colours.

import AxeBuilder from "@axe-core/playwright";
import { expect, test, type Page } from "@playwright/test";
import { copyFile } from "node:fs/promises";
import { pathToFileURL } from "node:url";
import { openWith, pick } from "./lib/visit";

const answer = (page: Page) => page.locator("#answer");
const panel = (page: Page) => page.locator("#question-panel");

/** What a checker finds serious, in words. */
async function faults(page: Page): Promise<string[]> {
  const found = await new AxeBuilder({ page }).analyze();
  return found.violations.filter((v) => v.impact === "serious" || v.impact === "critical").map((v) => `${v.id}: ${v.nodes.slice(0, 4).map((n) => `${n.target.join(" ")} ${n.any[0]?.message ?? ""}`).join(" | ")}`);
}

/** The answer of the tab that is open, computed. */
async function answered(page: Page): Promise<void> {
  await expect(panel(page).locator(".panel-title, .panel-not, .map-plot svg").first()).toBeVisible({ timeout: 120_000 });
  await expect(panel(page).locator(".working")).toHaveCount(0, { timeout: 120_000 });
}

// Contrast goes with the colours, layout with the width: each of them is walked through whole once.
for (const [colorScheme, width] of [["light", 1440], ["dark", 390]] as const) {
    test.describe(`${colorScheme}, ${width} px wide`, () => {
      test.use({ colorScheme, viewport: { width, height: width > 1000 ? 900 : 844 } });

      test("start, every question answered, finding, dialogs, tour, presenter, kept copy", async ({ page, context }, info) => {
        test.setTimeout(240_000);
        const found: Record<string, string[]> = {};
        const check = async (where: string, on: Page = page) => {
          const f = await faults(on);
          if (f.length > 0) found[where] = f;
        };
        await page.goto("./");
        await expect(answer(page).locator("[data-verdict]")).toHaveText("Stays", { timeout: 40_000 });
        await check("start");
        for (const name of ["poke", "release", "heat", "map", "modes"]) {
          await page.locator(`#tab-${name}`).click();
          await answered(page);
          await panel(page).evaluate((el) => el.querySelectorAll("details").forEach((d) => (d.open = true)));
          await check(`tab ${name}`);
        }
        for (const name of ["spread", "size"]) {
          await page.locator(`#tab-${name}`).click();
          if (name === "size") await panel(page).getByLabel("Wish 1", { exact: true }).fill("margin >= 10 %");
          await panel(page).evaluate((el) => el.querySelectorAll("details").forEach((d) => (d.open = true)));
          await check(`tab ${name}, the form`);
          await panel(page).getByRole("button", { name: "Ask", exact: true }).click();
          await answered(page);
          await panel(page).evaluate((el) => el.querySelectorAll("details").forEach((d) => (d.open = true)));
          await check(`tab ${name}, answered`);
        }
        await pick(page, "propagator-cutout");
        await page.locator("#tab-heat").click();
        await expect(panel(page).locator(".panel-title")).toContainText("TRIPS", { timeout: 60_000 });
        await check("tab heat, answered");
        await pick(page, "clutch-detent");
        await expect(answer(page)).toContainText("stable state", { timeout: 60_000 });
        await page.locator("#tab-states").click();
        await answered(page);
        await check("tab states");

        await pick(page, "silicone-cap-stays");
        await expect(answer(page).locator("[data-verdict]")).toHaveText("Stays", { timeout: 40_000 });
        const sides = page.getByRole("group", { name: "Show the case as" });
        await sides.getByRole("button", { name: "Text" }).click();
        const box = page.getByLabel("The case as text");
        const good = await box.inputValue();
        await box.fill(good.replace(/half_angle = .*/, 'half_angle = "banana"'));
        await expect(page.locator(".editor-error")).not.toHaveCount(0, { timeout: 20_000 });
        await check("text with a finding");
        await sides.getByRole("button", { name: "Form" }).click();
        await check("form with a finding");
        await page.getByRole("button", { name: /^Undo/ }).click();
        await expect(page.locator(".finding-error")).toHaveCount(0, { timeout: 20_000 });

        await page.getByRole("button", { name: "Worked cases" }).click();
        await check("worked cases");
        await page.keyboard.press("Escape");
        await page.getByRole("button", { name: "Save…" }).click();
        const file = page.getByRole("dialog").getByRole("button", { name: /\.html \(/ });
        const pieces = page.getByText("comes in many pieces");
        await expect(file.or(pieces)).toBeVisible({ timeout: 60_000 });
        await check("save");
        if (await file.isVisible()) {
          const [kept] = await Promise.all([page.waitForEvent("download"), file.click()]);
          const path = info.outputPath("copy.html");
          await copyFile(await kept.path(), path);
          const copy = await context.newPage();
          await copy.goto(pathToFileURL(path).href);
          await expect(copy.locator("#answer .verdict-word")).toBeVisible();
          await check("kept copy", copy);
          await copy.close();
        }
        await page.keyboard.press("Escape");
        await page.getByRole("button", { name: "Tour", exact: true }).click();
        await expect(page.getByTestId("tour-title")).toBeVisible();
        await check("tour");
        await page.getByRole("button", { name: "Leave, put all back" }).click();
        await page.getByText("View", { exact: true }).click();
        await check("view menu");
        await page.getByLabel("presenter view").check();
        await page.keyboard.press("Escape");
        await check("presenter");
        expect(found).toEqual({});
      });
    });
  }

/** Presses Tab until something with this name has the focus. */
async function tabTo(page: Page, name: RegExp, most = 160): Promise<void> {
  const passed: string[] = [];
  for (let i = 0; i < most; i++) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const el = document.activeElement as HTMLElement | null;
      if (el === null || el === document.body) return { name: "", shown: true };
      const label = el.getAttribute("aria-label") ?? ((el as HTMLInputElement).labels?.[0]?.textContent || el.textContent || "");
      const s = getComputedStyle(el);
      // The ring of an input or button; an SVG marker or a label may draw its own.
      const ring = s.outlineStyle !== "none" && Number.parseFloat(s.outlineWidth) > 0;
      return { name: label.replaceAll(/\s+/g, " ").trim(), shown: ring || s.boxShadow !== "none" || el instanceof SVGElement };
    });
    passed.push(at.name);
    expect(at.shown, `the focus is seen on ${at.name}`).toBe(true);
    if (name.test(at.name)) return;
  }
  throw new Error(`the tab key does not come to ${name}: ${passed.join(" · ")}`);
}

test("without a pointer: another case, a thicker wall, poke, release, map, tour; the focus is always seen", async ({ page }) => {
  test.setTimeout(240_000);
  await page.goto("./");
  await expect(answer(page).locator("[data-verdict]")).toHaveText("Stays", { timeout: 40_000 });
  await tabTo(page, /^Worked cases$/);
  await page.keyboard.press("Enter");
  await tabTo(page, /Jumping cap/);
  await page.keyboard.press("Enter");
  await expect(answer(page).locator("[data-verdict]")).toHaveText("Waits", { timeout: 40_000 });
  await tabTo(page, /^Thickness, slider$/);
  for (let i = 0; i < 3; i++) await page.keyboard.press("PageDown");
  await expect(answer(page).locator("[data-verdict]")).toHaveText("Stays", { timeout: 20_000 });
  for (let i = 0; i < 5; i++) await page.keyboard.press("PageUp");
  await expect(answer(page).locator("[data-verdict]")).toHaveText(/Returns|Waits/, { timeout: 20_000 });
  await page.keyboard.press("PageDown");
  await page.keyboard.press("PageDown");

  const shape = page.locator('#see [data-part="wall"]').first();
  await tabTo(page, /^Poke$/);
  await page.keyboard.press("Enter");
  await answered(page);
  const before = await shape.getAttribute("d");
  await tabTo(page, /^Place on the path$/);
  for (let i = 0; i < 6; i++) await page.keyboard.press("ArrowRight");
  await expect(panel(page).getByTestId("poke-read")).toContainText("Shown:");
  expect(await shape.getAttribute("d")).not.toBe(before);

  await page.locator("#tab-poke").focus();
  await page.keyboard.press("ArrowRight");
  await expect(page.getByRole("tab", { name: "Let go" })).toHaveAttribute("aria-selected", "true");
  await expect(panel(page).getByRole("button", { name: "Play", exact: true })).toBeVisible({ timeout: 120_000 });
  await tabTo(page, /^Play$/);
  const clock = panel(page).getByTestId("clock");
  const zero = await clock.textContent();
  await page.keyboard.press("Enter");
  await expect(clock).not.toHaveText(zero ?? "", { timeout: 20_000 });
  await page.keyboard.press("Enter");
  await tabTo(page, /^Moment/);
  await page.keyboard.press("End");
  const end = await clock.textContent();
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("PageDown");
  expect(await clock.textContent()).not.toBe(end);

  await page.locator("#tab-release").focus();
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("ArrowRight");
  await expect(page.getByRole("tab", { name: "Map" })).toHaveAttribute("aria-selected", "true");
  await expect(panel(page).locator(".map-plot svg")).toBeVisible({ timeout: 60_000 });
  await tabTo(page, /^You are here$/);
  const here = page.getByRole("slider", { name: "You are here" });
  const at = await here.getAttribute("aria-valuetext");
  for (let i = 0; i < 10; i++) await page.keyboard.press("ArrowDown");
  await expect(here).not.toHaveAttribute("aria-valuetext", at ?? "");
  await expect(page.getByTestId("map-here")).toContainText("STAYS", { timeout: 20_000 });

  await tabTo(page, /^Tour$/);
  await page.keyboard.press("Enter");
  await expect(page.getByTestId("tour-title")).toBeFocused();
  await page.keyboard.press("PageDown");
  await tabTo(page, /^Leave, put all back$/);
  await page.keyboard.press("Enter");
  await expect(page.getByTestId("tour-title")).toHaveCount(0);
  await expect(page.getByRole("button", { name: "Tour", exact: true })).toBeFocused();
});

test("movement reduced: no picture changes by itself", async ({ page }) => {
  test.setTimeout(180_000);
  await page.emulateMedia({ reducedMotion: "reduce" });
  await openWith(page, "silicone-cap-stays");
  await expect(answer(page).locator("[data-verdict]")).toHaveText("Stays", { timeout: 40_000 });
  const quiet = async (where: string) => {
    await page.waitForTimeout(1500);
    const changes = await page.evaluate(async () => {
      let n = 0;
      const watch = new MutationObserver((list) => (n += list.length));
      for (const id of ["see", "question-panel"]) {
        const el = document.getElementById(id);
        if (el !== null) watch.observe(el, { subtree: true, childList: true, characterData: true, attributes: true });
      }
      await new Promise((done) => setTimeout(done, 1000));
      watch.disconnect();
      return { n, running: document.getAnimations().filter((a) => a.playState === "running").length };
    });
    expect(changes, where).toEqual({ n: 0, running: 0 });
    // And as pixels: what is on the screen is the same a second later.
    const [a, b] = [await page.screenshot(), (await page.waitForTimeout(1000), await page.screenshot())];
    expect(a.equals(b), where).toBe(true);
  };
  await answered(page);
  await expect(page.locator("#see canvas")).toHaveAttribute("data-ms", /\d/, { timeout: 40_000 });
  await quiet("start");
  // A push over the jump and letting go: at once, then still.
  await page.locator("#see").getByRole("button", { name: "Turn inside out by hand" }).click();
  await expect(page.locator("#see .see-says")).toContainText("Let go", { timeout: 60_000 });
  await quiet("by hand");
  await page.locator("#tab-modes").click();
  await answered(page);
  await panel(page).getByRole("button", { name: "higher" }).click();
  await quiet("a mode");
  await page.locator("#tab-release").click();
  await expect(panel(page).getByTestId("clock")).toBeVisible({ timeout: 120_000 });
  await quiet("release");
});

test("few colours and strong contrast: words, borders and the case in the plots are still there", async ({ page }, info) => {
  test.setTimeout(120_000);
  for (const media of [{ forcedColors: "active" }, { contrast: "more" }] as const) {
    await page.emulateMedia({ forcedColors: null, contrast: null, ...media });
    await openWith(page, "silicone-cap-stays");
    await expect(answer(page).locator("[data-verdict]")).toHaveText("Stays", { timeout: 40_000 });
    await page.locator("#tab-map").click();
    await expect(panel(page).locator(".map-plot svg")).toBeVisible({ timeout: 60_000 });
    // The section's wall and the curves are drawn in a colour that differs from what lies under them.
    const drawn = await page.evaluate(() => {
      const under = getComputedStyle(document.body).backgroundColor;
      const inks = [...document.querySelectorAll<SVGElement>('#see [data-part="wall"], #question-panel .plot path')].map((e) => {
        const s = getComputedStyle(e);
        return [s.stroke, s.fill].filter((c) => c !== "none" && c !== "rgba(0, 0, 0, 0)" && c !== under).length;
      });
      const buttons = [...document.querySelectorAll<HTMLElement>(".top button:not(:disabled)")].map((b) => Number.parseFloat(getComputedStyle(b).borderTopWidth));
      return { inks: inks.length, without: inks.filter((n) => n === 0).length, buttons: buttons.every((w) => w > 0) };
    });
    expect(drawn.inks).toBeGreaterThan(3);
    expect(drawn.without).toBeLessThan(drawn.inks / 2);
    expect(drawn.buttons).toBe(true);
    // Which tab and which side are chosen is told by more than colour.
    await expect(page.getByRole("tab", { name: "Map" })).toHaveAttribute("aria-selected", "true");
    await page.screenshot({ path: info.outputPath(`${"forcedColors" in media ? "forced" : "contrast"}.png`) });
  }
});
