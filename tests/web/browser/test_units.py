"""The maker's own units on the page: chosen there, said everywhere, what was typed left as it was."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from maker import SHOTS, Workbench, ready

from lodestring.assess.shown import shown
from lodestring.folder.open_set import assess_here

pytestmark = pytest.mark.needs("chromium")
KEY = "pickup.main.coil.main.outer_length"


def test_units_are_chosen_on_the_page_and_nothing_typed_is_rewritten(tab: Callable[..., Any], tmp_path: Any) -> None:
    bench = Workbench(tmp_path)
    try:
        path = bench.new("wren", "wren")
        before = path.read_bytes()
        page = tab("/set/wren", bench=bench)
        ready(page)
        page.evaluate("document.querySelector('form.units').closest('details')?.setAttribute('open', '')")
        page.select_option("form.units [name=length]", "inch fractions")
        page.click("form.units button")
        page.wait_for_load_state()
        ready(page)
        made = assess_here(path)
        told = shown(made.facts[KEY], made.units)
        assert told.unit == "in"
        page.wait_for_selector(f'a[href$="/why/{KEY}"]', state="attached")
        row = page.locator(f'tr:has(a[href$="/why/{KEY}"])').first.text_content()
        assert told.value in row
        assert "in" in row
        assert path.read_bytes() == before, "the set file is as it was typed"
        field = page.locator('[name="instrument.scale"]').first
        assert field.input_value() == "584 mm"
        assert "≈ 22 63/64 in" in page.text_content("body") or "22.99" in page.text_content("body")
        page.screenshot(path=SHOTS / "units.png", full_page=True)
    finally:
        bench.end()
