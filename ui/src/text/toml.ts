// Where every key of a case lies in its text, so that a form can change one value and leave the rest (comments, order,
// spacing) as the person wrote it. This is no judge of the text: the server reads the case and says what is wrong.

/** One `key = value` of the text; positions are string indices. */
export interface Entry {
  /** `table.name`; `name` alone at the top. */
  path: string;
  /** The value as written. */
  raw: string;
  from: number;
  to: number;
  /** The whole line or lines of the entry, with the line end. */
  lineFrom: number;
  lineTo: number;
  /** Inside an inline table `{ … }`, where lines cannot be taken out. */
  inline: boolean;
  /** The `[table]` it stands under, which is less than its path for dotted keys and inline tables. */
  under: string;
}

/** One `[table]`. */
export interface Heading {
  name: string;
  from: number;
  /** Behind the last entry of the table: where a new key goes. */
  end: number;
  /** Behind the heading's line. */
  bodyFrom: number;
}

/** One `name = { … }`. */
export interface Inline {
  path: string;
  from: number;
  to: number;
  lineFrom: number;
  lineTo: number;
}

export interface Doc {
  entries: Entry[];
  tables: Heading[];
  inlines: Inline[];
}

const BARE = /[A-Za-z0-9_-]/;

/** Reads as much as it can; what it cannot read it passes over to the next line. */
export function scan(text: string): Doc {
  const entries: Entry[] = [];
  const tables: Heading[] = [{ name: "", from: 0, end: 0, bodyFrom: 0 }];
  const inlines: Inline[] = [];
  let at = 0;
  let table = "";
  const lineEnd = (i: number) => {
    const n = text.indexOf("\n", i);
    return n < 0 ? text.length : n + 1;
  };
  const blank = (i: number) => {
    while (i < text.length && (text[i] === " " || text[i] === "\t")) i++;
    return i;
  };
  while (at < text.length) {
    const start = at;
    let i = blank(at);
    if (text[i] === "[") {
      const end = lineEnd(i);
      // A list of tables is nothing a case has; its keys must not be taken for those of the table before.
      const list = text[i + 1] === "[";
      const close = text.indexOf("]", i);
      if (close > 0 && close < end) {
        const name = text.slice(i + (list ? 2 : 1), close).split(".").map(clean).join(".");
        table = list ? `${name}[]` : name;
        tables.push({ name: table, from: start, end, bodyFrom: end });
      }
      at = end;
      continue;
    }
    const key = readKey(text, i);
    if (key === null) {
      at = lineEnd(at);
      continue;
    }
    i = blank(key.to);
    if (text[i] !== "=") {
      at = lineEnd(at);
      continue;
    }
    const from = blank(i + 1);
    const to = valueEnd(text, from);
    const end = lineEnd(to);
    const path = table === "" ? key.name : `${table}.${key.name}`;
    if (text[from] === "{") {
      inlines.push({ path, from, to, lineFrom: start, lineTo: end });
      inlineEntries(text, { from, to, path, lineFrom: start, lineTo: end }, table, entries);
    } else entries.push({ path, raw: text.slice(from, to), from, to, lineFrom: start, lineTo: end, inline: false, under: table });
    const last = tables[tables.length - 1];
    if (last) last.end = end;
    at = end;
  }
  return { entries, tables, inlines };
}

