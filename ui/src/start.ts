// What a fresh page takes in hand: a kept copy, the link's case, what this tab had before a reload, or the first worked case.

import { effect } from "@preact/signals";
import { kept } from "./keep/kept";
import { fromLink, isLink } from "./keep/link";
import { says } from "./parts/openfiles";
import { about, follow, readAbout } from "./state/answers";
import { away } from "./state/ask";
import { begin, begun, files, name, savedText, take, text } from "./state/case";
import type { Stored } from "./types";

const FIRST = "silicone-cap-stays";
const KEY = "calotte.case";

/** What a tab keeps over a reload. */
interface Tab extends Stored {
  saved: string;
}

export async function start(): Promise<void> {
  if (kept !== null) {
    begin(kept.stored);
    return;
  }
  const tab = fromTab();
  if (tab !== null) begin(tab, tab.saved);
  const linked = await takeLink(tab === null);
  const first = tab !== null || linked;
  addEventListener("hashchange", () => void takeLink(false));
  follow();
  effect(() => {
    const tab: Tab = { name: name.value, text: text.value, files: files.value, saved: savedText.value };
    try {
      if (begun.value) sessionStorage.setItem(KEY, JSON.stringify(tab));
    } catch {
      // A browser that keeps nothing: a reload begins anew.
    }
  });
  const read = async <T>(path: string) => (await (await fetch(path)).json()) as T;
  try {
    await Promise.all([
      readAbout().then((found) => (about.value = found)),
      first ? null : read<Stored>(`./api/cases/${FIRST}`).then((found) => begin(found)),
    ]);
  } catch {
    away.value = true;
  }
}

/** The case of the address, if it has one; the address is cleared, so that a reload keeps what was changed since. */
async function takeLink(fresh: boolean): Promise<boolean> {
  const fragment = location.hash;
  if (!isLink(fragment)) return false;
  const found = await fromLink(fragment);
  history.replaceState(null, "", location.pathname + location.search);
  if (found === null) {
    says.value = "The case in the link cannot be read: the link is damaged or was cut short. Ask for it again, or for the case as a file.";
    return false;
  }
  if (fresh) begin(found);
  else take(found, "opening of the link");
  says.value = "This is the case that the link carries.";
  return true;
}

function fromTab(): Tab | null {
  try {
    const found = JSON.parse(sessionStorage.getItem(KEY) ?? "null") as Partial<Tab> | null;
    if (typeof found?.text !== "string") return null;
    return { name: found.name ?? "case.toml", text: found.text, files: found.files ?? {}, saved: found.saved ?? found.text };
  } catch {
    return null;
  }
}
