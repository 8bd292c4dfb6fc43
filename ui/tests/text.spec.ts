// The text of a case taken apart and put together: without a browser, over every worked case.

import { expect, test } from "@playwright/test";
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { inUnit } from "../src/text/inunit";
import { pieces } from "../src/text/highlight";
import { dropItem, insertItem, isList, items, putItem } from "../src/text/list";
import { asToml, halfWidth, putTogether, takeApart, withHalfWidth, withNumber } from "../src/text/quantity";
import { dropTable, hasTable, indexOfByte, put, quoted, scan, unquoted } from "../src/text/toml";
import { convert, short } from "../src/text/units";

const folder = fileURLToPath(new URL("../../cases/", import.meta.url));
const cases = readdirSync(folder)
  .filter((d) => existsSync(`${folder}${d}/case.toml`))
  .map((d) => ({ name: d, text: readFileSync(`${folder}${d}/case.toml`, "utf8") }));
const written = [...cases, ...cases.map((c) => ({ name: `${c.name}, CRLF`, text: c.text.replaceAll("\n", "\r\n") }))];

test("there are worked cases to try", () => {
  expect(cases.length).toBeGreaterThan(15);
});

for (const { name, text } of written) {
  test(`every value of ${name}`, () => {
    const doc = scan(text);
    expect(doc.entries.length).toBeGreaterThan(5);
    for (const e of doc.entries) {
      expect(text.slice(e.from, e.to)).toBe(e.raw);
      expect(put(text, e.path, e.raw), e.path).toBe(text);
      const other = put(text, e.path, '"another value"');
      expect(other, e.path).toBe(`${text.slice(0, e.from)}"another value"${text.slice(e.to)}`);
      const again = scan(other);
      expect(again.entries.map((x) => x.path)).toEqual(doc.entries.map((x) => x.path));
      for (const x of again.entries) expect(x.raw, x.path).toBe(x.path === e.path ? '"another value"' : doc.entries.find((y) => y.path === x.path)?.raw);
      const less = scan(put(text, e.path, null));
      expect(less.entries.map((x) => x.path)).toEqual(doc.entries.map((x) => x.path).filter((p) => p !== e.path));
    }
    // A new key comes into its table and nothing else moves.
    for (const t of doc.tables) {
      const path = t.name === "" ? "brand_new" : `${t.name}.brand_new`;
      const more = scan(put(text, path, "1"));
      expect(more.entries.filter((x) => x.path !== path).map((x) => [x.path, x.raw])).toEqual(doc.entries.map((x) => [x.path, x.raw]));
      expect(more.entries.find((x) => x.path === path)?.raw).toBe("1");
      if (text.includes("\r\n")) expect(put(text, path, "1").replaceAll("\r\n", "")).not.toContain("\n");
    }
    for (const t of doc.tables.filter((t) => t.name !== "")) {
      const without = dropTable(text, t.name);
      expect(hasTable(scan(without), t.name)).toBe(false);
      expect(scan(without).entries.map((x) => x.path)).toEqual(doc.entries.map((x) => x.path).filter((p) => !p.startsWith(`${t.name}.`)));
    }
    // Coloured lines say the same as the text.
    expect(text.split("\n").map((l) => pieces(l).map((p) => p.text).join("")).join("\n")).toBe(text);
  });

  test(`every number of ${name}`, () => {
    for (const e of scan(text).entries) {
      const raws = isList(e.raw) ? items(e.raw).map((i) => i.raw) : [e.raw];
      for (const raw of raws) {
        const w = takeApart(unquoted(raw));
        if (w === null) continue;
        expect(putTogether(w)).toBe(unquoted(raw));
        expect(asToml(putTogether(w), raw)).toBe(raw);
        const moved = takeApart(withNumber(w, 3.25, 0.01));
        expect(moved).toMatchObject({ number: 3.25, tolerance: w.tolerance, unit: w.unit });
        expect(withHalfWidth(w, halfWidth(w))).toBe(unquoted(raw));
      }
    }
  });

  test(`every list of ${name}`, () => {
    for (const e of scan(text).entries.filter((e) => isList(e.raw))) {
      const all = items(e.raw);
      all.forEach((item, i) => {
        expect(putItem(e.raw, i, item.raw)).toBe(e.raw);
        expect(items(insertItem(e.raw, i + 1, '"new"')).map((x) => x.raw)).toEqual([...all.slice(0, i + 1).map((x) => x.raw), '"new"', ...all.slice(i + 1).map((x) => x.raw)]);
        expect(items(dropItem(e.raw, i)).map((x) => x.raw)).toEqual(all.filter((_, k) => k !== i).map((x) => x.raw));
        expect(dropItem(insertItem(e.raw, i + 1, '"new"'), i + 1)).toBe(e.raw);
      });
    }
  });
}

