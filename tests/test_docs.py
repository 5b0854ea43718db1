"""The documentation says what the code does: generated pages are up to date, pieces of set files work."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import get_args

import pytest
from click.testing import CliRunner

import generate_docs
from lodestring.assess.keys_set import POSITION
from lodestring.cli.main import main
from lodestring.design.vocabulary import Circuit, Taper
from lodestring.folder.examples import example_text

DOCS = Path(__file__).resolve().parent.parent / "docs"


@pytest.mark.parametrize("name", generate_docs.PAGES)
def test_a_generated_page_is_what_the_code_would_make_now(name: str) -> None:
    root = DOCS.parent
    assert generate_docs.behind({name: generate_docs.PAGES[name]}, root) == {}, "run: make docs-pages"


def test_a_page_that_has_fallen_behind_is_seen_and_written_once(tmp_path: Path) -> None:
    pages = {"page.md": lambda: "# One\n"}
    (tmp_path / "page.md").write_text("# Zero\n", encoding="utf-8")
    assert "-# Zero" in generate_docs.behind(pages, tmp_path)["page.md"]
    assert generate_docs.write(pages, tmp_path) == ["page.md"]
    assert generate_docs.behind(pages, tmp_path) == {}
    assert generate_docs.write(pages, tmp_path) == []


# ---- pieces of set files on written pages ----

SNIPPET = re.compile(r"<!-- tried in (\w[\w-]*) -->\n```toml\n(.*?)```", re.DOTALL)
HARNESS = (DOCS / "harness.md").read_text(encoding="utf-8")
SNIPPETS = SNIPPET.findall(HARNESS)


@pytest.mark.usefixtures("shared_store")
@pytest.mark.parametrize(("name", "lines"), SNIPPETS, ids=[f"{i}-{name}" for i, (name, _) in enumerate(SNIPPETS, 1)])
def test_a_piece_of_the_harness_page_works_in_the_example_it_names(name: str, lines: str, tmp_path: Path) -> None:
    text = example_text(name)
    path = tmp_path / "set.toml"
    path.write_text(text[: text.index("[harness]")] + lines, encoding="utf-8")
    result = CliRunner().invoke(main, ["assess", str(path), "--only", "position"])
    assert result.exit_code == 0, result.output
    facts = json.loads(result.stdout)["facts"]
    written = re.findall(r'\{ name = "([^"]+)"', lines)
    seen = list(dict.fromkeys(key.split(".")[1] for key in facts))
    assert seen == (written or seen)
    assert all(f"position.{position}.peak_frequency" in facts for position in seen)


def test_every_piece_of_the_harness_page_is_tried_and_every_circuit_shown() -> None:
    assert HARNESS.count("```toml") == len(SNIPPETS)
    for circuit in get_args(Circuit):
        assert f'| `"{circuit}"` |' in HARNESS
    for taper in get_args(Taper):
        assert f"`{taper}`" in HARNESS
    for key in POSITION:
        assert f"`{key.name}`" in HARNESS
