// The case on the page: form and text in step, findings at their place, undo, links, files, keys.

import { expect, test, type Page } from "@playwright/test";
import { readFileSync } from "node:fs";
import { answer, field, form, fresh, openCase, quick } from "./lib/places";

async function caseText(page: Page): Promise<string> {
  await form(page).getByRole("button", { name: "Text", exact: true }).click();
  const value = await page.getByLabel("The case as text").inputValue();
  await form(page).getByRole("button", { name: "Form", exact: true }).click();
  return value;
}

const thickness = (page: Page) => field(page, "wall.thickness").locator("input[type=text]").first();

test("a worked case is one click away, and its fields are those of its text", async ({ page }) => {
  await fresh(page);
  await openCase(page, "metal-dome");
  await expect(page.getByRole("banner")).toContainText("Metal dome of a foil switch");
  await expect(field(page, "shape.rise").locator("input").first()).toHaveValue("0.27");
  await expect(field(page, "shape.rise").getByLabel("Rise: half-width of the tolerance")).toHaveValue("0.01");
  await expect(field(page, "rim.kind").getByRole("combobox")).toHaveValue("ring");
  await expect(field(page, "load.kind").getByRole("combobox")).toHaveValue("pole");
  await expect(field(page, "material.name").getByRole("combobox")).toBeVisible();
  // Keys of other kinds of load or shape are not asked.
  await expect(field(page, "load.bonded")).toHaveCount(0);
  await expect(field(page, "shape.position_sd")).toHaveCount(0);
});

test("thickness by box, by text and by slider: form and text in step", async ({ page }) => {
  await fresh(page);
  await thickness(page).fill("2.64");
  expect(await caseText(page)).toContain('thickness = "2.64 ± 0.05 mm"');
  await expect(quick(page).getByLabel("Thickness", { exact: true })).toHaveValue("2.64");
  await expect(answer(page)).toContainText("Returns", { timeout: 20_000 });
  await expect(answer(page)).toContainText("2.640 mm");

  await form(page).getByRole("button", { name: "Text", exact: true }).click();
  const area = page.getByLabel("The case as text");
  await area.fill((await area.inputValue()).replace("2.64 ± 0.05 mm", "2.2 ± 0.1 mm"));
  await form(page).getByRole("button", { name: "Form", exact: true }).click();
  await expect(thickness(page)).toHaveValue("2.2");
  await expect(field(page, "wall.thickness").getByLabel("Thickness: half-width of the tolerance")).toHaveValue("0.1");
  await expect(answer(page)).toContainText("Stays", { timeout: 20_000 });

  const slider = quick(page).getByLabel("Thickness, slider");
  const box = await slider.boundingBox();
  if (box === null) throw new Error("the slider is not in sight");
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width * 0.6, box.y + box.height / 2, { steps: 6 });
  // The range stays put while it is held.
  expect(Number(await slider.inputValue())).toBeGreaterThan(550);
  await page.mouse.move(box.x + box.width * 0.75, box.y + box.height / 2, { steps: 6 });
  const moved = Number(await thickness(page).inputValue());
  expect(moved).toBeGreaterThan(2.7);
  expect(moved).toBeLessThan(3.6);
  await page.mouse.up();
  await expect(answer(page)).toContainText("Returns", { timeout: 20_000 });
  expect(await caseText(page)).toContain(`thickness = "${await thickness(page).inputValue()} ± 0.1 mm"`);
  // Let go, the slider stands in the middle of a new range.
  expect(Math.abs(Number(await slider.inputValue()) - 500)).toBeLessThan(20);
  // The whole way of the slider is one step back.
  await page.getByRole("button", { name: /^Undo/ }).click();
  await expect(thickness(page)).toHaveValue("2.2");
});

