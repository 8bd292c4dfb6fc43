// Walking on invented paths: up, a jump at a turning point, back over the other branch, letting go.

import { expect, test } from "@playwright/test";
import { letGo, pathOf, read, rests, walk } from "../src/see/hand";

type Report = Parameters<typeof pathOf>[0];
type Row = [d: number, load: number, held?: number, waves?: number[]];

function report(rows: Row[], turns: [after: number, d: number, load: number, kind: "displacement-limit" | "displacement-return"][] = []): Report {
  return {
    path: rows.map(([d, load, held = 0, waves = []]) => ({
      load_SI: load,
      displacement_SI: d,
      travel_m: d,
      energy_J: 0,
      work_J: 0,
      unstable_load: 0,
      unstable_displacement: held,
      unstable_n: waves,
      contact_m: null,
      rim_reaction_N: null,
    })),
    events: turns.map(([after_row, d, load, kind]) => ({ kind, n: null, after_row, load_SI: load, displacement_SI: d, travel_m: d, mode: null })),
  } as unknown as Report;
}

// Up to d = 4, back to d = 2, on to d = 6: load 4 before the jump, -1 behind it; rests at d = 0 and d = 5.
const folded = pathOf(
  report(
    [[0, 0], [2, 3], [3.9, 4], [3, 2, 1], [2.1, -3, 1], [3, -2], [4, -1], [6, 1]],
    [[2, 4, 3.8, "displacement-limit"], [4, 2, -3.2, "displacement-return"]],
  ),
);
// No turning back: load up, down through zero, up through zero at d = 5.
const smooth = pathOf(report([[0, 0], [1, 2], [2, 1], [3, -1], [4, -1], [6, 1]]));

test("follows the path and reads between its rows", () => {
  const w = walk(folded, 0, 1);
  expect(w).toMatchObject({ at: 0.5, jumps: [], ended: false });
  expect(read(folded, w.at)).toMatchObject({ d: 1, load: 1.5, travel: 1 });
});

test("jumps at the limit to the next stretch at the same displacement", () => {
  const w = walk(folded, 0, 4.5);
  expect(w.jumps).toHaveLength(1);
  expect(w.jumps[0]?.why).toBe("limit");
  expect(read(folded, w.jumps[0]?.from ?? -1).d).toBeCloseTo(4, 9);
  expect(read(folded, w.jumps[0]?.to ?? -1).d).toBeCloseTo(4, 9);
  expect(read(folded, w.at)).toMatchObject({ d: 4.5 });
  expect(read(folded, w.at).load).toBeCloseTo(-0.5, 9);
});

test("takes the other branch on the way back, down to its own end", () => {
  const there = walk(folded, 0, 5).at;
  const back = walk(folded, there, 3);
  expect(back.jumps).toEqual([]);
  expect(read(folded, back.at).load).toBeCloseTo(-2, 9);
  const home = walk(folded, back.at, 1);
  expect(home.jumps).toHaveLength(1);
  expect(read(folded, home.jumps[0]?.from ?? -1).d).toBeCloseTo(2, 9);
  expect(read(folded, home.at).load).toBeCloseTo(1.5, 9);
});

test("in small steps and in one it ends at the same place", () => {
  let at = 0;
  for (let d = 0; d <= 5.0001; d += 0.01) at = walk(folded, at, d).at;
  expect(at).toBeCloseTo(walk(folded, 0, 5).at, 2);
});

test("says where the path ends", () => {
  const w = walk(folded, 0, 9);
  expect(w.ended).toBe(true);
  expect(read(folded, w.at).d).toBe(6);
});

test("a limit that leads nowhere stops the hand", () => {
  const dead = pathOf(report([[0, 0], [2, 2], [1, 1, 1], [0.5, 0.5, 1]]));
  const w = walk(dead, 0, 3);
  expect(w).toMatchObject({ at: 1, ended: true, jumps: [] });
});

test("rests: the start and where the load rises through zero", () => {
  expect(rests(folded).map((k) => k.d)).toEqual([0, 5]);
  expect(rests(smooth).map((k) => k.d)).toEqual([0, 5]);
});

test("letting go: home before the load changes sign, inside out behind it", () => {
  expect(letGo(smooth, walk(smooth, 0, 1.5).at)).toMatchObject({ to: "natural", jumps: [] });
  const over = letGo(smooth, walk(smooth, 0, 3).at);
  expect(over.to).toBe("turned");
  expect(read(smooth, over.way[over.way.length - 1] ?? 0).d).toBeCloseTo(5, 9);
  const pressed = letGo(smooth, walk(smooth, 0, 6).at);
  expect(pressed.to).toBe("turned");
});

test("letting go before the jump goes home, behind it stays", () => {
  expect(letGo(folded, walk(folded, 0, 3.5).at).to).toBe("natural");
  expect(letGo(folded, walk(folded, 0, 4.2).at).to).toBe("turned");
});

test("a part whose path never falls to zero comes home from anywhere", () => {
  const back = pathOf(report([[0, 0], [1, 2], [2, 0.5], [3, 3]]));
  expect(letGo(back, 3)).toMatchObject({ to: "natural" });
});

test("a path that ends while it is still pulled ends beyond", () => {
  const open = pathOf(report([[0, 0], [1, 2], [2, -1], [3, -0.5]]));
  expect(letGo(open, 2.5).to).toBe("beyond");
});

test("a rest that waves have lost is left for the natural shape", () => {
  const lost = pathOf(report([[0, 0], [1, 2], [2, -1], [3, -0.5, 0, [2]], [4, 1, 0, [2]]]));
  const l = letGo(lost, walk(lost, 0, 2.2).at);
  expect(l).toMatchObject({ to: "natural", waves: [2] });
  expect(l.jumps[l.jumps.length - 1]).toMatchObject({ why: "sideways", n: 2, to: 0 });
});

test("waves: jumps when a stretch free of them lies at the same displacement, else goes on and says so", () => {
  const on = pathOf(report([[0, 0], [1, 2], [2, 1, 0, [3]], [3, 1, 0, [3]], [4, 2]]));
  const w = walk(on, 0, 2.5);
  expect(w.jumps).toEqual([]);
  expect(read(on, w.at).waves).toEqual([3]);
  const off = pathOf(
    report([[0, 0], [1, 2], [3, 3, 0, [2]], [4, 4, 0, [2]], [2, 1, 1], [1, -1, 1], [3, 0.5], [6, 3]]),
  );
  const j = walk(off, 0, 3.5);
  expect(j.jumps[0]).toMatchObject({ why: "sideways", n: 2 });
  expect(read(off, j.at).waves).toEqual([]);
});