function clean(part: string): string {
  return part.trim().replace(/^["']|["']$/g, "");
}

/** A bare, quoted or dotted key at `i`. */
function readKey(text: string, i: number): { name: string; to: number } | null {
  const parts: string[] = [];
  for (;;) {
    const quote = text[i];
    if (quote === '"' || quote === "'") {
      const close = text.indexOf(quote, i + 1);
      if (close < 0) return null;
      parts.push(text.slice(i + 1, close));
      i = close + 1;
    } else {
      let j = i;
      while (j < text.length && BARE.test(text[j] ?? "")) j++;
      if (j === i) return null;
      parts.push(text.slice(i, j));
      i = j;
    }
    let j = i;
    while (text[j] === " ") j++;
    if (text[j] !== ".") return { name: parts.join("."), to: i };
    i = j + 1;
    while (text[i] === " ") i++;
  }
}

/** Index behind the value that begins at `i`: strings, lists and inline tables whole, anything else up to a comment or line end. */
function valueEnd(text: string, i: number): number {
  const c = text[i];
  if (c === '"' || c === "'") return stringEnd(text, i);
  if (c === "[" || c === "{") {
    const close = c === "[" ? "]" : "}";
    let depth = 0;
    while (i < text.length) {
      const d = text[i];
      if (d === '"' || d === "'") {
        i = stringEnd(text, i);
        continue;
      }
      if (d === "#") {
        const n = text.indexOf("\n", i);
        i = n < 0 ? text.length : n;
        continue;
      }
      if (d === c) depth++;
      if (d === close && --depth === 0) return i + 1;
      i++;
    }
    return text.length;
  }
  while (i < text.length && !"#\n\r,]}".includes(text[i] ?? "")) i++;
  while (i > 0 && (text[i - 1] === " " || text[i - 1] === "\t")) i--;
  return i;
}

function stringEnd(text: string, i: number): number {
  const quote = text[i] ?? '"';
  const triple = quote.repeat(3);
  if (text.startsWith(triple, i)) {
    const close = text.indexOf(triple, i + 3);
    return close < 0 ? text.length : close + 3;
  }
  for (let j = i + 1; j < text.length; j++) {
    if (text[j] === "\n") return j;
    if (quote === '"' && text[j] === "\\") j++;
    else if (text[j] === quote) return j + 1;
  }
  return text.length;
}

function inlineEntries(text: string, inline: Inline, under: string, out: Entry[]) {
  const { path, to, lineFrom, lineTo } = inline;
  let i = inline.from + 1;
  while (i < to - 1) {
    while (i < to && " ,\t\r\n".includes(text[i] ?? "")) i++;
    const key = readKey(text, i);
    if (key === null) return;
    i = key.to;
    while (text[i] === " ") i++;
    if (text[i] !== "=") return;
    i++;
    while (text[i] === " ") i++;
    const end = valueEnd(text, i);
    out.push({ path: `${path}.${key.name}`, raw: text.slice(i, end), from: i, to: end, lineFrom, lineTo, inline: true, under });
    i = end;
  }
}

/** The text with `path` set to the TOML `raw`, or taken out with `null`. A missing table is added at the end. */
export function put(text: string, path: string, raw: string | null): string {
  const doc = scan(text);
  const entry = doc.entries.find((e) => e.path === path);
  if (entry !== undefined) return raw === null ? without(text, entry) : text.slice(0, entry.from) + raw + text.slice(entry.to);
  if (raw === null) return text;
  const eol = lineBreak(text);
  const dot = path.lastIndexOf(".");
  const [table, name] = dot < 0 ? ["", path] : [path.slice(0, dot), path.slice(dot + 1)];
  const head = doc.tables.find((t) => t.name === table);
  if (table === "") return putOnTop(text, head?.end ?? 0, `${name} = ${raw}${eol}`, eol);
  if (head !== undefined) return lineAt(text, head.end, `${name} = ${raw}${eol}`, eol);
  const inline = doc.inlines.find((t) => t.path === table);
  if (inline !== undefined) {
    let end = inline.to - 1;
    while (end > inline.from + 1 && " \t".includes(text[end - 1] ?? "")) end--;
    const first = text.slice(inline.from + 1, end).trim() === "";
    return `${text.slice(0, end)}${first ? " " : text[end - 1] === "," ? " " : ", "}${name} = ${raw}${end === inline.to - 1 ? " " : ""}${text.slice(end)}`;
  }
  // Keys written with dots: one more of them, since a heading would define the table a second time.
  const sibling = doc.entries.findLast((e) => !e.inline && e.path.startsWith(`${table}.`));
  if (sibling !== undefined) {
    const dotted = sibling.under === "" ? path : path.slice(sibling.under.length + 1);
    return lineAt(text, sibling.lineTo, `${dotted} = ${raw}${eol}`, eol);
  }
  return `${addTable(text, table)}${name} = ${raw}${eol}`;
}

/** How lines end in the text. */
export function lineBreak(text: string): string {
  return text.includes("\r\n") ? "\r\n" : "\n";
}

function lineAt(text: string, at: number, line: string, eol: string): string {
  const before = text.slice(0, at);
  return before + (before === "" || before.endsWith("\n") ? "" : eol) + line + text.slice(at);
}

/** A first key above all tables goes under the comment that the file begins with. */
function putOnTop(text: string, end: number, line: string, eol: string): string {
  if (end > 0) return lineAt(text, end, line, eol);
  const comment = /^(?:[ \t]*#[^\n]*(?:\n|$))*/.exec(text)?.[0].length ?? 0;
  const rest = text.slice(comment);
  return lineAt(text.slice(0, comment), comment, line, eol) + (rest === "" || /^\r?\n/.test(rest) ? "" : eol) + rest;
}

function without(text: string, entry: Entry): string {
  if (!entry.inline) return text.slice(0, entry.lineFrom) + text.slice(entry.lineTo);
  let from = entry.from;
  while (from > entry.lineFrom && text[from - 1] !== "," && text[from - 1] !== "{") from--;
  const comma = text[from - 1] === ",";
  let to = entry.to;
  if (!comma) while (text[to] === " " || text[to] === ",") to++;
  return text.slice(0, comma ? from - 1 : from) + text.slice(to);
}

/** The text with an empty `[table]` at its end. */
export function addTable(text: string, table: string): string {
  const eol = lineBreak(text);
  const gap = text === "" || /\n\r?\n$/.test(text) ? "" : text.endsWith("\n") ? eol : eol + eol;
  return `${text}${gap}[${table}]${eol}`;
}

/** Whether the text has the table, in whatever way it is written. */
export function hasTable(doc: Doc, table: string): boolean {
  return doc.tables.some((t) => t.name === table) || doc.inlines.some((t) => t.path === table) || doc.entries.some((e) => e.path.startsWith(`${table}.`));
}

/** The text without the table, its entries and the comment right above its heading. */
export function dropTable(text: string, table: string): string {
  const doc = scan(text);
  const head = doc.tables.find((t) => t.name === table && t.name !== "");
  if (head !== undefined) {
    const above = /(?:^|\n)((?:[ \t]*#[^\n]*\n)+)$/.exec(text.slice(0, head.from));
    // The comment that the whole file begins with is not the table's.
    const own = above?.[1] !== undefined && above.index > 0 ? above[1].length : 0;
    const gap = /^(?:[ \t]*\r?\n)*/.exec(text.slice(head.end))?.[0].length ?? 0;
    return dropTable(text.slice(0, head.from - own) + text.slice(head.end + gap), table);
  }
  const inline = doc.inlines.find((t) => t.path === table);
  if (inline !== undefined) return dropTable(text.slice(0, inline.lineFrom) + text.slice(inline.lineTo), table);
  const entry = doc.entries.find((e) => e.path.startsWith(`${table}.`));
  return entry === undefined ? text : dropTable(without(text, entry), table);
}

/** A JavaScript string as a TOML string. */
export function quoted(value: string): string {
  return JSON.stringify(value);
}

/** The words of a TOML string or number; lists as they are written. */
export function unquoted(raw: string): string {
  const t = raw.trim();
  if (t.startsWith("'") && t.endsWith("'") && t.length > 1) return t.slice(1, -1);
  if (t.startsWith('"') && t.endsWith('"') && t.length > 1) {
    try {
      return JSON.parse(t) as string;
    } catch {
      return t.slice(1, -1);
    }
  }
  return t;
}

/** String index of a byte offset of the UTF-8 text, as findings carry them. */
export function indexOfByte(text: string, byte: number): number {
  let bytes = 0;
  let i = 0;
  while (i < text.length && bytes < byte) {
    const point = text.codePointAt(i) ?? 0;
    bytes += point < 0x80 ? 1 : point < 0x800 ? 2 : point < 0x10000 ? 3 : 4;
    i += point > 0xffff ? 2 : 1;
  }
  return i;
}