test("only what was changed changes: comments and spacing stay", async ({ page }) => {
  await fresh(page);
  const before = await caseText(page);
  await field(page, "shape.radius").locator("input[type=text]").first().fill("27");
  expect(await caseText(page)).toBe(before.replace("26.0 ± 0.1 mm", "27 ± 0.1 mm"));
});

test("another unit means the same part", async ({ page }) => {
  await fresh(page);
  await thickness(page).fill("2.54");
  await field(page, "wall.thickness").getByLabel("Thickness: unit").selectOption("in");
  await expect(thickness(page)).toHaveValue("0.1");
  expect(await caseText(page)).toMatch(/thickness = "0\.1 ± 0\.0019685\d* in"/);
  await expect(answer(page)).toContainText("2.540 mm", { timeout: 20_000 });
});

test("bad input shows at its field and its line, and the last good answer stays", async ({ page }) => {
  await fresh(page);
  await thickness(page).fill("-2");
  const wrong = field(page, "wall.thickness").locator(".finding-error");
  await expect(wrong).toBeVisible({ timeout: 20_000 });
  await expect(thickness(page)).toHaveAttribute("aria-invalid", "true");
  const describedBy = await thickness(page).getAttribute("aria-describedby");
  await expect(page.locator(`#${describedBy}`)).toContainText(/\w{3,}/);
  await expect(answer(page)).toContainText("Stays");
  // The button of the finding puts the caret at the place.
  await form(page).getByRole("button", { name: /^line 11, column \d+$/ }).click();
  const area = page.getByLabel("The case as text");
  await expect(area).toBeFocused();
  const [from, value] = await area.evaluate((el: HTMLTextAreaElement) => [el.selectionStart, el.value] as const);
  expect(value.slice(0, from).split("\n").length).toBe(11);
  await expect(page.locator('.editor-error[data-line="11"]')).toBeVisible();
  await page.keyboard.press("Control+z");
  await expect(page.locator(".editor-error")).toHaveCount(0, { timeout: 20_000 });
  await expect(form(page)).toContainText("Nothing to put right");
});

test("a key that does not belong is shown with its finding and can be taken out", async ({ page }) => {
  await fresh(page);
  await form(page).getByRole("button", { name: "Text", exact: true }).click();
  const area = page.getByLabel("The case as text");
  const before = await area.inputValue();
  await area.fill(before.replace("[wall]\n", '[wall]\nthicknes = "2 mm"\n'));
  await form(page).getByRole("button", { name: "Form", exact: true }).click();
  const stray = field(page, "wall.thicknes");
  await expect(stray).toContainText("does not belong here");
  await expect(stray.locator(".finding-error")).toContainText("thicknes", { timeout: 20_000 });
  await stray.getByRole("button", { name: "Take out" }).click();
  expect(await caseText(page)).toBe(before);
});

test("undo and redo, by buttons and keys, of form and text alike", async ({ page }) => {
  await fresh(page);
  const first = await caseText(page);
  await field(page, "rim.kind").getByRole("combobox").selectOption("ring");
  const second = await caseText(page);
  expect(second).toContain('kind = "ring"');
  await form(page).getByRole("button", { name: "Text", exact: true }).click();
  const area = page.getByLabel("The case as text");
  await area.press("Control+End");
  await area.pressSequentially("# a note");
  await expect(area).toHaveValue(`${second}# a note`);
  await area.press("Control+z");
  await expect(area).toHaveValue(second);
  await area.press("Control+z");
  await expect(area).toHaveValue(first);
  await area.press("Control+y");
  await expect(area).toHaveValue(second);
  await area.press("Control+Shift+z");
  await expect(area).toHaveValue(`${second}# a note`);
  await page.getByRole("button", { name: "Undo the typing in the text" }).click();
  await page.getByRole("button", { name: "Undo the change of rim.kind" }).click();
  await expect(area).toHaveValue(first);
  await page.getByRole("button", { name: "Redo the change of rim.kind" }).click();
  await expect(area).toHaveValue(second);
});

