// On a phone: four places of the page, one touch away.

import { Sign } from "../answer/signs";

const PLACES = [
  { id: "see", name: "See", sign: "shape" },
  { id: "answer", name: "Answer", sign: "done" },
  { id: "part", name: "Part", sign: "pen" },
  { id: "questions", name: "Questions", sign: "undecided" },
] as const;

export function JumpBar() {
  return (
    <nav class="jump-bar" aria-label="Parts of the page">
      {PLACES.map((p) => (
        <button
          type="button"
          key={p.id}
          onClick={() => {
            const place = document.getElementById(p.id);
            place?.focus({ preventScroll: true });
            // At once: a page that glides on a phone hides where it goes.
            place?.scrollIntoView({ block: "start", behavior: "instant" });
          }}
        >
          <Sign name={p.sign} />
          {p.name}
        </button>
      ))}
    </nav>
  );
}
