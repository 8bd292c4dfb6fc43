// Whether the guided tour is on. The tour itself begins where this signal turns true: other parts need nothing more of it.

import { signal } from "@preact/signals";

export const touring = signal(false);

export function startTour(): void {
  touring.value = true;
}

export function stopTour(): void {
  touring.value = false;
}
