"""Say a slip of TOML's grammar so that a tired maker can mend it: where, what stands there, what to write instead.

The standard library's message gives the place; its wording differs between Python versions and speaks of parsers, so
the slip itself is found again here from the text around that place. What is not recognised gets a general sentence.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass

from lodestring.design.toml_lines import KeyPath, Open, Scan, dotted, line_at, scan
from lodestring.errors import Problem

_PLACE = re.compile(r" *\(at (?:line (\d+), column (\d+)|end of document)\)")
_CURLY = str.maketrans(dict.fromkeys("“”„‟«»‘’‚‛", '"'))
_CURLY_MARK = re.compile("[“”„‟«»‘’‚‛]")
_NUMBER = re.compile(r"[+-]?[0-9./ _-]+")
_WIDTH = 72


@dataclass(frozen=True, slots=True)
class _Place:
    """The text, the offset at which the parser gave up, and what the scanner saw up to there and beyond."""

    text: str
    at: int
    message: str
    before: Scan
    whole: Scan

    @property
    def here(self) -> str:
        return self.text[self.at : self.at + 1]

    @property
    def line(self) -> str:
        return _line_text(self.text, self.at)

    @property
    def opened(self) -> Open | None:
        stop = self.before.stop
        return stop.opened[-1] if stop is not None and stop.opened else None

    @property
    def value(self) -> tuple[KeyPath, int, int] | None:
        """The single value that reaches up to, or over, the place; on the same line."""
        for path, (start, end) in reversed(self.whole.spans.items()):
            if start <= self.at and not self.text[end : self.at].strip(" \t") and self.text[start] not in "[{":
                return path, start, end
        return None


@dataclass(frozen=True, slots=True)
class _Slip:
    """must and try; `at`, `came` and `path` where others than the parser's place, its line and its key are meant."""

    must: str
    attempt: str = ""
    at: int | None = None
    came: str = ""
    path: KeyPath | None = None


def explain(text: str, message: str) -> Problem:
    """A Problem with line and key path for what tomllib.TOMLDecodeError said (`message`) about `text`."""
    at = _offset(text, message)
    place = _Place(text, at, _PLACE.sub("", message), scan(text[:at]), scan(text))
    for rule in _RULES:
        slip = rule(place)
        if slip is not None:
            break
    else:
        slip = _Slip("a line must be `name = value`, a [table] or a # comment", "a look at the line above, too")
    at = place.at if slip.at is None else slip.at
    path = slip.path
    if path is None:  # the key on this line, else the list that the line is a part of
        around = place.opened.path if place.opened else ()
        path = place.before.last if place.before.last_at >= text.rfind("\n", 0, at) else around
    return Problem(_cut(dotted(path)), slip.must, slip.came or _excerpt(text, at), slip.attempt, line_at(text, at))


def _offset(text: str, message: str) -> int:
    """The parser counts lines and columns with CRLF as one character; so does this, per line."""
    found = _PLACE.search(message)
    if found is None or found.group(1) is None:
        return len(text)
    start = 0
    for _ in range(int(found.group(1)) - 1):
        start = text.find("\n", start) + 1
    return min(start + int(found.group(2)) - 1, len(text))


def _set_twice(place: _Place) -> _Slip | None:
    if not place.message.startswith(("Cannot", "Duplicate")):
        return None
    seen = place.before
    if place.opened is None and place.line.lstrip().startswith("["):  # the parser stops in front of a header's ]
        seen = scan(place.text[: place.text.find("]", place.at) + 2])
    earlier = scan(place.text[: seen.last_at])
    path = seen.last
    while path and path not in earlier.lines:
        path = path[:-1]
    if not path:
        return None
    must = f"a name must be set only once, and {_cut(dotted(path))} is set in line {earlier.lines[path]} already"
    return _Slip(must, "one of the two, or another name", seen.last_at, path=seen.last)


def _curly_quotes(place: _Place) -> _Slip | None:
    value = place.value
    begins = place.text[value[1]] if value else place.here
    stop = place.whole.stop
    unclosed = stop is not None and stop.why == "string" and stop.at <= place.at and _CURLY_MARK.search(place.line)
    if not unclosed and not _CURLY_MARK.match(begins) and not _CURLY_MARK.match(place.here):
        return None
    return _Slip('quotes must be straight ones (")', f"`{_cut(place.line.strip().translate(_CURLY))}`")


