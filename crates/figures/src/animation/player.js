const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
const byId = (id) => document.getElementById(id);
const canvas = byId("film"), play = byId("play"), at = byId("at"), speed = byId("speed");

async function unpack(packed) {
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

// Every picture whole, as indices of colours, so that any of them can be shown at once.
function pictures(pixels, width, height, through) {
  const out = [];
  let read = 0;
  for (const [left, top, wide, tall] of FRAMES) {
    const now = out.length ? out[out.length - 1].slice() : new Uint8Array(width * height);
    for (let y = 0; y < tall; y++) {
      let to = (top + y) * width + left;
      for (let x = 0; x < wide; x++, to++, read++) {
        if (pixels[read] !== through) now[to] = pixels[read];
      }
    }
    out.push(now);
  }
  return out;
}

async function start() {
  const colours = bytes(COLOURS);
  const { width, height } = canvas;
  const all = pictures(await unpack(bytes(PIXELS)), width, height, colours.length / 3 - 1);
  const context = canvas.getContext("2d");
  const image = context.createImageData(width, height);
  image.data.fill(255);
  let shown = -1, playing = false, timer = 0;

  function show(k) {
    shown = (k + all.length) % all.length;
    const from = all[shown], to = image.data;
    for (let i = 0, j = 0; i < from.length; i++, j += 4) {
      const c = 3 * from[i];
      to[j] = colours[c];
      to[j + 1] = colours[c + 1];
      to[j + 2] = colours[c + 2];
    }
    context.putImageData(image, 0, 0);
    at.value = String(shown);
    const [, , , , , words, clock] = FRAMES[shown];
    byId("words").textContent = words;
    byId("clock").textContent = clock;
    at.setAttribute("aria-valuetext", words + ", " + clock);
  }
  function step() {
    show(shown + 1);
    wait();
  }
  function wait() {
    clearTimeout(timer);
    if (playing) timer = setTimeout(step, (10 * FRAMES[shown][4]) / Number(speed.value));
  }
  function set(on) {
    playing = on;
    play.textContent = on ? "Pause" : "Play";
    wait();
  }
  function go(k) {
    set(false);
    show(Math.min(Math.max(k, 0), all.length - 1));
  }
  play.addEventListener("click", () => set(!playing));
  at.addEventListener("input", () => go(Number(at.value)));
  speed.addEventListener("change", wait);
  document.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey || e.target === speed) return;
    const keys = {
      ArrowLeft: () => go(shown - 1),
      ArrowRight: () => go(shown + 1),
      Home: () => go(0),
      End: () => go(all.length - 1),
    };
    if (e.key === " " && e.target !== play) set(!playing);
    else if (keys[e.key]) keys[e.key]();
    else return;
    e.preventDefault();
  });
  show(0);
  canvas.hidden = byId("bar").hidden = false;
  byId("still").hidden = true;
  set(!matchMedia("(prefers-reduced-motion: reduce)").matches);
}

start().catch((e) => {
  byId("keys").textContent = "This browser cannot unpack the film (" + e.message + "); the picture is its first.";
});
