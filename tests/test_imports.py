"""Imports run one way, floor by floor (tools/import_arrows.py holds the map)."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import import_arrows

SOURCE = Path(__file__).resolve().parent.parent / "src" / "lodestring"
FILES = sorted(SOURCE.rglob("*.py"))
# Modules that exist on Linux only, or on no Windows: the core is written for all three (architecture).
POSIX_ONLY = {"fcntl", "grp", "posix", "pty", "pwd", "resource", "syslog", "termios", "tty"}


def module_name(path: Path) -> str:
    return ".".join(path.relative_to(SOURCE.parent).with_suffix("").parts)


# id: (module, source text, what the complaint must contain; empty = the arrow may stand)
CASES = {
    "lower floor": ("lodestring.layout.hull", "from lodestring.design.records import Coil", ""),
    "own room": ("lodestring.layout.hull", "from lodestring.layout import strings", ""),
    "own room, relative": ("lodestring.layout.hull", "from . import strings", ""),
    "own room, from its init": ("lodestring.layout.__init__", "from .strings import line", ""),
    "errors from anywhere": ("lodestring.quantity.parse", "from lodestring.errors import QuantityError", ""),
    "reference reads quantity": ("lodestring.reference.wire", "from lodestring.quantity import parse", ""),
    "version": ("lodestring.assess.json", "from lodestring.version import __version__", ""),
    "root reads version": ("lodestring.__init__", "from lodestring.version import __version__", ""),
    "main reads cli": ("lodestring.__main__", "from lodestring.cli.main import main", ""),
    "folder joins floor 4": ("lodestring.folder.a", "import lodestring.making.plan, lodestring.book.fold", ""),
    "other libraries": ("lodestring.physics.coil", "import numpy as np\nfrom scipy import special", ""),
    "lookalike library": ("lodestring.physics.coil", "import lodestring_extras", ""),
    "lazy command by prefix": (
        "lodestring.cli.main",
        "import importlib\nimportlib.import_module(f'lodestring.cli.{name}')",
        "",
    ),
    "lazy face of a room": (
        "lodestring.reference.__init__",
        "from importlib import import_module\nimport_module(f'{__name__}.{home}')",
        "",
    ),
    "lazy face of the package root": (
        "lodestring.__init__",
        "from importlib import import_module\nimport_module(f'{__name__}.{home}')",
        "literal",
    ),
    "climbs": ("lodestring.layout.hull", "from lodestring.assess.model import Model", "climbs from floor 2 to floor 3"),
    "climbs, plain import": ("lodestring.design.read", "import lodestring.folder.save", "climbs from floor 1"),
    "climbs, renamed": ("lodestring.design.read", "import lodestring.folder.save as s", "climbs from floor 1"),
    "climbs, star": ("lodestring.design.read", "from lodestring.layout import *", "climbs from floor 1"),
    "climbs, second of a line": ("lodestring.design.read", "import os, lodestring.paper.sheet", "climbs from floor 1"),
    "deferred in a function": (
        "lodestring.assess.model",
        "def f():\n    from lodestring.making import plan\n    return plan",
        "climbs from floor 3",
    ),
    "deferred in a method": (
        "lodestring.assess.model",
        "class A:\n    def f(self):\n        import lodestring.cli.main",
        "line 3: imports lodestring.cli.main",
    ),
    "for type checking only": (
        "lodestring.design.read",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from lodestring.assess.model import Model",
        "climbs",
    ),
    "in a try": (
        "lodestring.quantity.parse",
        "try:\n    import lodestring.design.records\nexcept ImportError:\n    pass",
        "climbs",
    ),
    "relative climbs": ("lodestring.layout.hull", "from ..assess.model import Model", "climbs from floor 2"),
    "relative climbs, bare": ("lodestring.layout.hull", "from .. import assess", "package root"),
    "relative from an init": ("lodestring.layout.__init__", "from ..assess import model", "climbs from floor 2"),
    "relative, deeper": ("lodestring.layout.a.b", "from ...folder import save", "climbs from floor 2"),
    "import_module": (
        "lodestring.design.read",
        "import importlib\ndef f():\n    importlib.import_module('lodestring.layout.hull')",
        "climbs",
    ),
    "import_module, renamed": (
        "lodestring.design.read",
        "from importlib import import_module as load\nload('lodestring.layout.hull')",
        "climbs",
    ),
    "import_module, relative": (
        "lodestring.design.read",
        "import importlib as i\ni.import_module('..layout.hull', __package__)",
        "climbs",
    ),
    "import_module, unreadable": ("lodestring.design.read", "import importlib\nimportlib.import_module(x)", "literal"),
    "import_module, half a room": (
        "lodestring.design.read",
        "import importlib\nimportlib.import_module(f'lodestring.{room}')",
        "literal",
    ),
    "__import__": ("lodestring.design.read", "__import__('lodestring.layout.hull')", "climbs"),
    "data of a higher room": (
        "lodestring.design.read",
        "from importlib import resources\nresources.files('lodestring.paper')",
        "climbs",
    ),
    "quantity looks back": ("lodestring.quantity.gauge", "from lodestring.reference import wire", "across floor 0"),
    "errors imports nothing": ("lodestring.errors", "from lodestring.version import __version__", "across floor 0"),
    "across floor 2": ("lodestring.physics.coil", "from lodestring.layout.hull import Obround", "across floor 2"),
    "across floor 4": ("lodestring.making.plan", "import lodestring.book.fold", "across floor 4"),
    "across floor 8": ("lodestring.web.app", "from lodestring.cli.main import main", "across floor 8"),
    "physics knows a record": ("lodestring.physics.coil", "from lodestring.design.coil import Wire", "must not know"),
    "rim reads folder": ("lodestring.cli.assess", "from lodestring.folder.assess import assess_here", ""),
    "rim reads records": ("lodestring.cli.assess", "from lodestring.assess.records import Fact", ""),
    "rim reads records, by module": ("lodestring.cli.assess", "from lodestring.assess import records", ""),
    "rim models": ("lodestring.cli.assess", "from lodestring.assess.model import Model", "translates only"),
    "rim models, by name": ("lodestring.cli.assess", "from lodestring.assess import Model", "translates only"),
    "rim does physics": ("lodestring.web.app", "import lodestring.physics.coil", "translates only"),
    "package root": ("lodestring.cli.main", "import lodestring", "no module imports the package root"),
    "a room through the package root": ("lodestring.folder.a", "from lodestring import making", "package root"),
    "package root, name": ("lodestring.cli.main", "from lodestring import __version__", "package root"),
    "root imports a room": ("lodestring.__init__", "from lodestring.design import read", "its version only"),
    "unknown room": ("lodestring.attic.old", "from lodestring.errors import LodestringError", "has no floor"),
    "to an unknown room": ("lodestring.cli.main", "from lodestring.attic import old", "has no floor"),
}


@pytest.mark.parametrize(("module", "text", "complaint"), CASES.values(), ids=CASES.keys())
def test_the_checker_catches_planted_arrows_and_lets_good_ones_stand(module: str, text: str, complaint: str) -> None:
    found = import_arrows.problems(module, text)
    if complaint:
        assert len(found) == 1, found
        assert complaint in found[0]
    else:
        assert found == []


def test_no_import_climbs_or_crosses() -> None:
    assert len(FILES) > 5, f"no source read under {SOURCE}"
    found = [p for path in FILES for p in import_arrows.problems(module_name(path), path.read_text(encoding="utf-8"))]
    assert not found, "\n".join(found)


def test_every_room_has_a_floor_and_says_what_it_is_for() -> None:
    rooms = {p.name for p in SOURCE.iterdir() if p.is_dir() and any(p.rglob("*.py"))}
    assert rooms, f"no rooms under {SOURCE}"
    for room in sorted(rooms):
        assert room in import_arrows.FLOORS, f"{room}: give it a floor in tools/import_arrows.py"
        init = SOURCE / room / "__init__.py"
        assert init.is_file(), f"{room}: needs an __init__.py"
        assert ast.get_docstring(ast.parse(init.read_text(encoding="utf-8"))), f"{room}/__init__.py: needs a docstring"


def test_the_core_imports_nothing_that_only_posix_has() -> None:
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not POSIX_ONLY & set(names), f"{path.name}, line {getattr(node, 'lineno', 0)}: {names}"
