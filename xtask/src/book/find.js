// Finds sections that hold every word typed; on narrow screens the contents are closed at first.
const field = document.getElementById("find");
const found = document.getElementById("found");
if (matchMedia("(max-width: 52rem)").matches) document.querySelector(".contents").open = false;
field.addEventListener("input", () => {
  const words = field.value.toLowerCase().split(/\s+/).filter((w) => w.length > 1);
  found.replaceChildren();
  if (words.length === 0) return;
  const hits = PLACES.map(([link, head, text]) => {
    const lower = text.toLowerCase();
    const title = head.toLowerCase();
    if (!words.every((w) => lower.includes(w) || title.includes(w))) return null;
    const weight = words.filter((w) => title.includes(w)).length;
    const at = Math.max(0, lower.indexOf(words[0]) - 40);
    return { link, head, weight, piece: text.slice(at, at + 140) };
  }).filter((h) => h !== null);
  hits.sort((a, b) => b.weight - a.weight);
  for (const hit of hits.slice(0, 12)) {
    const item = document.createElement("li");
    const link = document.createElement("a");
    link.href = hit.link;
    link.textContent = hit.head;
    const piece = document.createElement("small");
    piece.textContent = hit.piece;
    item.append(link, piece);
    found.append(item);
  }
  if (hits.length === 0) {
    const item = document.createElement("li");
    item.textContent = "No section holds all these words.";
    found.append(item);
  }
});
