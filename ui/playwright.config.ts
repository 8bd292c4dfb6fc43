import { defineConfig } from "@playwright/test";

declare const process: { env: Record<string, string | undefined> };

// CALOTTE_URL: a server that runs already. Otherwise the program of CALOTTE_PROGRAM is started.
const running = process.env.CALOTTE_URL;
const port = process.env.CALOTTE_PORT ?? "8733";
const url = running ?? `http://127.0.0.1:${port}/`;

export default defineConfig({
  testDir: "tests",
  // One picture for every machine: tests/pictures.spec.ts says how to renew them.
  snapshotPathTemplate: "{testDir}/goldens/{arg}{ext}",
  timeout: 60_000,
  workers: 1,
  // Once more where the machine is shared with other work: what passes only then is listed as flaky, what fails twice has failed.
  retries: process.env.CI === undefined ? 0 : 1,
  reporter: [["list"]],
  use: {
    baseURL: url,
    viewport: { width: 1440, height: 900 },
    launchOptions: {
      executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
      args: ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
    },
  },
  ...(running === undefined
    ? { webServer: { command: `${process.env.CALOTTE_PROGRAM ?? "../target/release/calotte"} serve --port ${port}`, url, reuseExistingServer: false, timeout: 30_000 } }
    : {}),
});
