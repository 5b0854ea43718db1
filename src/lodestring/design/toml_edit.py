"""Change single values in a TOML text and leave every other character alone.

A style-preserving TOML library was tried first and is the tests' witness. It moves a new key behind the comment that
belongs to the next table, deletes that comment with the table before it, and mixes line ends in a CRLF file; cutting
the text at the places the scanner gives has none of this. The caller reads the result again and compares.
"""

from __future__ import annotations

import re

from lodestring.design.toml_lines import KeyPath, Piece, Scan, dotted, scan

_COMMENT_LINE = re.compile(r"[ \t]*#[^\n]*\n")
_TO_COMMA = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*+,")


def newline_of(text: str) -> str:
    """The line end that most lines have."""
    return "\r\n" if text.count("\r\n") * 2 > text.count("\n") else "\n"


def set_value(text: str, path: KeyPath, value: str) -> str:
    """Write `value` (TOML source) at `path`, adding the key, and tables above it, where they are missing."""
    seen = scan(text)
    value = value.replace("\r\n", "\n").replace("\n", newline_of(text))
    if path in seen.spans:
        start, end = seen.spans[path]
        return text[:start] + value + text[end:]
    there = path[:-1]
    while there and there not in seen.lines:
        there = there[:-1]
    holder = _longest_written(seen, there)
    if holder is not None:
        return _add_item(text, seen, holder, _assignment(path[len(holder) :], value))
    dotted_lines = [
        p for p in seen.pieces if p.kind == "line" and _under(p.path, there) and not _under(p.inside, there)
    ]
    if dotted_lines and there:
        last = dotted_lines[-1]
        return _add_line(text, last, _assignment(path[len(last.inside) :], value))
    if len(path) == len(there) + 1 and (there in seen.headers or not there):
        return _add_to_section(text, seen, there, _assignment(path[-1:], value))
    return _add_section(text, seen, there, path, value)


def remove(text: str, path: KeyPath) -> str:
    """Take out the key, table or list item at `path`, with the comment on its own line; other comments stay."""
    seen = scan(text)
    pieces = [p for p in seen.pieces if _under(p.path, path) and not (p.kind == "item" and _under(p.inside, path))]
    whole = _longest_written(seen, path[:-1])
    for piece in sorted(pieces, key=lambda p: p.at, reverse=True):
        text = _cut_line(text, piece) if whole is None else _cut_item(text, seen, piece)
        seen = scan(text) if whole is not None else seen
    return text


def vanishes_with(text: str, path: KeyPath) -> KeyPath:
    """The table that goes when the last key in it goes: one that only its keys' dotted names or headers had made."""
    seen = scan(text)
    while path[:-1] and path[:-1] not in seen.headers and path[:-1] not in seen.spans:
        siblings = {p[: len(path)] for p in seen.lines if len(p) >= len(path) and _under(p, path[:-1])}
        if siblings != {path}:
            break
        path = path[:-1]
    return path


def _under(path: KeyPath, table: KeyPath) -> bool:
    return path[: len(table)] == table


def _longest_written(seen: Scan, path: KeyPath) -> KeyPath | None:
    """The innermost list or table between brackets that holds `path`."""
    return next((path[:n] for n in range(len(path), 0, -1) if path[:n] in seen.spans), None)


def _assignment(names: KeyPath, value: str) -> str:
    return value if isinstance(names[0], int) else f"{dotted(names)} = {value}"


def _indent(text: str, at: int) -> str:
    start = text.rfind("\n", 0, at) + 1
    blank = re.compile(r"[ \t]*").match(text, start)
    return blank.group() if blank else ""


def _add_line(text: str, after: Piece, line: str) -> str:
    return _insert_after(text, after.end, _indent(text, after.at) + line)


def _insert_after(text: str, at: int, lines: str) -> str:
    """Put `lines` under the line that holds `at`; a file without final line end stays without."""
    newline = newline_of(text)
    end = text.find("\n", at)
    return text + newline + lines if end < 0 else text[: end + 1] + lines + newline + text[end + 1 :]


def _add_to_section(text: str, seen: Scan, table: KeyPath, line: str) -> str:
    own = [p for p in seen.pieces if p.inside == table and p.kind in ("line", "header")]
    if own:
        return _add_line(text, own[-1], line)
    return _insert_above(text, seen, min(seen.headers.values(), default=len(text)), line)  # a root without keys


