#!/usr/bin/env python3
"""Writes calotte/answers.py, the typed records of answers, from ui/src/api, which tests keep equal to the reports in Rust.

With --check it writes nothing and fails where the file is not fresh.
"""

from __future__ import annotations

import keyword
import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
API = ROOT / "ui" / "src" / "api"
OUT = ROOT / "python" / "calotte" / "answers.py"
ROOTS = {
    "verdict": "VerdictReport",
    "states": "StatesReport",
    "poke": "PokeReport",
    "release": "ReleaseWhole",
    "map": "MapReport",
    "heat": "HeatWhole",
    "modes": "ModesReport",
    "spread": "BatchReport",
    "size": "SizeReport",
    "look": "Look",
}
FILM = "Film"
HEAD = '''"""Typed records of answers. Written by python/tools/answers.py from the reports of the program: not to be changed by hand.

Numbers are SI, with the unit in the name of the field. Lists of numbers are numpy arrays, with NaN for what is missing.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from ._data import Record, array, flags, matrix

'''


def plain(doc: str) -> str:
    """A comment of Rust as a docstring: links between brackets become code."""
    doc = re.sub(r"\[`([^`]*)`\](\([^)]*\))?", r"`\1`", doc)
    return " ".join(doc.split()).replace("\\", "\\\\").replace('"""', "'''").replace("`None`", "None")


def read(name: str) -> tuple[str, str]:
    """Documentation and body of a type."""
    text = (API / f"{name}.ts").read_text()
    found = re.search(r"/\*\*\n(.*?)\*/\nexport type (\w+) = (.*);\s*$", text, re.S)
    if not found or found[2] != name:
        raise SystemExit(f"{name}.ts is not understood")
    doc = " ".join(line.strip().removeprefix("*").strip() for line in found[1].splitlines())
    return plain(doc), found[3].strip()


def fields(body: str) -> list[tuple[str, str, str]]:
    """Name, type and documentation of each field of `{ … }`."""
    inside = body.strip().removeprefix("{").removesuffix("}").strip()
    out, at = [], 0
    while at < len(inside):
        doc = ""
        if m := re.compile(r"\s*/\*\*(.*?)\*/\s*", re.S).match(inside, at):
            doc = plain(" ".join(x.strip().removeprefix("*").strip() for x in m[1].splitlines()))
            at = m.end()
        m = re.compile(r"\s*(\w+)\??:\s*").match(inside, at)
        if not m:
            raise SystemExit(f"not understood: {inside[at : at + 80]!r}")
        start = at = m.end()
        depth = 0
        while at < len(inside) and not (inside[at] == "," and depth == 0):
            depth += {"<": 1, "[": 1, "(": 1, "{": 1, ">": -1, "]": -1, ")": -1, "}": -1}.get(inside[at], 0)
            at += 1
        out.append((m[1], inside[start:at].strip(), doc))
        at += 1
        while at < len(inside) and inside[at].isspace():
            at += 1
    return out


class Types:
    """All types reached from the roots, in the order in which they must stand."""

    def __init__(self) -> None:
        self.done: dict[str, str] = {}
        self.literals: set[str] = set()

    def python(self, ts: str) -> tuple[str, str]:
        """Annotation and converter (`None` for none) of a type."""
        ts = re.sub(r'import\("\./\w+"\)\.', "", ts).strip()
        if ts.endswith("| null") and "{" not in ts:
            kind, convert = self.python(ts.removesuffix("| null"))
            return f"{kind} | None", convert
        if ts in ("number", "string", "boolean"):
            return {"number": "float", "string": "str", "boolean": "bool"}[ts], "None"
        if ts in ("Array<number>", "Array<number | null>"):
            return "np.ndarray", "array"
        if ts == "Array<boolean>":
            return "np.ndarray", "flags"
        if ts in ("Array<Array<number>>", "Array<[number, number]>", "Array<Array<number | null>>"):
            return "np.ndarray | list[np.ndarray]", "matrix"
        if m := re.fullmatch(r"Array<(.*)>", ts, re.S):
            kind, convert = self.python(m[1])
            if convert == "None":
                return f"list[{kind}]", "None"
            return f"list[{kind}]", f"lambda v: [None if x is None else ({convert})(x) for x in v]" if "None" in kind else f"lambda v: [({convert})(x) for x in v]"
        if m := re.fullmatch(r"\[(.*)\]", ts, re.S):
            parts = [self.python(p.strip()) for p in m[1].split(",")]
            kind = f"tuple[{', '.join(p[0] for p in parts)}]"
            if all(p[1] == "None" for p in parts):
                return kind, "tuple"
            return kind, f"lambda v: ({', '.join(f'({c})(v[{i}])' for i, (_, c) in enumerate(parts))},)"
        if re.fullmatch(r'"[^"]*"(\s*\|\s*"[^"]*")*', ts):
            return f"Literal[{', '.join(x.strip() for x in ts.split('|'))}]", "None"
        if re.fullmatch(r"\w+", ts):
            self.add(ts)
            return ts, "None" if ts in self.literals else f"{ts}._read"
        raise SystemExit(f"type not understood: {ts}")

    def add(self, name: str) -> None:
        if name in self.done or name in self.literals:
            return
        doc, body = read(name)
        if body.startswith('"'):
            self.literals.add(name)
            words = ", ".join(x.strip() for x in body.split("|"))
            self.done[name] = f'{name} = Literal[{words}]\n"""{doc}"""\n'
            return
        of: list[tuple[str, str, str]] = []
        for part in re.split(r"\s&\s", body):
            if m := re.fullmatch(r'import\("\./(\w+)"\)\.\w+', part.strip()):
                of += fields(read(m[1])[1])
            else:
                of += fields(part)
        lines = [f"class {name}(Record):", f'    """{doc}"""', ""]
        slots, table, body_lines = [], [], []
        for key, ts, about in of:
            kind, convert = self.python(ts)
            attribute = key + "_" if keyword.iskeyword(key) else key
            slots.append(attribute)
            body_lines.append(f"    {attribute}: {kind}")
            if about:
                body_lines.append(f'    """{about}"""')
            table.append(f'        "{key}": ("{attribute}", {convert}),')
        lines.append(f"    __slots__ = ({', '.join(repr(s) for s in slots)},)")
        lines += body_lines
        lines += ["    _fields = {", *table, "    }", ""]
        self.done[name] = "\n".join(lines)


def main() -> int:
    types = Types()
    for name in [*ROOTS.values(), FILM]:
        types.add(name)
    text = HEAD + "\n\n".join(types.done.values())
    text += "\n\nREPORTS: dict[str, type[Any]] = {\n"
    text += "".join(f'    "{q}": {name},\n' for q, name in ROOTS.items())
    text += '}\n"""The record of the answer to each question."""\n'
    if "--check" in sys.argv:
        if OUT.read_text() != text:
            print("python/calotte/answers.py is not fresh: run python/tools/answers.py", file=sys.stderr)
            return 1
        return 0
    OUT.write_text(text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
