// What a fresh page takes in hand: a kept copy, the link's case, what this tab had before a reload, or the first worked case.

import { effect } from "@preact/signals";
import { kept } from "./keep/kept";
import { fromLink } from "./keep/link";
import { about, follow } from "./state/answers";
import { away } from "./state/ask";
import { begin, files, name, text } from "./state/case";
import type { About, Stored } from "./types";

const FIRST = "silicone-cap-stays";

export async function start(): Promise<void> {
  if (kept !== null) {
    begin(kept.stored);
    return;
  }
  const first = (await fromLink(location.hash)) ?? fromTab();
  if (first !== null) begin(first);
  follow();
  effect(() => {
    try {
      const stored: Stored = { name: name.value, text: text.value, files: files.value };
      if (stored.text !== "") sessionStorage.setItem("calotte.case", JSON.stringify(stored));
    } catch {
      // A browser that keeps nothing: a reload begins anew.
    }
  });
  try {
    about.value = (await (await fetch("./api/about")).json()) as About;
    if (first === null) begin((await (await fetch(`./api/cases/${FIRST}`)).json()) as Stored);
  } catch {
    away.value = true;
  }
}

function fromTab(): Stored | null {
  try {
    const found = sessionStorage.getItem("calotte.case");
    return found === null ? null : (JSON.parse(found) as Stored);
  } catch {
    return null;
  }
}
