// Cases from disk, from the server's folder and from the program's own stock.

import { effect, signal } from "@preact/signals";
import { download } from "../keep/download";
import { editFiles, files, name, savedText, take, text } from "../state/case";
import type { Stored } from "../types";

/** What the last opening, saving or copying came to, for everyone to hear. */
export const says = signal("");
let wipe: ReturnType<typeof setTimeout> | undefined;
// Said once; later it would only be in the way.
effect(() => {
  clearTimeout(wipe);
  if (says.value !== "") wipe = setTimeout(() => (says.value = ""), 8_000);
});

/** Openings so far: one that comes late, when another was begun after it, is left out. */
let openings = 0;

/** A `.toml` with the `.csv` files that were picked with it; CSV alone goes to the case in hand. */
export async function openFiles(list: Iterable<File>): Promise<void> {
  const mine = ++openings;
  const picked = [...list];
  const cases = picked.filter((f) => f.name.toLowerCase().endsWith(".toml"));
  const tables = picked.filter((f) => f.name.toLowerCase().endsWith(".csv"));
  const odd = picked.filter((f) => !cases.includes(f) && !tables.includes(f));
  if (picked.some((f) => f.size > 16 * 2 ** 20)) {
    says.value = "A file of more than 16 MiB is no case and no table of one.";
    return;
  }
  const read: Record<string, string> = {};
  for (const f of tables) read[f.name] = await f.text();
  const first = cases[0];
  if (first !== undefined) {
    const content = await first.text();
    if (mine !== openings) return;
    take({ name: first.name, text: content, files: read });
    says.value = [`Opened ${first.name}${tables.length > 0 ? ` with ${tables.map((f) => f.name).join(", ")}` : ""}.`, cases.length > 1 ? `One case at a time: ${cases.length - 1} more left out.` : "", odd.length > 0 ? `Left out: ${odd.map((f) => f.name).join(", ")}.` : ""].join(" ").trim();
    return;
  }
  if (tables.length > 0) {
    editFiles({ ...files.peek(), ...read }, `bringing of ${tables.map((f) => f.name).join(", ")}`);
    says.value = `Brought ${tables.map((f) => f.name).join(", ")} to the case.`;
    return;
  }
  says.value = picked.length === 0 ? "" : "A case is a .toml file, with the .csv files that it names. Open them together.";
}

async function stored(path: string): Promise<Stored> {
  const response = await fetch(path);
  const body = (await response.json()) as Stored & { refused?: { says: string } };
  if (!response.ok || typeof body.text !== "string") throw new Error(body.refused?.says ?? `The server says ${response.status}.`);
  return body;
}

/** A worked case or a template of the program. */
export async function openStock(which: string, title: string): Promise<void> {
  const mine = ++openings;
  try {
    const found = await stored(`./api/cases/${encodeURIComponent(which)}`);
    if (mine !== openings) return;
    take(found, `opening of ${title}`);
    says.value = `Opened ${title}.`;
  } catch (e) {
    says.value = `${title} could not be opened: ${e instanceof Error ? e.message : String(e)}`;
  }
}

export async function folderFiles(): Promise<string[]> {
  const response = await fetch("./api/folder");
  if (!response.ok) throw new Error(`The server says ${response.status}.`);
  return ((await response.json()) as { files: string[] }).files;
}

export async function openFromFolder(file: string): Promise<void> {
  const mine = ++openings;
  try {
    const found = await stored(`./api/folder/${encodeURIComponent(file)}`);
    if (mine !== openings) return;
    take(found);
    says.value = `Opened ${file} from the folder.`;
  } catch (e) {
    says.value = `${file} could not be opened: ${e instanceof Error ? e.message : String(e)}`;
  }
}

export async function saveToFolder(file: string): Promise<void> {
  const full = file.endsWith(".toml") ? file : `${file}.toml`;
  const kept = text.peek();
  try {
    const response = await fetch(`./api/folder/${encodeURIComponent(full)}`, {
      method: "PUT",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ text: kept, files: files.peek() }),
    });
    if (!response.ok) {
      const body = (await response.json().catch(() => null)) as { refused?: { says: string } } | null;
      throw new Error(body?.refused?.says ?? `The server says ${response.status}.`);
    }
    savedText.value = kept;
    name.value = full;
    says.value = `Saved ${full} in the folder.`;
  } catch (e) {
    says.value = `${full} could not be saved: ${e instanceof Error ? e.message : String(e)}`;
  }
}

/** The case as a download, its tables beside it. */
export function saveToDisk(): void {
  const all = Object.entries(files.peek());
  download(name.peek(), text.peek(), "application/toml");
  for (const [file, content] of all) download(file, content, "text/csv");
  savedText.value = text.peek();
  says.value = `Saved ${[name.peek(), ...all.map(([f]) => f)].join(", ")}.`;
}
