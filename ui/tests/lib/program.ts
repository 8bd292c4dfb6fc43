// The program as a test runs it: its server on a port of its own, and its words in the terminal.

import { execFile, spawn, type ChildProcess } from "node:child_process";
import { createServer } from "node:net";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { test } from "@playwright/test";

declare const process: { env: Record<string, string | undefined> };

export const program = process.env.CALOTTE_PROGRAM ?? fileURLToPath(new URL("../../../target/release/calotte", import.meta.url));
export const casesFolder = fileURLToPath(new URL("../../../cases/", import.meta.url));

/** A port that nobody listens at. */
export async function freePort(): Promise<number> {
  return new Promise((done, wrong) => {
    const s = createServer();
    s.on("error", wrong);
    s.listen(0, "127.0.0.1", () => {
      const at = s.address();
      s.close(() => (at !== null && typeof at === "object" ? done(at.port) : wrong(new Error("no port"))));
    });
  });
}

const running = new Set<ChildProcess>();

/** Ends what the tests of a file have started; call once at the top of the file. */
export function endAfterwards(): void {
  test.afterEach(async () => {
    await Promise.all([...running].map(kill));
  });
}

async function kill(child: ChildProcess): Promise<void> {
  running.delete(child);
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = new Promise((done) => child.once("exit", done));
  child.kill("SIGKILL");
  await gone;
}

export interface Server {
  /** The address that it printed. */
  url: string;
  port: number;
  /** SIGKILL, and waits until it is gone. */
  kill: () => Promise<void>;
}

/** `calotte serve` with these options, once it answers. */
export async function serve(options: string[] = [], port?: number): Promise<Server> {
  const at = port ?? (await freePort());
  const child = spawn(program, ["serve", "--port", String(at), ...options], { stdio: ["ignore", "pipe", "pipe"] });
  running.add(child);
  let said = "";
  const url = await new Promise<string>((done, wrong) => {
    const hear = (bytes: Buffer) => {
      said += bytes.toString();
      const found = /http:\/\/\S+/.exec(said)?.[0];
      if (found !== undefined) done(found);
    };
    child.stdout.on("data", hear);
    child.stderr.on("data", hear);
    child.once("exit", (code) => wrong(new Error(`the server ended with ${code}: ${said}`)));
    child.once("error", wrong);
  });
  return { url, port: at, kill: () => kill(child) };
}

const run = promisify(execFile);

/** What the program prints, its exit code aside: an undecided part ends with 1 and still has its sheet. */
export async function printed(args: string[]): Promise<string> {
  try {
    return (await run(program, args, { maxBuffer: 1 << 24 })).stdout;
  } catch (e) {
    const { stdout, stderr } = e as { stdout?: string; stderr?: string };
    if (stdout !== undefined && stdout !== "") return stdout;
    throw new Error(`${args.join(" ")}: ${stderr ?? String(e)}`);
  }
}
