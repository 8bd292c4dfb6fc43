// On a phone: four places of the page, one touch away.

const PLACES = [
  { id: "see", name: "See", sign: "◠" },
  { id: "answer", name: "Answer", sign: "✓" },
  { id: "part", name: "Part", sign: "✎" },
  { id: "questions", name: "Questions", sign: "?" },
];

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
          <span aria-hidden="true">{p.sign}</span>
          {p.name}
        </button>
      ))}
    </nav>
  );
}
