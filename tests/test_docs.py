"""The documentation says what the code does: generated pages are up to date."""

from __future__ import annotations

from pathlib import Path

import pytest

import generate_docs

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
