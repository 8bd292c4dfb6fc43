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

export interface Doc {
  entries: Entry[];
  tables: Heading[];
}

const BARE = /[A-Za-z0-9_-]/;

/** Reads as much as it can; what it cannot read it passes over to the next line. */
export function scan(text: string): Doc {
  const entries: Entry[] = [];
  const tables: Heading[] = [{ name: "", from: 0, end: 0, bodyFrom: 0 }];
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
    if (text[i] === "[" && text[i + 1] !== "[") {
      const close = text.indexOf("]", i);
      const end = lineEnd(i);
      if (close > 0 && close < end) {
        table = text.slice(i + 1, close).split(".").map(clean).join(".");
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
    if (text[from] === "{") inlineEntries(text, from, to, path, start, end, entries);
    else entries.push({ path, raw: text.slice(from, to), from, to, lineFrom: start, lineTo: end, inline: false });
    const last = tables[tables.length - 1];
    if (last) last.end = end;
    at = end;
  }
  return { entries, tables };
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

function inlineEntries(text: string, from: number, to: number, path: string, lineFrom: number, lineTo: number, out: Entry[]) {
  let i = from + 1;
  while (i < to - 1) {
    while (i < to && (text[i] === " " || text[i] === ",")) i++;
    const key = readKey(text, i);
    if (key === null) return;
    i = key.to;
    while (text[i] === " ") i++;
    if (text[i] !== "=") return;
    i++;
    while (text[i] === " ") i++;
    const end = valueEnd(text, i);
    out.push({ path: `${path}.${key.name}`, raw: text.slice(i, end), from: i, to: end, lineFrom, lineTo, inline: true });
    i = end;
  }
}

/** The text with `path` set to the TOML `raw`, or taken out with `null`. A missing table is added at the end. */
export function put(text: string, path: string, raw: string | null): string {
  const doc = scan(text);
  const entry = doc.entries.find((e) => e.path === path);
  if (entry !== undefined) {
    if (raw !== null) return text.slice(0, entry.from) + raw + text.slice(entry.to);
    if (!entry.inline) return text.slice(0, entry.lineFrom) + text.slice(entry.lineTo);
    let from = entry.from;
    while (from > entry.lineFrom && text[from - 1] !== "," && text[from - 1] !== "{") from--;
    const comma = text[from - 1] === ",";
    let to = entry.to;
    if (!comma) while (text[to] === " " || text[to] === ",") to++;
    return text.slice(0, comma ? from - 1 : from) + text.slice(to);
  }
  if (raw === null) return text;
  const dot = path.lastIndexOf(".");
  const [table, name] = dot < 0 ? ["", path] : [path.slice(0, dot), path.slice(dot + 1)];
  const line = `${name} = ${raw}\n`;
  const head = doc.tables.find((t) => t.name === table);
  if (head !== undefined) {
    const before = text.slice(0, head.end);
    return before + (before === "" || before.endsWith("\n") ? "" : "\n") + line + text.slice(head.end);
  }
  const sibling = doc.entries.find((e) => e.inline && e.path.startsWith(`${table}.`));
  if (sibling !== undefined) return `${text.slice(0, sibling.to)}, ${name} = ${raw}${text.slice(sibling.to)}`;
  const gap = text === "" || text.endsWith("\n\n") ? "" : text.endsWith("\n") ? "\n" : "\n\n";
  return `${text}${gap}[${table}]\n${line}`;
}

/** The text without the table and its entries. */
export function dropTable(text: string, table: string): string {
  const doc = scan(text);
  const at = doc.tables.findIndex((t) => t.name === table && t.name !== "");
  const head = doc.tables[at];
  if (head === undefined) return text;
  const next = doc.tables[at + 1];
  return text.slice(0, head.from) + text.slice(next?.from ?? text.length);
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
