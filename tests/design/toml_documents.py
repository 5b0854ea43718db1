"""Documents for the TOML tests: hand-made tricky ones, and random ones with comments (all invented)."""

from __future__ import annotations

import random
from typing import Any

from hypothesis import strategies as st

# id: a valid document. The right answer for each is tomllib's, from the standard library.
TRICKY = {
    "bare, quoted and dotted keys": (
        'a = 1\n"b c" = 2\n\'d "e"\' = 3\nf . "g.h" . i = 4\n3.1 = 5\n"" = 6\n"\\u00e4\\t" = 7\n'
    ),
    "strings that look like code": (
        'a = "x # no = [ \\" ] { \\\\"\nb = \'c:\\dir # [\'\nc = """\n[not.a.table]\nk = 1 # no\n"""\nd = 2\n'
    ),
    "quotes at the end of a long text": (
        'a = """x\\"""y"" """\nb = """"two""""" # c\nc = \'\'\'\'\'two\'\'\'\'\'\nd = """"""\ne = \'\'\nf = 1\n'
    ),
    "lists over lines": (
        "a = [ # one\n"
        "  1, # two ]\n"
        "  [\n"
        '    2, "]"\n'
        "  ], # three\n"
        "  { b = [\n"
        " 3,\n"
        " 4 ] },\n"
        "]\n"
        "c = [ ]\n"
        "d = [[], [[]]]\n"
    ),
    "inline tables": 'a = { b = 1, c.d = { e = "}" }, "f g" = [ { h = 1 }, { h = 2 } ] }\ni = {}\nj = 1\n',
    "dates with a blank": (
        "a = 1979-05-27 07:32:00 # c\n"
        "b = [1979-05-27, 07:32:00, 1979-05-27T07:32:00Z]\n"
        "c = {d = 1979-05-27 07:32:00.5}\n"
    ),
    "numbers": "a = +1_000\nb = 0xdead_beef\nc = -1.5e-3\nd = 0o7\ne = 0b1\nf = [1,2,]\n",
    "arrays of tables": (
        '[[x]]\na = 1\n[[x.y]]\nb = 2\n[[x.y]]\nb = 3\n[x.z]\nc = 4\n[[x]]\na = 5\n[[x.y]]\nb = 6\n["x y"]\nd = 7\n'
    ),
    "tables out of order": "[a.b]\nc = 1\n[d]\ne = 2\n[a]\nf = 3\n[a.g]\nh = 4\n",
    "header forms": "  [ a . b ]  # c\n\tc = 1\n[[ d ]] # e\nf = 2\n[d.'g']\nh=3",
    "CRLF": 'a = 1\r\n# c\r\n[b]\r\nc = """\r\nd\r\n"""\r\ne = [\r\n 1,\r\n]\r\nf = 2\r\n',
    "line-ending backslash": 'a = """\\\n   one \\\n\n   two"""\nb = 1\n',
    "no final line end": "a = 1\n[b]\nc = 2",
    "only comments": "# a = 1\n\n   # b\n",
    "nothing": "",
}

_name = st.one_of(
    st.from_regex(r"[a-z][a-z0-9-]{0,5}", fullmatch=True),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=4),
)
_text = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=12)
_plain_text = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=12)
_number = st.one_of(st.integers(-(2**63), 2**63 - 1), st.floats(allow_nan=False, allow_infinity=False), st.booleans())


def trees(text: st.SearchStrategy[str] = _text) -> st.SearchStrategy[dict[str, Any]]:
    """Nested tables, lists and single values as tomllib would give them."""
    value = st.recursive(
        st.one_of(_number, text),
        lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(_name, inner, max_size=4)),
        max_leaves=12,
    )
    return st.dictionaries(_name, value, min_size=1, max_size=5)


PLAIN_TREES = trees(_plain_text)


def texts() -> st.SearchStrategy[str]:
    """Documents that the reader's guards let pass: hand-made ones and random ones in random styles."""
    tricky = [text for name, text in TRICKY.items() if name not in ("dates with a blank", "only comments", "nothing")]
    styled = st.builds(write, PLAIN_TREES, st.integers(0, 2**32), st.sampled_from(["\n", "\r\n"]))
    return st.one_of(styled, styled, styled, st.sampled_from(tricky))


