// Lists of a case taken apart: `["2 mm", "1 mm"]`, over one line or many, comments kept.

export interface Item {
  raw: string;
  /** Indices in the list's raw text. */
  from: number;
  to: number;
}

/** Whether the raw value is a list. */
export function isList(raw: string | undefined): boolean {
  return raw !== undefined && raw.trimStart().startsWith("[");
}

/** The items of a list; none when it is not one. */
export function items(raw: string): Item[] {
  const found: Item[] = [];
  let i = raw.indexOf("[") + 1;
  if (i === 0) return found;
  while (i < raw.length) {
    const c = raw[i] ?? "";
    if (c === "]") break;
    if (c === "#") {
      const n = raw.indexOf("\n", i);
      i = n < 0 ? raw.length : n;
    } else if (" \t\r\n,".includes(c)) i++;
    else {
      const from = i;
      if (c === '"' || c === "'") {
        i++;
        while (i < raw.length && raw[i] !== c) i += c === '"' && raw[i] === "\\" ? 2 : 1;
        i++;
      } else while (i < raw.length && !",]#\n\r".includes(raw[i] ?? "")) i++;
      found.push({ raw: raw.slice(from, i).trimEnd(), from, to: from + raw.slice(from, i).trimEnd().length });
    }
  }
  return found;
}

/** The list with item `at` written anew; one behind the last is added. */
export function putItem(raw: string, at: number, value: string): string {
  const found = items(raw);
  const item = found[at];
  if (item !== undefined) return raw.slice(0, item.from) + value + raw.slice(item.to);
  return insertItem(raw, found.length, value);
}

/** The list with one more item before item `at`. */
export function insertItem(raw: string, at: number, value: string): string {
  const found = items(raw);
  const next = found[at];
  if (next !== undefined) return `${raw.slice(0, next.from)}${value}, ${raw.slice(next.from)}`;
  const last = found[found.length - 1];
  if (last === undefined) return `[${value}]`;
  return `${raw.slice(0, last.to)}, ${value}${raw.slice(last.to)}`;
}

/** The list without item `at`. */
export function dropItem(raw: string, at: number): string {
  const found = items(raw);
  const item = found[at];
  if (item === undefined) return raw;
  const next = found[at + 1];
  if (next !== undefined) return raw.slice(0, item.from) + raw.slice(next.from);
  const before = found[at - 1];
  return before === undefined ? raw.slice(0, item.from) + raw.slice(item.to) : raw.slice(0, before.to) + raw.slice(item.to);
}
