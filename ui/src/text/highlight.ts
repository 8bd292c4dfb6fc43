// Lines of a case taken into coloured pieces. Only for the eye: what the text means the server says.

export type Tint = "comment" | "table" | "key" | "string" | "plain";

export interface Piece {
  tint: Tint;
  text: string;
}

/** The pieces of one line; a line inside a list over many lines is read as values. */
export function pieces(line: string): Piece[] {
  const out: Piece[] = [];
  const push = (tint: Tint, text: string) => {
    if (text !== "") out.push({ tint, text });
  };
  const heading = /^(\s*\[[^\]"']*\]\s*)(#.*)?$/.exec(line);
  if (heading !== null && !/^\s*\[\s*[\d\]]/.test(line)) {
    push("table", heading[1] ?? "");
    push("comment", heading[2] ?? "");
    return out;
  }
  const key = /^(\s*[A-Za-z0-9_."'-]+?)(\s*=)/.exec(line);
  let i = 0;
  if (key !== null) {
    push("key", key[1] ?? "");
    push("plain", key[2] ?? "");
    i = key[0].length;
  }
  while (i < line.length) {
    const c = line[i] ?? "";
    if (c === "#") {
      push("comment", line.slice(i));
      break;
    }
    let to = i;
    if (c === '"' || c === "'") {
      to++;
      while (to < line.length && line[to] !== c) to += c === '"' && line[to] === "\\" ? 2 : 1;
      push("string", line.slice(i, ++to));
    } else {
      while (to < line.length && !"#\"'".includes(line[to] ?? "")) to++;
      push("plain", line.slice(i, to));
    }
    i = to;
  }
  return out;
}
