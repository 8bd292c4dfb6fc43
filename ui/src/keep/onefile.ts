// This page with its results as one file that opens from disk, without a server: script, style sheet and icon are written into it,
// case and answers stand beside them as data.

import { about, canAsk, hand, slots } from "../state/answers";
import { ask, type Asked, type SlotName } from "../state/ask";
import { files, name, text } from "../state/case";
import { kept, type Kept } from "./kept";

/** A push by hand that nobody has asked for yet: in a copy the pole must give way without a server. */
let pushed: NonNullable<Kept["answers"]["hand"]> | null = null;

async function push(): Promise<void> {
  if (hand.answer.peek() !== null || !canAsk("poke").ok) return;
  const asked: Asked = { text: text.peek(), files: files.peek(), options: { hand: true, from: "natural" } };
  if (pushed !== null && pushed.asked.text === asked.text && pushed.asked.files === asked.files) return;
  const out = await ask("poke", asked);
  // A part that cannot be pushed is kept without it.
  if (out.answer !== null) pushed = { answer: out.answer, asked };
}

/** Case and answers in hand as a copy carries them. */
export function keptNow(): Kept {
  const has = about.peek();
  if (has === null) throw new Error("The server has not said yet what it is; try again in a moment.");
  const stored = { name: name.peek(), text: text.peek(), files: files.peek() };
  const answers: Kept["answers"] = {};
  for (const [slot, held] of Object.entries(slots)) {
    const answer = held.answer.peek();
    const asked = held.asked.peek();
    // Paper figures are kept by their own buttons: here they would weigh much and show nothing.
    if (answer !== null && asked !== null) answers[slot as SlotName] = { answer: { ...answer, figures: [] }, asked };
  }
  if (answers.hand === undefined && pushed !== null && pushed.asked.text === stored.text && pushed.asked.files === stored.files) answers.hand = pushed;
  return { at: new Date().toISOString(), about: { ...has, folder: null, node_missing: false }, stored, answers };
}

/** Inside a script element `<` could end it: as `\u003c` it is the same JSON. */
export function dataText(data: Kept): string {
  return JSON.stringify(data).replaceAll("<", "\\u003c");
}

let built: Promise<string> | null = null;

/** The page alone, everything that it loads written into it, with a place for the data. */
function page(): Promise<string> {
  built ??= build().catch((e: unknown) => {
    built = null;
    throw e;
  });
  return built;
}

const PLACE = "kept-data-goes-here";

async function build(): Promise<string> {
  const home = new URL("./", location.href);
  home.hash = "";
  const get = async (path: string): Promise<string> => {
    const response = await fetch(new URL(path, home));
    if (!response.ok) throw new Error(`The server does not give ${path} (${response.status}).`);
    return response.text();
  };
  const doc = new DOMParser().parseFromString(await get("./"), "text/html");
  const scripts = [...doc.querySelectorAll<HTMLScriptElement>("script[src]")];
  const script = scripts[0];
  const source = script?.getAttribute("src") ?? "";
  if (scripts.length !== 1 || script === undefined || !source.endsWith(".js")) {
    throw new Error("This page comes in many pieces, as it does while it is being written; a copy can be made of the built page that `calotte serve` gives.");
  }
  const inner = doc.createElement("script");
  inner.type = "module";
  // In a script element these two would be read by the HTML parser; in strings of the program the back-slash changes nothing.
  inner.textContent = (await get(source)).replaceAll(/<\/script/gi, "<\\/script").replaceAll("<!--", "<\\!--");
  script.remove();
  for (const link of [...doc.querySelectorAll<HTMLLinkElement>('link[rel="stylesheet"]')]) {
    const style = doc.createElement("style");
    style.textContent = (await get(link.getAttribute("href") ?? "")).replaceAll(/<\/style/gi, "<\\/style");
    link.replaceWith(style);
  }
  for (const link of [...doc.querySelectorAll<HTMLLinkElement>("link[href]")]) {
    if (link.rel !== "icon") {
      link.remove();
      continue;
    }
    link.href = `data:image/svg+xml,${encodeURIComponent(await get(link.getAttribute("href") ?? ""))}`;
  }
  // The browser itself is told that the copy may ask nobody for anything.
  const rule = doc.createElement("meta");
  rule.httpEquiv = "Content-Security-Policy";
  rule.content = "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:; base-uri 'none'; form-action 'none'";
  const charset = doc.querySelector("meta[charset]");
  if (charset) charset.after(rule);
  else doc.head.prepend(rule);
  const data = doc.createElement("script");
  data.type = "application/json";
  data.id = "kept";
  data.textContent = PLACE;
  doc.body.append(data, inner);
  return `<!doctype html>\n${doc.documentElement.outerHTML}\n`;
}

/** The file's text. */
export async function oneFile(): Promise<string> {
  if (kept !== null) throw new Error("This is such a copy already.");
  const shell = await page();
  await push();
  const data = dataText(keptNow());
  // A function as replacement: `$` in the data stays what it is.
  return shell.replace(PLACE, () => data);
}

/** What it would weigh, bytes. */
export async function oneFileSize(): Promise<number> {
  return new Blob([await oneFile()]).size;
}