def _quote_left_open(place: _Place) -> _Slip | None:
    stop = place.whole.stop
    if stop is None or stop.why != "string" or stop.at > place.at or place.here not in ("", "\n", "\r"):
        return None
    quote = place.text[stop.at]
    if place.text.startswith(quote * 3, stop.at):
        return _Slip(f"a text that begins with {quote * 3} must end with {quote * 3}", "", stop.at)
    must = "a text must end on its line, with the quote it began with"
    return _Slip(must, f"{quote} behind its last word", stop.at)


def _backslash(place: _Place) -> _Slip | None:
    value = place.value
    inside = value is not None and value[1] < place.at < value[2] and place.text[value[1]] == '"'
    if not inside or "\\" not in place.text[max(place.at - 10, 0) : place.at + 1]:
        return None
    return _Slip('a \\ between "..." must be written twice', "\\\\, or single quotes '...', which leave it alone")


def _unquoted(place: _Place) -> _Slip | None:
    value = place.value
    if value is None or place.text[value[1]] in "'\"":
        return None
    path, start, end = value
    if place.opened is None:  # then a comma belongs to the value, as in 3,5 mm
        end = place.text.find("\n", start) if "\n" in place.text[start:] else len(place.text)
    word = place.text[start:end].split("#")[0].strip()
    if "\n" in word or "=" in word:
        return None
    if _is_value(word):
        return None
    if number := re.fullmatch(r"([+-]?)0*([0-9]*)(\.?)([0-9]*)", word):
        sign, whole, point, part = number.groups()
        full = f"{sign}{whole or '0'}{point and '.' + (part or '0')}"
        return _Slip("a number must have a digit on both sides of its point and no 0 in front", full, path=path)
    if re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+", word):
        return _Slip("a bare number has no commas in it", word.replace(",", ""), path=path)
    if word.lower() in ("true", "false"):
        return _Slip("true and false must be in small letters", word.lower(), path=path)
    if word.endswith(('"', "'")) and not _NUMBER.fullmatch(word[:-1]):
        word = word[:-1]  # the quote at the beginning was forgotten; after a number it means inches
    quote = "'" if '"' in word else '"'
    must = "a value with letters, signs or a unit must stand in quotes"
    return _Slip(must, f"{quote}{_cut(word)}{quote}", path=path)


def _is_value(word: str) -> bool:
    try:
        return len(tomllib.loads(f"x = {word}")) == 1
    except ValueError:
        return False


def _no_value(place: _Place) -> _Slip | None:
    if not re.search(r"=[ \t]*\Z", place.text[: place.at]) or place.here not in ("", "\n", "\r", "#", ",", "}", "]"):
        return None
    return _Slip("a value must follow the =", "a number, or a text in quotes; or take the line out")


def _brace(place: _Place) -> _Slip | None:
    inside = place.opened
    if inside is None or inside.bracket != "{":
        return None
    if place.here == "}" and place.text[: place.at].rstrip().endswith(","):
        return _Slip("no comma may stand before the }", "the same without that comma")
    if place.here in ("", "\n", "\r") or "\n" in place.text[inside.at : place.at]:
        must = "a table between { and } must be closed on the line it began"
        name = _cut(dotted(inside.path))
        own = "" if any(isinstance(part, int) for part in inside.path) else f"; or a table of its own: [{name}]"
        return _Slip(must, f"}} at its end{own}", inside.at, path=inside.path)
    return None


def _bracket(place: _Place) -> _Slip | None:
    inside = place.opened
    if inside is None or inside.bracket != "[":
        return None
    came = f"{_excerpt(place.text, inside.at)}, and no ] up to line {line_at(place.text, place.at)}"
    must = "a list that begins with [ must end with ]"
    if place.here == "":
        return _Slip(must, "] behind its last item", inside.at, path=inside.path)
    goes_on = "=" in place.line.split("{")[0] or place.line.lstrip().startswith("[")
    if goes_on and "\n" in place.text[inside.at : place.at]:
        return _Slip(must, "] behind its last item", inside.at, came, inside.path)
    if place.value is not None or place.text[: place.at].rstrip().endswith(("}", "]")):
        return _Slip("the items of a list must have commas between them, and ] at the end", "a comma here")
    return None


