// What a person chose about the page itself; kept in the browser.

import { effect, signal, type Signal } from "@preact/signals";

function stored<T extends string | boolean | number>(key: string, first: T): Signal<T> {
  let start = first;
  try {
    const found = localStorage.getItem(`calotte.${key}`);
    if (found !== null) start = JSON.parse(found) as T;
  } catch {
    // A browser that keeps nothing, or something else under the name: the first value stands.
  }
  const value = signal<T>(start);
  effect(() => {
    try {
      localStorage.setItem(`calotte.${key}`, JSON.stringify(value.value));
    } catch {
      // Nothing is kept; the page works all the same.
    }
  });
  return value;
}

/** Colours: those of the system, light or dark. */
export const theme = stored<"system" | "light" | "dark">("theme", "system");
/** Large type and few words, for a wall screen. */
export const presenter = stored<boolean>("presenter", false);
/** Less movement; the system's wish is honoured too. */
export const still = stored<boolean>("still", false);

export const systemStill = signal(matchMedia("(prefers-reduced-motion: reduce)").matches);
matchMedia("(prefers-reduced-motion: reduce)").addEventListener("change", (e) => (systemStill.value = e.matches));
export const systemDark = signal(matchMedia("(prefers-color-scheme: dark)").matches);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", (e) => (systemDark.value = e.matches));

/** How much larger drawings are made for a wall; the root's font size in styles/tokens.css grows by the same. */
export const magnified = () => (presenter.value ? 21 / 16 : 1);

export const isStill = () => still.value || systemStill.value;
export const isDark = () => theme.value === "dark" || (theme.value === "system" && systemDark.value);

effect(() => {
  document.documentElement.dataset.theme = isDark() ? "dark" : "light";
  document.documentElement.dataset.presenter = presenter.value ? "yes" : "no";
});
