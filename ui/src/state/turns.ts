// Long questions of this page take turns: a browser opens six connections to one server, and two must be free for looks and verdicts.

/** Long questions under way at once. */
const MOST = 4;

let under = 0;
const waiting: (() => void)[] = [];

/**
 * A turn for long work; `held` is called when it must wait for one. Resolves to what gives the turn back, or to null when `signal`
 * came first.
 */
export async function turn(signal: AbortSignal | undefined, held: () => void): Promise<(() => void) | null> {
  if (signal?.aborted) return null;
  if (under < MOST) {
    under += 1;
    return once(done);
  }
  held();
  return await new Promise((resolve) => {
    const left = () => {
      waiting.splice(waiting.indexOf(go), 1);
      resolve(null);
    };
    const go = () => {
      signal?.removeEventListener("abort", left);
      resolve(once(done));
    };
    waiting.push(go);
    signal?.addEventListener("abort", left, { once: true });
  });
}

/** Hands the turn to who waits longest. */
function done(): void {
  const next = waiting.shift();
  if (next === undefined) under -= 1;
  else next();
}

function once(f: () => void): () => void {
  let called = false;
  return () => {
    if (called) return;
    called = true;
    f();
  };
}
