// A link that carries the case: text and files, packed and written into the part of the address that never leaves the browser.

import type { Stored } from "../types";

const MARK = "#case=";

async function through(bytes: Uint8Array, by: CompressionStream | DecompressionStream): Promise<Uint8Array> {
  const stream = new Blob([bytes as BlobPart]).stream().pipeThrough(by);
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

/** The fragment for a case. */
export async function toLink(stored: Stored): Promise<string> {
  const packed = await through(new TextEncoder().encode(JSON.stringify(stored)), new CompressionStream("deflate-raw"));
  let words = "";
  for (const b of packed) words += String.fromCharCode(b);
  return MARK + btoa(words).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

/** Unpacked, a link holds at most this many bytes: a case and its tables are far smaller, a trap is not. */
const MOST_BYTES = 8 * 2 ** 20;

/** Whether the fragment is meant to carry a case. */
export const isLink = (fragment: string) => fragment.startsWith(MARK);

/** The case in a fragment; `null` when there is none or it is damaged. */
export async function fromLink(fragment: string): Promise<Stored | null> {
  if (!isLink(fragment)) return null;
  try {
    const words = atob(fragment.slice(MARK.length).replaceAll("-", "+").replaceAll("_", "/"));
    const bytes = await unpacked(Uint8Array.from(words, (c) => c.charCodeAt(0)));
    const found = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(bytes)) as Partial<Stored> | null;
    if (typeof found?.text !== "string") return null;
    const files = Object.entries(found.files ?? {}).filter((f): f is [string, string] => typeof f[1] === "string");
    return { name: typeof found.name === "string" ? found.name : "case.toml", text: found.text, files: Object.fromEntries(files) };
  } catch {
    return null;
  }
}

async function unpacked(bytes: Uint8Array): Promise<Uint8Array> {
  const reader = new Blob([bytes as BlobPart]).stream().pipeThrough(new DecompressionStream("deflate-raw")).getReader();
  const parts: Uint8Array[] = [];
  let size = 0;
  for (;;) {
    const { value, done } = await reader.read();
    if (done) break;
    size += value.length;
    if (size > MOST_BYTES) {
      await reader.cancel();
      throw new Error("too large");
    }
    parts.push(value);
  }
  return new Uint8Array(await new Blob(parts as BlobPart[]).arrayBuffer());
}
