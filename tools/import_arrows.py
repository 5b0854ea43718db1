"""Which room may import which: the floors of the package, and every import read out of a source text.

`problems(module, text)` is a pure function, so that a test can show it bad imports and see each of them caught.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass

PACKAGE = "lodestring"

# A room imports rooms of lower floors. Within one floor no arrow runs, but for what ALSO names.
FLOORS = {
    "version": 0,
    "errors": 0,
    "quantity": 0,
    "reference": 0,
    "examples": 0,
    "design": 1,
    "layout": 2,
    "physics": 2,
    "signal": 2,
    "assess": 3,
    "making": 4,
    "parts": 4,
    "book": 4,
    "proving": 4,
    "sound": 4,
    "study": 4,
    "drawing": 5,
    "paper": 6,
    "folder": 7,
    "web": 8,
    "cli": 8,
    "__main__": 9,
}
EVERYONE_MAY = ("version", "errors")
ALSO = {
    "reference": ("quantity",),  # quantity never looks back: a gauge becomes a diameter in reference
    "cli": ("web",),  # `lodestring open` starts the page's server; the page never looks back
}
NEVER = {"physics": ("design",)}  # SI in, SI out

# The rim translates only. What it may name, as a prefix: folder, record types, the readers of reference and design.
# A new module of records is added here; a module that computes is not.
RIM_MAY = (
    "folder",
    "assess.report",
    "assess.shown",
    "assess.why",
    "design",
    "reference",
    "quantity",
    "examples",
    "assess.records",
    "assess.report",  # the assessment itself, and its JSON
    "assess.shown",
    "assess.why",
    "making.records",
    "drawing.records",
    "paper.records",
)
RIM = ("web", "cli")


@dataclass(frozen=True)
class Arrow:
    """One import: the line it stands on and the full dotted name it reaches (with `?` where it cannot be read)."""

    line: int
    target: str


def problems(module: str, text: str) -> list[str]:
    """What is wrong with the imports of one module (`lodestring.physics.coil`), a sentence each."""
    out = []
    for arrow in arrows(module, text):
        why = _why_not(module, arrow.target)
        if why:
            out.append(f"{module}, line {arrow.line}: imports {arrow.target}: {why}")
    return out


def _why_not(module: str, target: str) -> str:
    """Empty if the arrow may stand."""
    if target == "?":
        return "a name worked out at run time cannot be checked; write it as a literal"
    here, there = _room(module), _room(target)
    if here == "":
        return "" if there == "version" else "the package root imports its version only"
    if there == "":
        return "no module imports the package root; import the room that is meant"
    for room in (here, there):
        if room not in FLOORS:
            return f"the room {room} has no floor; give it one in tools/import_arrows.py"
    if here == there or (there in EVERYONE_MAY and here not in EVERYONE_MAY) or there in ALSO.get(here, ()):
        return ""
    if there in NEVER.get(here, ()):
        return f"{here} must not know {there}"
    if FLOORS[there] == FLOORS[here]:
        return f"an arrow across floor {FLOORS[here]}"
    if FLOORS[there] > FLOORS[here]:
        return f"an arrow that climbs from floor {FLOORS[here]} to floor {FLOORS[there]}"
    if here in RIM and not _under(target.removeprefix(f"{PACKAGE}."), RIM_MAY):
        return f"{here} translates only; it may import {', '.join(RIM_MAY)}"
    return ""


def _room(name: str) -> str:
    """`lodestring.physics.coil` -> `physics`; empty for the package root."""
    room = name.split(".")[1] if "." in name else ""
    return "" if room == "__init__" else room


def _under(name: str, prefixes: tuple[str, ...]) -> bool:
    return any(name == prefix or name.startswith(f"{prefix}.") for prefix in prefixes)


def arrows(module: str, text: str) -> Iterator[Arrow]:
    """Every import of our own package in a source text, deferred and conditional ones too.

    `module` of a package's `__init__.py` ends in `.__init__` (relative imports count their dots from there).
    """
    names: dict[str, str] = {}  # local name -> what it was imported as: to know import_module under any name
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                first = alias.name.split(".")[0]
                names[alias.asname or first] = alias.name if alias.asname else first
                yield from _ours(node.lineno, alias.name)
        elif isinstance(node, ast.ImportFrom):
            base = _resolve(module, "." * node.level + (node.module or ""))
            for alias in node.names:
                names[alias.asname or alias.name] = f"{base}.{alias.name}"
                yield from _ours(node.lineno, base if base == PACKAGE else f"{base}.{alias.name}")
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call):
            yield from _called(module, node, names)


def _ours(line: int, target: str) -> Iterator[Arrow]:
    if target == PACKAGE or target.startswith(f"{PACKAGE}."):
        yield Arrow(line, target)


def _resolve(module: str, name: str) -> str:
    """`..errors` seen from `lodestring.design.read` -> `lodestring.errors`."""
    if not name.startswith("."):
        return name
    level = len(name) - len(name.lstrip("."))
    base = module.split(".")[:-level]
    rest = name.lstrip(".")
    return ".".join([*base, rest] if rest else base)


LOADERS = ("importlib.import_module", "importlib.__import__", "__import__", "runpy.run_module")
DATA = ("importlib.resources.files", "importlib.resources.path", "pkgutil.get_data")  # these import the package named


def _called(module: str, call: ast.Call, names: dict[str, str]) -> Iterator[Arrow]:
    """Imports made by a call. A loader must be given a literal, or an f-string that begins with a whole room."""
    function = _dotted(call.func, names)
    if function not in LOADERS + DATA or not call.args:
        return
    name = _literal(module, call.args[0])
    if name == "?" and function in DATA:
        return  # files(__package__), files(some_module): the import itself is seen elsewhere
    if name == "?":
        yield Arrow(call.lineno, "?")
    else:
        yield from _ours(call.lineno, _resolve(module, name))


def _dotted(node: ast.expr, names: dict[str, str]) -> str:
    parts: list[str] = []
    while isinstance(node, ast.Attribute):
        parts.append(node.attr)
        node = node.value
    if not isinstance(node, ast.Name):
        return "?"
    return ".".join([names.get(node.id, node.id), *reversed(parts)])


def _literal(module: str, node: ast.expr) -> str:
    """A literal's text; of an f-string the part before its first value, if that names a room whole.

    An f-string that begins with `{__name__}.` stays inside the module's own package.
    """
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if not isinstance(node, ast.JoinedStr) or not node.values:
        return "?"
    first, rest = node.values[0], "".join(ast.unparse(part) for part in node.values[1:2])
    if isinstance(first, ast.Constant):
        start = str(first.value)
        return start.rstrip(".") if start.startswith(f"{PACKAGE}.") and start.count(".") >= 2 else "?"
    own = isinstance(first, ast.FormattedValue) and ast.unparse(first.value) in {"__name__", "__package__"}
    return module if own and _room(module) and rest.strip("'").startswith(".") else "?"