test("keys with dots stay with dots, since a heading would define the table again", () => {
  const text = 'shape.kind = "cap"\nshape.radius = "25 mm" # measured\n\n[wall]\nthickness = "2 mm"\n';
  expect(scan(text).entries.map((e) => e.path)).toEqual(["shape.kind", "shape.radius", "wall.thickness"]);
  expect(put(text, "shape.radius", '"26 mm"')).toBe(text.replace("25 mm", "26 mm"));
  expect(put(text, "shape.half_angle", '"50 deg"')).toBe(text.replace("# measured\n", '# measured\nshape.half_angle = "50 deg"\n'));
  expect(put(text, "shape.radius", null)).toBe(text.replace('shape.radius = "25 mm" # measured\n', ""));
  expect(dropTable(text, "shape")).toBe('\n[wall]\nthickness = "2 mm"\n');
});

test("inline tables are changed in place", () => {
  const text = 'shape = { kind = "cap", radius = "25 mm" } # all of it\nrim = {}\n';
  expect(scan(text).entries.map((e) => [e.path, e.raw])).toEqual([["shape.kind", '"cap"'], ["shape.radius", '"25 mm"']]);
  expect(put(text, "shape.radius", '"26 mm"')).toBe(text.replace("25", "26"));
  expect(put(text, "shape.rise", '"9 mm"')).toBe(text.replace('"25 mm" }', '"25 mm", rise = "9 mm" }'));
  expect(put(text, "rim.kind", '"free"')).toBe(text.replace("{}", '{ kind = "free" }'));
  expect(scan(put(text, "shape.kind", null)).entries.map((e) => e.path)).toEqual(["shape.radius"]);
  expect(scan(put(text, "shape.radius", null)).entries.map((e) => e.path)).toEqual(["shape.kind"]);
  expect(hasTable(scan(dropTable(text, "shape")), "shape")).toBe(false);
});

test("lists over many lines keep their comments", () => {
  const raw = '[\n  "1 mm", # the rim, thin\n  "2 ± 0.1 mm", # ] and , in a comment\n  "3 mm",\n]';
  const text = `[wall]\nthickness = ${raw}\narc = ["0 mm", "1 mm", "2 mm"]\n`;
  expect(scan(text).entries.map((e) => e.path)).toEqual(["wall.thickness", "wall.arc"]);
  expect(items(raw).map((i) => i.raw)).toEqual(['"1 mm"', '"2 ± 0.1 mm"', '"3 mm"']);
  expect(putItem(raw, 1, '"5 mm"')).toBe(raw.replace("2 ± 0.1 mm", "5 mm"));
  expect(items(insertItem(raw, 3, '"4 mm"')).map((i) => i.raw)).toEqual(['"1 mm"', '"2 ± 0.1 mm"', '"3 mm"', '"4 mm"']);
  expect(items(dropItem(raw, 2)).map((i) => i.raw)).toEqual(['"1 mm"', '"2 ± 0.1 mm"']);
  expect(items(insertItem("[]", 0, "1")).map((i) => i.raw)).toEqual(["1"]);
});

test("comments, hashes in texts, quoted keys and odd lines", () => {
  const text = '# head\ntitle = "no. # 3" # a comment\n"quoted key" = 1\nnonsense here\n[a]\nx = 1\n[[list]]\nx = 2\n[b] # tail\ny = \'single # quoted\'\nlast = 5';
  const doc = scan(text);
  expect(doc.entries.map((e) => [e.path, e.raw])).toEqual([
    ["title", '"no. # 3"'],
    ["quoted key", "1"],
    ["a.x", "1"],
    ["list[].x", "2"],
    ["b.y", "'single # quoted'"],
    ["b.last", "5"],
  ]);
  expect(put(text, "b.more", "6")).toBe(`${text}\nmore = 6\n`);
  expect(put(text, "c.z", "7")).toBe(`${text}\n\n[c]\nz = 7\n`);
  expect(put("", "c.z", "7")).toBe("[c]\nz = 7\n");
  expect(put('# what it is\n[wall]\nthickness = "1 mm"\n', "title", '"T"')).toBe('# what it is\ntitle = "T"\n\n[wall]\nthickness = "1 mm"\n');
});