def _insert_above(text: str, seen: Scan, header: int, lines: str) -> str:
    """Put `lines` and a blank line above a header and the comments that stand on it."""
    before = max((p.end for p in seen.pieces if p.end <= header), default=0)  # a "comment" above it is in a text
    at = text.rfind("\n", 0, header) + 1
    while at > before and _COMMENT_LINE.match(text, above := text.rfind("\n", 0, at - 1) + 1) and above >= before:
        at = above
    newline = newline_of(text)
    return text[:at] + lines + newline + newline + text[at:]


def _add_section(text: str, seen: Scan, there: KeyPath, path: KeyPath, value: str) -> str:
    """A new `[table]` with one key: above the tables in it, if there are any, else below all that is in `there`."""
    newline = newline_of(text)
    header = ".".join(dotted((part,)) for part in path[:-1] if isinstance(part, str))
    lines = f"[{header}]{newline}{_assignment(path[-1:], value)}"
    if path[:-1] == there:
        return _insert_above(text, seen, min(at for p, at in seen.headers.items() if _under(p, there)), lines)
    inside = [p for p in seen.pieces if _under(p.path, there) and p.kind != "item"]
    if not there or not inside:
        gap = newline if text.endswith("\n") else newline * 2
        return text + gap + lines + (newline if text.endswith("\n") else "")
    return _insert_after(text, _last_comment(text, inside[-1].end), newline + lines)


def _last_comment(text: str, at: int) -> int:
    """End of the comment lines right below the line of `at`, unless they stand on the next header."""
    start = end = text.find("\n", at) + 1
    while end and (comment := _COMMENT_LINE.match(text, end)):
        end = comment.end()
    return end - 1 if end > start and not text[end : end + 1].strip() else at


def _add_item(text: str, seen: Scan, holder: KeyPath, item: str) -> str:
    start, end = seen.spans[holder]
    items = [p for p in seen.pieces if p.inside == holder and p.kind == "item"]
    if not items:
        inner = text[start + 1 : end - 1]
        if text[start] == "{":
            return f"{text[:start]}{{ {item} }}{text[end:]}"
        return text[: start + 1] + item + (inner if inner.strip() else "") + text[end - 1 :]
    first, last = items[0], items[-1]
    comma = _TO_COMMA.match(text, last.end, end - 1)
    behind = last.end if comma is None else comma.end()
    line_end = text.find("\n", behind, end - 1)
    if "\n" in text[start : first.at] and line_end >= 0:  # one item a line
        line_end -= text[line_end - 1] == "\r"
        new = newline_of(text) + _indent(text, last.at) + item
        if comma is None:
            return text[:behind] + "," + text[behind:line_end] + new + text[line_end:]
        return text[:line_end] + new + "," + text[line_end:]
    return text[:behind] + (", " if comma is None else " ") + item + text[behind:]


def _cut_line(text: str, piece: Piece) -> str:
    start = text.rfind("\n", 0, piece.at) + 1
    end = text.find("\n", piece.end)
    if end >= 0:
        return text[:start] + text[end + 1 :]
    return text[:start].removesuffix("\n").removesuffix("\r")  # the last line had no line end: so it stays


def _cut_item(text: str, seen: Scan, piece: Piece) -> str:
    _, end = seen.spans[piece.inside]
    items = [p for p in seen.pieces if p.inside == piece.inside and p.kind == "item"]
    comma = _TO_COMMA.match(text, piece.end, end - 1)
    before = [p for p in items if p.at < piece.at]
    if comma is None and before:  # the last one: the comma in front of it goes
        at = _TO_COMMA.match(text, before[-1].end, piece.at)
        front = at.end() - 1 if at else before[-1].end
        kept = text[front + 1 : piece.at]
        return text[:front] + (kept if kept.strip() else "") + text[piece.end :]
    stop = piece.end
    kept = ""
    if comma is not None:
        kept = text[piece.end : comma.end() - 1]
        stop = comma.end()
    rest = re.compile(r"[ \t]*").match(text, stop)
    start, stop = piece.at, rest.end() if rest else stop
    line = text.rfind("\n", 0, start) + 1
    if not text[line:start].strip() and not kept.strip() and (blank := re.compile(r"\r?\n").match(text, stop)):
        start, stop = line, blank.end()  # it had a line of its own
    return text[:start] + (kept if kept.strip() else "") + text[stop:]
