// Long questions of one page take turns: four at once, the others in their order, and who gives up waiting holds nobody up.

import { expect, test } from "@playwright/test";
import { turn } from "../src/state/turns";

test("four have a turn at once, the next waits and is told so", async () => {
  const order: string[] = [];
  const held = (name: string) => () => void order.push(`${name} waits`);
  const first = await Promise.all([1, 2, 3, 4].map((i) => turn(undefined, held(String(i)))));
  expect(order).toEqual([]);
  const stop = new AbortController();
  const named = async (name: string, signal?: AbortSignal) => {
    const over = await turn(signal, held(name));
    order.push(over === null ? `${name} left` : name);
    return over;
  };
  const a = named("a");
  const b = named("b", stop.signal);
  const c = named("c");
  await Promise.resolve();
  expect(order).toEqual(["a waits", "b waits", "c waits"]);
  stop.abort();
  expect(await b).toBeNull();
  first[0]?.();
  // Given back twice, it counts once.
  first[0]?.();
  const overA = await a;
  expect(order).toEqual(["a waits", "b waits", "c waits", "b left", "a"]);
  first[1]?.();
  const overC = await c;
  // An abort after the turn has come changes nothing here: the question itself hears it.
  for (const over of [overA, overC, first[2], first[3]]) over?.();
  const again = await Promise.all([1, 2, 3, 4].map((i) => turn(undefined, held(`again ${i}`))));
  expect(order.filter((o) => o.startsWith("again"))).toEqual([]);
  for (const over of again) over?.();
  expect(await turn(AbortSignal.abort(), held("gone"))).toBeNull();
});