test("opening another case can be undone", async ({ page }) => {
  await fresh(page);
  const first = await caseText(page);
  await openCase(page, "key-dome");
  expect(await caseText(page)).not.toBe(first);
  await page.getByRole("button", { name: /^Undo the opening/ }).click();
  expect(await caseText(page)).toBe(first);
});

test("the shape of the case before does not stay when another kind of part is opened", async ({ page }) => {
  await fresh(page);
  const see = page.getByRole("region", { name: "What it looks like" });
  await expect(see).toContainText("lip 11.99 mm", { timeout: 20_000 });
  await openCase(page, "clutch-detent");
  await expect(answer(page)).toContainText("stable state", { timeout: 20_000 });
  await expect(see).not.toContainText("lip 11.99 mm");
});

test("rows: a corner more and less, its pieces with it", async ({ page }) => {
  await fresh(page);
  await openCase(page, "marine-handset-key");
  const before = await caseText(page);
  await form(page).getByRole("button", { name: "Add a corner after corner 2" }).click();
  await expect(page.getByLabel("Distance from the axis, corner 3")).toHaveValue("3.0 ± 0.05 mm");
  const after = await caseText(page);
  expect(after).toContain('"3.0 ± 0.05 mm", "3.0 ± 0.05 mm", "5.2 ± 0.05 mm"');
  // One more corner, one more piece of the wall.
  expect(after).toContain('thickness = ["2.0 mm", "0.38 ± 0.02 mm", "0.38 ± 0.02 mm", "1.0 mm"]');
  await page.getByLabel("Distance from the axis, corner 3").fill("4 mm");
  expect(await caseText(page)).toContain('"3.0 ± 0.05 mm", "4 mm", "5.2 ± 0.05 mm"');
  await form(page).getByRole("button", { name: "Take out corner 3" }).click();
  expect(await caseText(page)).toBe(before);
});

test("a load and a hold are added and taken out", async ({ page }) => {
  await fresh(page);
  const before = await caseText(page);
  await page.getByLabel("Load", { exact: true }).and(page.locator("#add-load")).selectOption("ball");
  expect(await caseText(page)).toContain('[load]\nkind = "ball"');
  const radius = field(page, "load.radius").locator("input[type=text]").first();
  await expect(radius).toBeVisible({ timeout: 20_000 });
  await radius.fill("5");
  await radius.press("Enter");
  expect(await caseText(page)).toContain('radius = "5 mm"');
  await form(page).getByRole("button", { name: "Take out load" }).click();
  await form(page).getByRole("button", { name: "+ Hold and release" }).click();
  expect(await caseText(page)).toContain("[hold]");
  await form(page).getByRole("button", { name: "Take out hold and release" }).click();
  expect((await caseText(page)).trimEnd()).toBe(before.trimEnd());
});

test("what a key means is said on demand", async ({ page }) => {
  await fresh(page);
  const about = form(page).getByRole("button", { name: "About: Half-angle" });
  await expect(about).toHaveAttribute("aria-expanded", "false");
  await about.click();
  await expect(about).toHaveAttribute("aria-expanded", "true");
  await expect(field(page, "shape.half_angle")).toContainText("Angle from the axis to the rim");
  await expect(field(page, "shape.half_angle")).toContainText("50 deg ± 0.5 deg");
});