def write(tree: dict[str, Any], seed: int, newline: str = "\n") -> str:
    """TOML text for a tree, in a style drawn from `seed`: headers, dotted, inline or multi-line, with comments.

    A second writer beside the library's, because that one knows a single style. Every comment is `#cN`, numbered.
    """
    writer = _Writer(random.Random(seed))
    writer.section((), tree)
    text = newline.join(writer.lines)
    return text + newline if writer.draw.random() < 0.8 else text


class _Writer:
    def __init__(self, draw: random.Random) -> None:
        self.draw = draw
        self.lines: list[str] = []
        self.comments = 0

    def comment(self, chance: float) -> str:
        if self.draw.random() > chance:
            return ""
        self.comments += 1
        return self.draw.choice([" ", "  ", "\t"]) + f'#c{self.comments}, not ] or " or = or }}'

    def section(self, path: tuple[str, ...], table: dict[str, Any], has_header: bool = True) -> None:
        later = []
        for name, value in table.items():
            if not has_header or (isinstance(value, dict) and self.draw.random() < 0.5):
                later.append((name, value))
            elif isinstance(value, dict) and value and self.draw.random() < 0.5:
                self.dotted((name,), value)
            elif isinstance(value, list) and value and all(isinstance(v, dict) for v in value):
                later.append((name, value))
            else:
                self.assign((name,), value)
        for name, value in later:
            for item in value if isinstance(value, list) else [value]:
                if self.draw.random() < 0.5:
                    self.lines += ["", *([self.comment(1).strip()] if self.draw.random() < 0.6 else [])]
                head = self.keys((*path, name))
                # a table may do without a header of its own if all it holds are tables that have one
                bare = item is value and item and all(isinstance(v, dict) for v in item.values())
                has_header = not bare or self.draw.random() < 0.3
                if has_header:
                    self.lines.append((f"[[{head}]]" if isinstance(value, list) else f"[{head}]") + self.comment(0.3))
                self.section((*path, name), item, has_header)

    def dotted(self, path: tuple[str, ...], table: dict[str, Any]) -> None:
        for name, value in table.items():
            if isinstance(value, dict) and value and self.draw.random() < 0.5:
                self.dotted((*path, name), value)
            else:
                self.assign((*path, name), value)

    def assign(self, path: tuple[str, ...], value: Any) -> None:
        if self.draw.random() < 0.2:
            self.lines.append(self.comment(1))
        blank = self.draw.choice(["", " ", "  "])
        text = f"{self.draw.choice(['', '', '  '])}{self.keys(path)}{blank}={blank}{self.value(value, True)}"
        self.lines += (text + self.comment(0.3)).split("\n")

    def value(self, value: Any, may_break: bool) -> str:
        if isinstance(value, bool):
            return "true" if value else "false"
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, dict):
            return "{ " + ", ".join(f"{self.keys((k,))} = {self.value(v, may_break)}" for k, v in value.items()) + " }"
        if not isinstance(value, list):
            return repr(value)
        items = [self.value(v, may_break) for v in value]
        if not may_break or self.draw.random() < 0.5:
            return "[" + ", ".join(items) + (" ," if items and self.draw.random() < 0.3 else "") + "]"
        last = self.draw.random() < 0.5
        lines = [
            f"  {item}{',' if last or n < len(items) else ''}{self.comment(0.5)}" for n, item in enumerate(items, 1)
        ]
        return "\n".join(["[" + self.comment(0.3), *lines, "]"])

    def text(self, value: str) -> str:
        if "'" not in value and value.isprintable() and self.draw.random() < 0.4:
            return f"'{value}'"
        escaped = "".join(c if c.isprintable() and c not in '"\\' else f"\\U{ord(c):08X}" for c in value)
        return f'"""{escaped}"""' if self.draw.random() < 0.3 else f'"{escaped}"'

    def keys(self, path: tuple[str, ...]) -> str:
        dot = self.draw.choice([".", ".", " . "])
        return dot.join(k if k.isascii() and k.replace("-", "a").isalnum() else self.text_key(k) for k in path)

    def text_key(self, key: str) -> str:
        if "'" not in key and key.isprintable() and self.draw.random() < 0.5:
            return f"'{key}'"
        return (
            '"'
            + "".join(
                c
                if c.isprintable() and c not in '"\\'
                else f"\\u{ord(c):04x}"
                if ord(c) < 0x10000
                else f"\\U{ord(c):08x}"
                for c in key
            )
            + '"'
        )