def _inch_mark(place: _Place) -> _Slip | None:
    """`"0.013""`: the inch mark ends the text, and a quote is left over."""
    before = place.text[: place.at].rstrip()
    spot = re.search(r'"([0-9][0-9 ./]*)"$', before)
    if spot is None or not place.text[place.at :].lstrip(" ").startswith('"'):
        return None
    size = spot.group(1)
    return _Slip('an inch mark inside "..." ends the text', f'"{size} in", or \'{size}"\' in single quotes')


def _comma(place: _Place) -> _Slip | None:
    if place.opened is None or place.opened.bracket != "{" or place.value is None:
        return None
    return _Slip("the keys between { and } must have commas between them", "a comma here")


def _after_value(place: _Place) -> _Slip | None:
    if place.opened is not None or place.value is None:
        return None
    return _Slip("nothing but a # comment may follow a value on its line", "a # in front of the rest, or a new line")


def _header(place: _Place) -> _Slip | None:
    line = place.line.strip()
    if place.opened is not None or not line.startswith("["):
        return None
    many = 2 if line.startswith("[[") else 1
    inner = line.split("#")[0].strip().strip("[]").strip()
    fixed = ".".join(re.sub(r"[^A-Za-z0-9_-]+", "-", part.strip()).strip("-") for part in inner.split("."))
    must = "a table's header must be a name in brackets, alone on its line"
    return _Slip(must, f"{'[' * many}{_cut(fixed) or 'name'}{']' * many}")


def _equals(place: _Place) -> _Slip | None:
    line = place.line.split("#")[0].strip()
    found = re.match(r"([A-Za-z0-9_-][A-Za-z0-9_. -]*?)[ \t]*(:|=|[ \t])[ \t]*(.*)", line)
    if place.opened is not None or found is None:
        return None
    name, mark, value = found.groups()
    if mark == ":":
        return _Slip("a = must stand between name and value", f"`{_cut(f'{name} = {value}')}`")
    if "=" in line:
        joined = re.sub(r"[^A-Za-z0-9_.]+", "-", line.split("=")[0].strip())
        return _Slip("a name must be one word", f"`{_cut(joined)} =`")
    return _Slip("a = must stand between name and value", f"`{_cut(f'{name} = {value}')}`")


def _control(place: _Place) -> _Slip | None:
    if not place.here or place.here in "\n\t" or place.here.isprintable():
        return None
    return _Slip(f"control characters (here U+{ord(place.here):04X}) must not stand in the file", "taking it out")


_RULES: tuple[Callable[[_Place], _Slip | None], ...] = (
    _inch_mark,
    _set_twice,
    _curly_quotes,
    _quote_left_open,
    _control,
    _backslash,
    _no_value,
    _brace,
    _unquoted,
    _bracket,
    _comma,
    _after_value,
    _header,
    _equals,
)


def _line_text(text: str, at: int) -> str:
    start = text.rfind("\n", 0, at) + 1
    end = text.find("\n", at)
    return text[start : len(text) if end < 0 else end].rstrip("\r")


def _excerpt(text: str, at: int) -> str:
    """The line around `at`, cut to a width that fits a screen, and the column."""
    line, column = _line_text(text, at), at - text.rfind("\n", 0, at)
    if not line.strip():
        return "nothing" if at >= len(text) else f"an end of line at column {column}"
    start = max(0, min(column - _WIDTH // 2, len(line) - _WIDTH))
    shown = line[start : start + _WIDTH]
    left, right = "..." if start else "", "..." if start + _WIDTH < len(line) else ""
    return f"`{left}{_plain(shown.strip())}{right}` (column {column})"


def _plain(text: str) -> str:
    return "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text.replace("\t", " "))


def _cut(text: str) -> str:
    text = _plain(text)
    return text if len(text) <= _WIDTH else text[: _WIDTH - 3] + "..."
