// Remakes the pictures of the page in docs/pictures. Needs a server and a Chromium:
//
//   cargo run --release -- serve --port 8740
//   node ui/tools/pictures.mjs http://127.0.0.1:8740/
//
// CHROMIUM names the browser, /usr/bin/chromium without it.

import { mkdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "@playwright/test";

const url = process.argv[2];
if (url === undefined) {
  process.stderr.write("Which server? node ui/tools/pictures.mjs http://127.0.0.1:8740/\n");
  process.exit(2);
}
const folder = join(dirname(fileURLToPath(import.meta.url)), "../../docs/pictures");
mkdirSync(folder, { recursive: true });

const tab = (page, name) => page.getByRole("tab", { name, exact: true });
const answered = (page) => page.locator("#answer").getByText(/h\/h\*/).first().waitFor();

async function openCase(page, title) {
  await page.getByRole("button", { name: /worked cases|^cases$/i }).click();
  await page.getByRole("button", { name: title }).first().click();
  await page.getByText(title).first().waitFor();
}

/** Name, size, colours, and what a person does before the picture is taken. */
const PICTURES = [
  ["page", 1440, 1150, "light", async (page) => {
    await answered(page);
    await tab(page, "Map").click();
    await page.getByRole("slider", { name: "You are here" }).first().waitFor();
  }],
  ["page-dark", 1440, 1150, "dark", async (page) => {
    await openCase(page, /Jumping cap/);
    await tab(page, "Let go").click();
    await page.getByRole("button", { name: "Play" }).waitFor();
    await page.getByLabel("Moment").first().press("End");
  }],
  ["page-phone", 390, 844, "light", answered],
  ["page-tour", 1440, 900, "light", async (page) => {
    await answered(page);
    await page.getByRole("button", { name: "Tour" }).click();
    await page.getByText(/Between your two points/).waitFor();
  }],
];

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"],
});
for (const [name, width, height, colorScheme, act] of PICTURES) {
  const page = await browser.newPage({ viewport: { width, height }, colorScheme, reducedMotion: "reduce" });
  await page.goto(url);
  await act(page);
  // The view in 3D is drawn after the answer, and words about what was done go after a while.
  await page.waitForTimeout(6000);
  await page.screenshot({ path: join(folder, `${name}.png`) });
  await page.close();
}
await browser.close();
