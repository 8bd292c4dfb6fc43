// The part as a person sees it: 3D view, section, controls by keyboard, the hand at the pole, points picked, pictures kept.

import { expect, test, type Locator, type Page } from "@playwright/test";

async function open(page: Page, name = "silicone-cap-stays") {
  const errors: string[] = [];
  page.on("pageerror", (e) => errors.push(e.message));
  page.on("console", (m) => m.type() === "error" && errors.push(m.text()));
  await page.goto("./");
  const stored = await (await page.request.get(`/api/cases/${name}`)).text();
  await page.evaluate((s) => sessionStorage.setItem("calotte.case", s), stored);
  await page.reload();
  await expect(wall(page)).toBeVisible({ timeout: 40_000 });
  return errors;
}

const see = (page: Page) => page.locator("#see");
const wall = (page: Page) => see(page).locator('[data-part="wall"]').first();
const canvas = (page: Page) => see(page).locator("canvas");
const shape = (page: Page, name: string) => see(page).getByRole("group", { name: "Shape" }).getByRole("button", { name });
const inverted = (page: Page) => expect(shape(page, "Inverted")).toHaveAttribute("aria-pressed", "true", { timeout: 40_000 });
const said = (page: Page, what: string) => see(page).locator(`[data-read="${what}"]`);
const push = (page: Page) => see(page).getByLabel("Push the pole");

/** The canvas as the browser shows it, once it has stood still. */
async function still(page: Page, view: Locator): Promise<string> {
  let before = "";
  for (let k = 0; k < 40; k++) {
    const now = (await view.screenshot()).toString("base64");
    if (now === before) return now;
    before = now;
    await page.waitForTimeout(250);
  }
  return before;
}

/** Different colours in the picture of the canvas. */
async function colours(page: Page, png: string): Promise<number> {
  return await page.evaluate(async (data) => {
    // Decoded from bytes: the page's own rules let it fetch from itself alone.
    const bytes = Uint8Array.from(atob(data), (c) => c.charCodeAt(0));
    const image = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
    const flat = new OffscreenCanvas(image.width, image.height);
    const c = flat.getContext("2d");
    if (c === null) return 0;
    c.drawImage(image, 0, 0);
    const px = c.getImageData(0, 0, image.width, image.height).data;
    const seen = new Set<number>();
    for (let i = 0; i < px.length; i += 4) seen.add(((px[i] ?? 0) >> 3) * 1024 + ((px[i + 1] ?? 0) >> 3) * 32 + ((px[i + 2] ?? 0) >> 3));
    return seen.size;
  }, png);
}

test("the 3D view shows something, and something else beyond the threshold", async ({ page }) => {
  test.setTimeout(120_000);
  const errors = await open(page);
  await inverted(page);
  await expect(canvas(page)).toHaveAttribute("data-ms", /\d/, { timeout: 40_000 });
  const before = await still(page, canvas(page));
  expect(await colours(page, before)).toBeGreaterThan(30);
  const path = await wall(page).getAttribute("d");
  await page.locator('[data-path="wall.thickness"] input[type=text]').first().fill("2.64");
  await expect(shape(page, "Inverted")).toBeDisabled({ timeout: 40_000 });
  await expect(wall(page)).not.toHaveAttribute("d", path ?? "");
  await expect(see(page)).toContainText("No inverted shape to show");
  const behind = await still(page, canvas(page));
  expect(behind).not.toBe(before);
  expect(errors).toEqual([]);
});

test("natural and inverted, lip and mirror image, with numbers of the sheet in words", async ({ page }) => {
  const errors = await open(page);
  await inverted(page);
  const drawing = see(page).locator("svg.see-drawing");
  const lip = await page.request.post("/api/ask/verdict", { data: { text: await page.evaluate(() => (JSON.parse(sessionStorage.getItem("calotte.case") ?? "{}") as { text: string }).text), files: {}, options: {}, want: {} } });
  const lines = (await lip.text()).trim().split("\n").map((l) => JSON.parse(l) as { answer?: { sheet: { blocks: { kind: string; name?: string; value?: string }[] } } });
  const row = lines.at(-1)?.answer?.sheet.blocks.find((b) => b.name === "lip width")?.value ?? "none";
  expect(row).toContain("mm");
  await expect(drawing).toHaveAttribute("aria-label", new RegExp(row.split(" = ")[0] ?? "none"));
  await expect(drawing.locator('[data-part="lip"]')).toHaveCount(1);
  await see(page).getByRole("checkbox", { name: "Lip" }).uncheck();
  await expect(drawing.locator('[data-part="lip"]')).toHaveCount(0);
  await expect(drawing.locator('[data-part="mirror"]')).toHaveCount(1);
  await see(page).getByRole("checkbox", { name: "Mirror image" }).uncheck();
  await expect(drawing.locator('[data-part="mirror"]')).toHaveCount(0);
  const path = await wall(page).getAttribute("d");
  await shape(page, "Natural").click();
  await expect(wall(page)).not.toHaveAttribute("d", path ?? "");
  await expect(drawing).toHaveAttribute("aria-label", /Natural shape/);
  expect(errors).toEqual([]);
});