test("a link carries the case to another tab; tabs do not disturb each other; a reload keeps the case", async ({ page, context }) => {
  await context.grantPermissions(["clipboard-read", "clipboard-write"]);
  await fresh(page);
  await openCase(page, "measured-cap");
  await field(page, "shape.scale").locator("input[type=text]").first().fill("1.01");
  const sent = await caseText(page);
  await page.getByRole("button", { name: "Copy link" }).click();
  await expect(page.getByText("Link copied; the case travels in it.")).toBeVisible();
  const link = await page.evaluate(() => navigator.clipboard.readText());
  expect(link).toContain("#case=");

  const other = await context.newPage();
  await other.goto(link);
  await expect(other.getByRole("banner")).toContainText("Flattened cap from a side view");
  expect(await caseText(other)).toBe(sent);
  await expect(other.getByRole("group", { name: "Files beside the case" })).toContainText("profile.csv");
  await expect(answer(other)).toContainText(/Stays|Returns|Undecided/, { timeout: 20_000 });

  await field(other, "shape.scale").locator("input[type=text]").first().fill("0.99");
  const changed = await caseText(other);
  expect(changed).not.toBe(sent);
  expect(await caseText(page)).toBe(sent);
  await other.reload();
  expect(await caseText(other)).toBe(changed);
  await page.reload();
  expect(await caseText(page)).toBe(sent);
});

test("a damaged link is said to be one", async ({ page }) => {
  await page.goto("./#case=abcdef");
  await expect(page.getByText("The case in the link cannot be read")).toBeVisible();
  await expect(answer(page)).toContainText("Stays", { timeout: 20_000 });
});

test("without a clipboard the link stands in a field", async ({ page }) => {
  await page.addInitScript(() => Object.defineProperty(navigator, "clipboard", { value: { writeText: () => Promise.reject(new Error("shut")) } }));
  await fresh(page);
  await page.getByRole("button", { name: "Copy link" }).click();
  await expect(page.getByLabel("Link to the case")).toHaveValue(/#case=/);
});

test("the download is the text, and opening it gives the same case", async ({ page }) => {
  await fresh(page);
  await openCase(page, "wall-table");
  await field(page, "wall.offset").locator("input[type=text]").first().fill("0.07");
  const text = await caseText(page);
  const saved: Record<string, string> = {};
  page.on("download", async (d) => (saved[d.suggestedFilename()] = readFileSync(await d.path(), "utf8")));
  await page.getByRole("button", { name: "Save case" }).click();
  await expect.poll(() => Object.keys(saved).sort()).toEqual(["wall-table.toml", "wall.csv"]);
  expect(saved["wall-table.toml"]).toBe(text);

  await openCase(page, "key-dome");
  await page.getByLabel("Case files").setInputFiles(Object.entries(saved).map(([name, content]) => ({ name, mimeType: "text/plain", buffer: Buffer.from(content) })));
  await expect(page.getByText("Opened wall-table.toml with wall.csv.")).toBeVisible();
  expect(await caseText(page)).toBe(text);
  await expect(answer(page)).toContainText(/Stays|Returns|Undecided/, { timeout: 20_000 });
});

test("by keyboard alone: another case, a thicker wall, the answer", async ({ page }) => {
  await fresh(page);
  const tabTo = async (name: RegExp) => {
    for (let i = 0; i < 80; i++) {
      await page.keyboard.press("Tab");
      const found = await page.evaluate(() => {
        const el = document.activeElement;
        return el === null ? "" : (el.getAttribute("aria-label") ?? (el as HTMLInputElement).labels?.[0]?.textContent ?? el.textContent ?? "");
      });
      if (name.test(found)) return;
    }
    throw new Error(`the tab key does not come to ${name}`);
  };
  await tabTo(/^Worked cases$/);
  await page.keyboard.press("Enter");
  await tabTo(/Workshop cap B/);
  await page.keyboard.press("Enter");
  await expect(answer(page)).toContainText("Returns", { timeout: 20_000 });
  await tabTo(/^Thickness, slider$/);
  for (let i = 0; i < 4; i++) await page.keyboard.press("PageDown");
  await expect(thickness(page)).toHaveValue("2.24");
  await expect(answer(page)).toContainText("Stays", { timeout: 20_000 });
  await tabTo(/^Half-angle$/);
  await page.keyboard.press("ArrowUp");
  await expect(field(page, "shape.half_angle").locator("input[type=text]").first()).toHaveValue("60.1");
});
