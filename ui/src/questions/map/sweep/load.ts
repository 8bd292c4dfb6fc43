// A sweep from the disk: which files are its chunks, what is wrong with the others, and the sweep in hand.

import { signal } from "@preact/signals";
import { pointsOf, type Points, type Sweep } from "./points";
import type { Head } from "./read";

/** The sweep that lies over the map. */
export const sweep = signal<Sweep | null>(null);
/** What was wrong with the files picked last, a sentence each. */
export const troubles = signal<string[]>([]);
/** How far the reading is; none under way: `null`. */
export const reading = signal<{ done: number; of: number } | null>(null);

/** More points would neither fit beside the page nor be told apart on a map. */
export const MOST_POINTS = 2_000_000;

/** Readings so far: one that was stopped, or that another was begun after, says nothing more. */
let readings = 0;

export function stopReading(): void {
  readings++;
  reading.value = null;
}

export function takeAway(): void {
  stopReading();
  sweep.value = null;
  troubles.value = [];
}

const PICK = "Pick the folder that was given to calotte sweep with --out, or chunk-….parquet files in it.";
const number = (n: number) => n.toLocaleString("en").replaceAll(",", " ");
const why = (e: unknown) => (e instanceof Error ? e.message : String(e));

/** Files of the sweep's own below `_sweep/` are no chunks. */
const within = (f: File) => /(^|\/)_sweep\//.test(f.webkitRelativePath);

/** Reads what a person picked: a folder, or files. What was laid over the map stays there unless the new files can take its place. */
export async function layOver(picked: readonly File[]): Promise<void> {
  const mine = ++readings;
  const said: string[] = [];
  const files = picked.filter((f) => !within(f) && f.name.toLowerCase().endsWith(".parquet")).sort((a, b) => (a.name < b.name ? -1 : 1));
  const others = picked.filter((f) => !within(f) && !files.includes(f));
  if (picked.length === 0) return;
  reading.value = { done: 0, of: files.length };
  const end = (found: Sweep | null, words: string[] = []) => {
    if (mine !== readings) return;
    reading.value = null;
    if (found !== null) sweep.value = found;
    troubles.value = [...said, ...words];
  };
  if (files.length === 0) return end(null, [`There is no .parquet file among what was picked. ${PICK}`]);
  if (others.length > 0) said.push(`Left out: ${others.length === 1 ? others[0]?.name : `${others.length} files`}, no .parquet.`);
  try {
    const { chunkOf, headOf } = await import("./read");
    const heads: Head[] = [];
    const held = new Map<string, string>();
    for (const file of files) {
      try {
        const head = await headOf(file);
        const chunk = `${head.said.get("provenance.chunk")} of ${planOf(head.said)}`;
        const same = held.get(chunk);
        if (same !== undefined) said.push(`${file.name} is left out: it holds the same points as ${same}.`);
        else {
          held.set(chunk, file.name);
          heads.push(head);
        }
      } catch (e) {
        said.push(`${file.name} is left out: ${why(e)}.`);
      }
      if (mine !== readings) return;
    }
    if (heads.length === 0) return end(null, [`None of these files can be read. ${PICK}`]);
    const plans = new Map<string, string[]>();
    for (const h of heads) plans.set(planOf(h.said), [...(plans.get(planOf(h.said)) ?? []), h.file.name]);
    if (plans.size > 1) {
      const list = [...plans].map(([plan, names]) => `${names.length} of ${plan} (${names.slice(0, 2).join(", ")}${names.length > 2 ? ", …" : ""})`);
      return end(null, [`These chunks are not of one sweep: ${list.join("; ")}. Pick the chunks of one plan, made by one version of the program.`]);
    }
    const all = heads.reduce((n, h) => n + h.rows, 0);
    if (all > MOST_POINTS) return end(null, [`These files hold ${number(all)} points, and the page lays at most ${number(MOST_POINTS)} over a map. Pick some of the chunk files instead of the folder.`]);
    const chunks: Points[] = [];
    for (const [i, head] of heads.entries()) {
      try {
        chunks.push(pointsOf(await chunkOf(head)));
      } catch (e) {
        said.push(`${head.file.name} is left out: ${why(e)}.`);
      }
      if (mine !== readings) return;
      reading.value = { done: i + 1, of: heads.length };
    }
    const first = heads[0]?.said;
    const points = chunks[0];
    if (first === undefined || points === undefined) return end(null, [`None of these files can be laid over a map. ${PICK}`]);
    end({
      plan: first.get("provenance.plan_digest") ?? "",
      caseDigest: first.get("provenance.case_digest") ?? null,
      planned: Number(first.get("provenance.points")),
      varied: points.varied,
      chunks,
    });
  } catch (e) {
    // The reader itself is a file of the server's, which may be away.
    end(null, [`The files could not be read: ${why(e)}. Is the server still there? Then try again.`]);
  }
}

/** A plan and the program that computed it: chunks that differ in either are not of one sweep. */
const planOf = (said: ReadonlyMap<string, string>) => `plan ${said.get("provenance.plan_digest")}${said.has("provenance.program") ? ` by ${said.get("provenance.program")}` : ""}`;