test("colours come with a legend, walls can be made thicker, halves shown; all by keyboard", async ({ page }) => {
  test.setTimeout(120_000);
  const errors = await open(page);
  await inverted(page);
  const path = await wall(page).getAttribute("d");
  const thickness = see(page).getByLabel("Wall");
  await thickness.focus();
  await page.keyboard.press("ArrowDown");
  await expect(thickness).toHaveValue("3");
  await expect(wall(page)).not.toHaveAttribute("d", path ?? "");
  await expect(see(page)).toContainText("wall × 3");
  await see(page).getByLabel("Colour").selectOption("strain");
  await expect(see(page).getByRole("img", { name: /Largest strain.*\d.*%/ })).toBeVisible();
  await see(page).getByLabel("Colour").selectOption("energy");
  await expect(see(page).getByRole("img", { name: /Elastic energy.*J\/m²/ })).toBeVisible();
  const half = await wall(page).getAttribute("d");
  await see(page).getByLabel("Half the section").press("Space");
  await expect(wall(page)).not.toHaveAttribute("d", half ?? "");
  const before = await still(page, canvas(page));
  await canvas(page).focus();
  for (let k = 0; k < 6; k++) await page.keyboard.press("ArrowLeft");
  const turned = await still(page, canvas(page));
  expect(turned).not.toBe(before);
  await page.keyboard.press("Home");
  expect(await still(page, canvas(page))).not.toBe(turned);
  await see(page).getByLabel("Cut open").selectOption("no");
  expect(errors).toEqual([]);
});

test("a slow push by the slider: force and travel read out; let go before the middle it goes back", async ({ page }) => {
  test.setTimeout(120_000);
  const errors = await open(page);
  await inverted(page);
  await shape(page, "Natural").click();
  await push(page).fill("150");
  await expect(said(page, "travel")).toContainText("mm", { timeout: 60_000 });
  await expect(said(page, "force")).toContainText("hand pushes");
  const force = await said(page, "force").textContent();
  const path = await wall(page).getAttribute("d");
  await push(page).fill("300");
  await expect(said(page, "force")).not.toHaveText(force ?? "");
  await expect(wall(page)).not.toHaveAttribute("d", path ?? "");
  await see(page).getByRole("button", { name: "Let go", exact: true }).click();
  await expect(see(page).locator(".see-says")).toContainText("goes back to its natural shape", { timeout: 30_000 });
  await expect(see(page).locator(".see-says")).toContainText("not the true time");
  expect(Number.parseFloat((await said(page, "travel").textContent()) ?? "9")).toBeCloseTo(0, 3);
  expect(errors).toEqual([]);
});

test("turned inside out by hand it stays; where it loses stability sideways it says so", async ({ page }) => {
  test.setTimeout(120_000);
  await page.emulateMedia({ reducedMotion: "reduce" });
  const errors = await open(page);
  await inverted(page);
  await shape(page, "Natural").click();
  await see(page).getByRole("button", { name: "Turn inside out by hand" }).click();
  await expect(see(page).locator(".see-says")).toContainText("stays inside out", { timeout: 60_000 });
  await expect(said(page, "force")).toContainText("0 N");
  const travel = Number.parseFloat((await said(page, "travel").textContent()) ?? "0");
  expect(travel).toBeGreaterThan(15);
  // Back by hand: somewhere on the way waves are lost.
  let lost = false;
  for (let share = 780; share > 300 && !lost; share -= 40) {
    await push(page).fill(String(share));
    lost = ((await said(page, "stable").textContent()) ?? "").includes("ripples");
  }
  expect(lost).toBe(true);
  await expect(see(page)).toContainText("Ripple with n = 1");
  await expect(see(page).getByLabel("Phase")).toBeVisible();
  await see(page).getByRole("button", { name: "Hand away" }).click();
  await expect(see(page)).not.toContainText("Ripple with n");
  expect(errors).toEqual([]);
});

test("a path that turns back: the part jumps, and comes home by another branch", async ({ page }) => {
  test.setTimeout(180_000);
  await page.emulateMedia({ reducedMotion: "reduce" });
  const errors = await open(page, "pushed-over-cap");
  await push(page).fill("10");
  await expect(said(page, "travel")).toContainText("mm", { timeout: 120_000 });
  const there = new Map<number, string>();
  let jumped = false;
  for (let share = 20; share <= 1000; share += 20) {
    await push(page).fill(String(share));
    there.set(share, (await said(page, "force").textContent()) ?? "");
    jumped ||= ((await see(page).locator(".see-says").textContent()) ?? "").includes("jumps");
  }
  expect(jumped).toBe(true);
  let differs = 0;
  let home = false;
  for (let share = 980; share >= 20; share -= 20) {
    await push(page).fill(String(share));
    const words = (await see(page).locator(".see-says").textContent()) ?? "";
    home ||= words.includes("jumps");
    if ((await said(page, "force").textContent()) !== there.get(share)) differs++;
  }
  expect(home).toBe(true);
  expect(differs).toBeGreaterThan(0);
  expect(errors).toEqual([]);
});

