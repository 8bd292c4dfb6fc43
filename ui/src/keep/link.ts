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

/** The case in a fragment; `null` when there is none or it is damaged. */
export async function fromLink(fragment: string): Promise<Stored | null> {
  if (!fragment.startsWith(MARK)) return null;
  try {
    const words = atob(fragment.slice(MARK.length).replaceAll("-", "+").replaceAll("_", "/"));
    const bytes = await through(Uint8Array.from(words, (c) => c.charCodeAt(0)), new DecompressionStream("deflate-raw"));
    const found = JSON.parse(new TextDecoder().decode(bytes)) as Partial<Stored>;
    if (typeof found.text !== "string") return null;
    return { name: typeof found.name === "string" ? found.name : "case.toml", text: found.text, files: found.files ?? {} };
  } catch {
    return null;
  }
}
