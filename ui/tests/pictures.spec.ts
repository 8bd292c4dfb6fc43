// Drawings that should look as they did: section, margin gauge, poke and map plot, in light and dark, laid over the pictures in goldens/.
//
// Words are left out of the pictures: fonts differ between machines, and what the drawings say is read by the other tests. To renew the
// pictures after a change that is meant (look at each of them before it is committed):
//
//   npx playwright test tests/pictures.spec.ts --update-snapshots

import { expect, test, type Page } from "@playwright/test";
import { fileURLToPath } from "node:url";
import { openWith } from "./lib/visit";

// The style that hides the words is not the page's own: its rules would refuse it.
test.use({ bypassCSP: true });

const LOOK = { animations: "disabled", maxDiffPixelRatio: 0.02, stylePath: fileURLToPath(new URL("goldens/wordless.css", import.meta.url)) } as const;

const panel = (page: Page) => page.locator("#question-panel");

for (const colorScheme of ["light", "dark"] as const)
  test(`drawings of one case, ${colorScheme}`, async ({ page }) => {
    test.setTimeout(120_000);
    await page.emulateMedia({ colorScheme, reducedMotion: "reduce" });
    await openWith(page, "silicone-cap-stays");
    await expect(page.locator("#answer [data-verdict]")).toHaveText("Stays", { timeout: 40_000 });
    await expect(page.locator("#see .see-drawing [data-part=mirror]")).toBeVisible();
    await expect(page.locator("#see .see-drawing")).toHaveScreenshot(`section-${colorScheme}.png`, LOOK);
    await expect(page.locator("#answer .gauge svg")).toHaveScreenshot(`gauge-${colorScheme}.png`, LOOK);
    await page.locator("#tab-poke").click();
    await expect(panel(page).getByTestId("poke-read")).toBeVisible({ timeout: 60_000 });
    await expect(panel(page).locator(".plot svg").first()).toHaveScreenshot(`poke-${colorScheme}.png`, LOOK);
    await page.locator("#tab-map").click();
    await expect(panel(page).locator(".map-plot svg")).toBeVisible({ timeout: 60_000 });
    await expect(panel(page).locator(".map-plot svg").first()).toHaveScreenshot(`map-${colorScheme}.png`, LOOK);
  });
