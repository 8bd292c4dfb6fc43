// A sheet as text in the page is what the terminal prints, line by line: every worked case and every question with an answer kept beside it.

import { expect, test } from "@playwright/test";
import { execFile, spawn, type ChildProcess } from "node:child_process";
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { promisify } from "node:util";
import { sheetText } from "../src/keep/words";
import type { Question, Sheet } from "../src/types";
import { casesFolder, program } from "./lib/program";

/** What the terminal printed, kept beside the cases, and what was asked then. */
const KEPT: [file: string, question: (text: string) => Question, options: Record<string, unknown>][] = [
  ["answer.txt", (text) => (/^\d+ STABLE STATES?:/.test(text) ? "states" : "verdict"), {}],
  ["poke.txt", () => "poke", {}],
  ["heat.txt", () => "heat", {}],
  ["release.txt", () => "release", {}],
];

/** One of the server's workers, asked without the server. */
class Worker {
  private readonly child: ChildProcess = spawn(program, ["worker"], { stdio: ["pipe", "pipe", "inherit"] });
  private readonly lines = createInterface({ input: this.child.stdout ?? fail("no pipe") })[Symbol.asyncIterator]();

  async sheet(name: string, question: Question, options: Record<string, unknown>): Promise<Sheet> {
    const folder = join(casesFolder, name);
    const read = (file: string) => readFileSync(join(folder, file), "utf8");
    const files = Object.fromEntries(readdirSync(folder).filter((f) => f.endsWith(".csv")).map((f) => [f, read(f)]));
    const want = { film: false, figures: false, tables: false };
    this.child.stdin?.write(`${JSON.stringify({ question, text: read("case.toml"), files, options, want })}\n`);
    for (;;) {
      const { value, done } = await this.lines.next();
      if (done) throw new Error(`the worker ended at ${name}, ${question}`);
      const line = JSON.parse(value) as { answer?: { sheet: Sheet }; refused?: unknown };
      if (line.refused !== undefined) throw new Error(`${name}, ${question}: ${value}`);
      if (line.answer !== undefined) return line.answer.sheet;
    }
  }

  end(): void {
    this.child.kill();
  }
}

function fail(why: string): never {
  throw new Error(why);
}

test("every worked case and question: the page's text is the terminal's", async () => {
  test.setTimeout(600_000);
  const worker = new Worker();
  let compared = 0;
  let right = 0;
  try {
    for (const name of readdirSync(casesFolder).sort()) {
      if (!existsSync(join(casesFolder, name, "case.toml"))) continue;
      expect(existsSync(join(casesFolder, name, "answer.txt")), name).toBe(true);
      for (const [file, question, options] of KEPT) {
        const path = join(casesFolder, name, file);
        if (!existsSync(path)) continue;
        const text = readFileSync(path, "utf8");
        const sheet = await worker.sheet(name, question(text), options);
        expect(sheetText(sheet).split("\n"), `${name}, ${file}`).toEqual(text.split("\n"));
        compared += 1;
        right += sheet.blocks.filter((b) => b.kind === "table" && b.right.length > 0).length;
      }
    }
  } finally {
    worker.end();
  }
  expect(compared).toBeGreaterThan(30);
  // Tables whose columns stand flush right were among them.
  expect(right).toBeGreaterThan(0);
});

test("maps, modes and batches: the page's text is the terminal's", async () => {
  test.setTimeout(600_000);
  const worker = new Worker();
  const run = promisify(execFile);
  const asked: [name: string, question: Question, options: Record<string, unknown>, words: string[]][] = [
    ["silicone-cap-stays", "map", { x: "depth=45deg..60deg", y: "wall.thickness=1.5mm..3mm" }, ["--x", "depth=45deg..60deg", "--y", "wall.thickness=1.5mm..3mm"]],
    ["silicone-cap-stays", "modes", { inverted: true }, ["--inverted"]],
    ["steel-cap-on-ring", "modes", {}, []],
    ["silicone-cap-stays", "spread", { count: 2000, window: ["margin=0.03.."] }, ["--count", "2000", "--window", "margin=0.03.."]],
  ];
  try {
    for (const [name, question, options, words] of asked) {
      const sheet = await worker.sheet(name, question, options);
      const { stdout } = await run(program, [question, join(casesFolder, name, "case.toml"), ...words], { maxBuffer: 1 << 24 });
      expect(sheetText(sheet).split("\n"), `${name}, ${question}`).toEqual(stdout.split("\n"));
    }
  } finally {
    worker.end();
  }
});