test("byte offsets with ± and µ come to the right letter", () => {
  const text = 'title = "Käfer µ 😀"\n[wall]\nthickness = "2.10 ± 0.05 µm" # x\n';
  const bytes = new TextEncoder();
  for (let i = 0; i <= text.length; i++) {
    if (i > 0 && /[\uD800-\uDBFF]/.test(text[i - 1] ?? "")) continue;
    expect(indexOfByte(text, bytes.encode(text.slice(0, i)).length)).toBe(i);
  }
});

test("numbers that only the server reads are left whole", () => {
  for (const t of ["3/8 in", "1 3/8 in", "(2.10 ± 0.05) mm", "1,5 mm", "abc", "", "mm", "2.1 ± mm", "± 0.1 mm", "2 ± 1 ± 1 mm"]) expect(takeApart(t), t).toBeNull();
});

test("numbers as people write them", () => {
  expect(takeApart("2.10 ± 0.05 mm")).toMatchObject({ number: 2.1, digits: "2.10", tolerance: "± 0.05", unit: "mm" });
  expect(takeApart("2.10 mm ± 50 um")).toMatchObject({ number: 2.1, tolerance: "± 50 um", unit: "mm", unitFirst: true });
  expect(takeApart("1.2 MPa ± 10 %")).toMatchObject({ number: 1.2, tolerance: "± 10 %", unit: "MPa" });
  expect(takeApart("2.1 +/- 0.1 mm")).toMatchObject({ number: 2.1, tolerance: "+/- 0.1", unit: "mm" });
  expect(takeApart("-7.0 ± 0.1 1/m")).toMatchObject({ number: -7, unit: "1/m" });
  expect(takeApart("1.2e6 Pa")).toMatchObject({ number: 1.2e6, unit: "Pa" });
  expect(takeApart("1.5 %")).toMatchObject({ number: 1.5, unit: "%", tolerance: "" });
  const w = takeApart("2.10 ± 0.05 mm");
  if (w === null) throw new Error("not read");
  expect(withHalfWidth(w, "0.1")).toBe("2.10 ± 0.1 mm");
  expect(withHalfWidth(w, "5 %")).toBe("2.10 mm ± 5 %");
  expect(withHalfWidth(w, "50 um")).toBe("2.10 mm ± 50 um");
  expect(withHalfWidth(w, " ")).toBe("2.10 mm");
  const percent = takeApart("1.2 MPa ± 10 %");
  if (percent === null) throw new Error("not read");
  expect(withHalfWidth(percent, "0.1")).toBe("1.2 ± 0.1 MPa");
});

test("TOML of a number: bare stays bare, only where TOML has it", () => {
  expect(asToml("0.48", "0.49")).toBe("0.48");
  expect(asToml("0.48 ± 0.01", "0.49")).toBe('"0.48 ± 0.01"');
  expect(asToml(".48", "0.49")).toBe('".48"');
  expect(asToml("2 mm", "'1 mm'")).toBe("'2 mm'");
  expect(unquoted(quoted('a "b" \\ c'))).toBe('a "b" \\ c');
});

test("another unit is the same size", () => {
  const said = (text: string, unit: string, dimension: string) => {
    const w = takeApart(text);
    return w === null ? null : putTogether(inUnit(w, unit, dimension));
  };
  expect(said("25.4 ± 0.254 mm", "in", "length")).toBe("1 ± 0.01 in");
  expect(said("2.10 mm ± 50 um", "m", "length")).toBe("0.0021 m ± 50 um");
  expect(said("1.2 MPa ± 10 %", "kPa", "Pressure")).toBe("1200 kPa ± 10 %");
  expect(said("23 ± 2 degC", "K", "temperature")).toBe("296.15 ± 2 K");
  // A half turn is the largest half-angle that the reader takes: it is not rounded beyond itself.
  expect(said("180 deg", "rad", "angle")).toBe("3.141592 rad");
  expect(said("0.2 N/mm/mm", "N/m/m", "rim-stiffness")).toBe("200000 N/m/m");
  // A unit that is no unit is only replaced.
  expect(said("2 furlong", "mm", "length")).toBe("2 mm");
  for (const v of [26, 2.4, 0.35, 1234.5]) {
    const there = convert(v, "mm", "in", "length") ?? 0;
    expect(Number(short(convert(Number(short(there)), "in", "mm", "length") ?? 0))).toBeCloseTo(v, 4);
  }
});
