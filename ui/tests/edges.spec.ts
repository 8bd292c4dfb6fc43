// What goes wrong only now and then: slow hands, long links, dropped files, answers refused after good ones.

import { expect, test, type Page } from "@playwright/test";
import { inUnit } from "../src/text/inunit";
import { takeApart } from "../src/text/quantity";
import { short } from "../src/text/units";
import { openWith, pick } from "./lib/visit";

const answer = (page: Page) => page.locator("#answer");
const thickness = (page: Page) => page.locator('[data-path="wall.thickness"] input[type=text]').first();
const undo = (page: Page) => page.getByRole("button", { name: /^Undo/ });

async function fresh(page: Page): Promise<void> {
  await page.goto("./");
  await expect(answer(page).locator("[data-verdict]")).toHaveText("Stays", { timeout: 40_000 });
}

test("a number in another unit is as short as it may be, and a half turn never more than one", () => {
  expect(short(Math.PI)).toBe("3.141593");
  expect(Number(short(Math.PI, Math.PI))).toBeLessThan(Math.PI);
  expect(Math.abs(Number(short(Math.PI, Math.PI)) / Math.PI - 1)).toBeLessThan(5e-7);
  expect(short(2.54 / 25.4)).toBe("0.1");
  expect(short(-1 / 3)).toBe("-0.3333333");
  const half = takeApart("180 deg");
  if (half === null) throw new Error("not read");
  expect(inUnit(half, "rad", "angle").number).toBeCloseTo(Math.PI, 12);
  expect(Number(inUnit(half, "rad", "angle").digits)).toBeLessThanOrEqual(Math.PI);
});

test("the map's marker dragged with long rests is one step of undo; the next drag is another", async ({ page }) => {
  test.setTimeout(90_000);
  await fresh(page);
  await page.getByRole("tab", { name: "Map" }).click();
  const knob = page.getByRole("slider", { name: "You are here" }).locator(".plot-knob");
  await expect(knob).toBeVisible({ timeout: 40_000 });
  await knob.scrollIntoViewIfNeeded();
  for (const way of [1, 2]) {
    const box = await knob.boundingBox();
    if (box === null) throw new Error("not drawn");
    await page.mouse.move(box.x + 7, box.y + 7);
    await page.mouse.down();
    // Straight up: one number.
    for (let i = 1; i <= 3; i++) {
      await page.mouse.move(box.x + 7, box.y + 7 - 8 * i, { steps: 3 });
      await page.waitForTimeout(1200);
    }
    await page.mouse.up();
    expect(await thickness(page).inputValue(), `drag ${way}`).not.toBe("2.40");
  }
  const after = await thickness(page).inputValue();
  await undo(page).click();
  const between = await thickness(page).inputValue();
  expect(between).not.toBe(after);
  expect(between).not.toBe("2.40");
  await undo(page).click();
  await expect(thickness(page)).toHaveValue("2.40");
  await expect(undo(page)).toBeDisabled();
});

test("files dropped on the page are opened together; what is no case is said to be none", async ({ page }) => {
  await fresh(page);
  const stored = (await (await page.request.get("./api/cases/wall-table")).json()) as { text: string; files: Record<string, string> };
  const drop = async (list: [string, string][]) => {
    const data = await page.evaluateHandle((files) => {
      const d = new DataTransfer();
      for (const [name, content] of files) d.items.add(new File([content], name));
      return d;
    }, list);
    await page.dispatchEvent("#see", "drop", { dataTransfer: data });
  };
  await drop([["picture.png", "x"]]);
  await expect(page.getByText("A case is a .toml file")).toBeVisible();
  await drop([["shade.toml", stored.text], ...Object.entries(stored.files)]);
  await expect(page.getByText("Opened shade.toml with wall.csv.")).toBeVisible();
  await expect(answer(page)).toContainText(/Stays|Returns|Undecided/, { timeout: 20_000 });
  await expect(page.locator(".finding-error")).toHaveCount(0);
});

test("a link that some programs break says so, and is still whole", async ({ page, context }) => {
  await context.grantPermissions(["clipboard-read", "clipboard-write"]);
  await openWith(page, "silicone-cap-stays");
  await expect(thickness(page)).toHaveValue("2.40", { timeout: 20_000 });
  let noise = "";
  for (let i = 0, x = 7; i < 2000; i++, x = (x * 48271) % 2147483647) noise += `# ${x}\n`;
  await page.getByRole("group", { name: "Show the case as" }).getByRole("button", { name: "Text" }).click();
  const box = page.getByLabel("The case as text");
  const long = `${await box.inputValue()}\n${noise}`;
  await box.fill(long);
  await page.getByRole("button", { name: "Copy link" }).click();
  await expect(page.getByText(/some programs break links longer than 8000/)).toBeVisible();
  const link = await page.evaluate(() => navigator.clipboard.readText());
  expect(link.length).toBeGreaterThan(8000);
  const other = await context.newPage();
  await other.goto(link);
  await other.getByRole("group", { name: "Show the case as" }).getByRole("button", { name: "Text" }).click();
  await expect(other.getByLabel("The case as text")).toHaveValue(long);
});

test("a case that can be read but gets no verdict shows its own shape, not the inverted one of before", async ({ page }) => {
  await fresh(page);
  const see = page.locator("#see");
  await expect(see.locator(".see-name")).toHaveText("inverted shape");
  await page.route("**/api/ask/verdict", (route) =>
    route.fulfill({ contentType: "application/x-ndjson", body: '{"findings":[]}\n{"refused":{"kind":"failed","says":"for the test","help":null}}\n' }),
  );
  await thickness(page).fill("2.3");
  await expect(answer(page).locator(".refused")).toContainText("for the test", { timeout: 20_000 });
  await expect(see.locator(".see-name")).toHaveText("natural shape");
  await expect(see.getByRole("group", { name: "Shape" }).getByRole("button", { name: "Inverted" })).toBeDisabled();
  await page.unroute("**/api/ask/verdict");
  await answer(page).getByRole("button", { name: "Ask again" }).click();
  await expect(see.locator(".see-name")).toHaveText("inverted shape", { timeout: 20_000 });
});

test("states that took long are not looked for at every change, and are when asked, or when another part is opened", async ({ page }) => {
  test.setTimeout(120_000);
  let asked = 0;
  await page.route("**/api/ask/states", async (route) => {
    asked++;
    await new Promise((done) => setTimeout(done, 2500));
    await route.continue();
  });
  await openWith(page, "clutch-detent");
  await expect(answer(page).locator(".verdict-states")).toBeVisible({ timeout: 60_000 });
  const before = asked;
  await thickness(page).fill("0.9");
  await expect(answer(page)).toContainText("The case has changed.", { timeout: 20_000 });
  await page.waitForTimeout(2000);
  expect(asked).toBe(before);
  await answer(page).getByRole("button", { name: "Ask again" }).click();
  await expect(answer(page)).toContainText("wall 0.9000 mm", { timeout: 60_000 });
  expect(asked).toBe(before + 1);
  await pick(page, "marine-handset-key");
  await expect(answer(page)).toContainText("1.000", { timeout: 60_000 });
  await expect.poll(() => asked, { timeout: 20_000 }).toBe(before + 2);
});
