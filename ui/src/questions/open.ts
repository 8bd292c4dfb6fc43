// Which question's tab is open. The tour, links and the picture's marks open tabs through it.

import { signal } from "@preact/signals";
import type { SlotName } from "../state/ask";

export const openQuestion = signal<SlotName>("poke");