test("the pole follows the pointer", async ({ page }) => {
  test.setTimeout(120_000);
  const errors = await open(page);
  await inverted(page);
  await shape(page, "Natural").click();
  const grip = see(page).locator("svg.see-drawing .handle");
  await grip.scrollIntoViewIfNeeded();
  const box = await grip.boundingBox();
  if (box === null) throw new Error("no handle");
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x, y + 3);
  await expect(said(page, "travel")).toBeVisible({ timeout: 60_000 });
  await page.mouse.move(x, y + 25, { steps: 5 });
  await expect.poll(async () => Number.parseFloat((await said(page, "travel").textContent()) ?? "0")).toBeGreaterThan(1);
  await page.mouse.up();
  await expect(see(page).locator(".see-says")).toContainText("Let go", { timeout: 30_000 });
  expect(errors).toEqual([]);
});

test("pictures can be kept", async ({ page }) => {
  const errors = await open(page);
  await inverted(page);
  await see(page).getByText("What is seen, in words").click();
  const [svg] = await Promise.all([page.waitForEvent("download"), see(page).getByRole("button", { name: "Keep the section (SVG)" }).click()]);
  const text = await (await import("node:fs/promises")).readFile(await svg.path(), "utf8");
  expect(text).toContain('xmlns="http://www.w3.org/2000/svg"');
  expect(text).toMatch(/data-part="wall"[^>]*fill="rgb/);
  const [png] = await Promise.all([page.waitForEvent("download"), see(page).getByRole("button", { name: "Keep the 3D view (PNG)" }).click()]);
  const bytes = await (await import("node:fs/promises")).readFile(await png.path());
  expect(bytes.subarray(1, 4).toString()).toBe("PNG");
  expect(bytes.length).toBeGreaterThan(5000);
  expect(errors).toEqual([]);
});

test("on a phone: nothing wider than the page, the view lets it scroll", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  const errors = await open(page);
  await inverted(page);
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
  expect(await canvas(page).evaluate((c) => getComputedStyle(c).touchAction)).toBe("pan-y");
  await expect(push(page)).toBeVisible();
  expect(errors).toEqual([]);
});

test("without WebGL the section stands alone and the page says why", async ({ page }) => {
  await page.addInitScript(() => {
    const was = HTMLCanvasElement.prototype.getContext;
    HTMLCanvasElement.prototype.getContext = function (this: HTMLCanvasElement, kind: string, ...rest: unknown[]) {
      return kind.startsWith("webgl") ? null : (was as (...a: unknown[]) => unknown).call(this, kind, ...rest);
    } as typeof was;
  });
  await page.goto("./");
  await expect(wall(page)).toBeVisible({ timeout: 40_000 });
  await expect(see(page)).toContainText("no WebGL");
});

test("two points and the straight line between them, the same on the mirror image", async ({ page }) => {
  test.setTimeout(120_000);
  const errors = await open(page);
  await inverted(page);
  await shape(page, "Natural").click();
  await see(page).getByText("What is seen, in words").click();
  await see(page).getByRole("checkbox", { name: "Pick two points of the part" }).check();
  await expect(canvas(page)).toHaveAttribute("data-ms", /\d/, { timeout: 40_000 });
  await still(page, canvas(page));
  const box = await canvas(page).boundingBox();
  if (box === null) throw new Error("no canvas");
  // On the part: in the middle of the view; the second with sliders.
  await canvas(page).click({ position: { x: box.width * 0.5, y: box.height * 0.45 } });
  await expect(see(page).getByLabel("First point: from the pole")).toBeVisible();
  await see(page).getByRole("button", { name: "Set the second point with sliders" }).click();
  await expect(said(page, "chord")).toContainText("on its mirror image");
  const numbers = (((await said(page, "chord").textContent()) ?? "").match(/\d+\.\d+ mm/g) ?? []).map(String);
  expect(numbers).toHaveLength(2);
  expect(numbers[0]).toBe(numbers[1]);
  await see(page).getByLabel("Second point: from the pole").fill("900");
  await expect(said(page, "chord")).not.toContainText(numbers[0] ?? "none");
  await see(page).getByRole("button", { name: "Take the points away" }).click();
  await expect(said(page, "chord")).toHaveCount(0);
  expect(errors).toEqual([]);
});
