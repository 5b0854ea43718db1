"""The drawing board as a maker uses it. What the page shows must be what `assess` says of the file on disk."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from maker import PATIENCE, PHONE, Workbench, ready

from lodestring.assess.report import Assessment
from lodestring.assess.shown import shown
from lodestring.folder.open_set import assess_here

pytestmark = pytest.mark.needs("chromium")

COIL = "pickup.main.coil.main"
"""Of wren, which is worked out the soonest."""
BRIDGE = "pickup.bridge.coil.main"
"""Of heron."""
TURNS = f'[name="{COIL}.turns"]'
Tab = Callable[..., Any]


def cell(page: Any, key: str) -> Any:
    """The row or cell of a figure."""
    return page.locator(f'tr:has(> th a[href$="/why/{key}"]), td:has(> a[href$="/why/{key}"])').first


def says(page: Any, assessment: Assessment, key: str) -> None:
    """The page says of a figure what the command line says."""
    figure = shown(assessment.facts[key])
    page.wait_for_selector(f'a[href$="/why/{key}"]', state="attached")
    page.locator(f'tr:has(a[href$="/why/{key}"]) data').first.wait_for(state="attached")
    words = cell(page, key).text_content()
    for said in (figure.value, figure.unit, figure.interval):
        assert said in words, f"{key}: {words!r} does not say {said!r}"


def set_turns(page: Any, typed: str, coil: str = COIL) -> None:
    page.fill(f'[name="{coil}.turns"]', typed)
    page.press(f'[name="{coil}.turns"]', "Enter")


def on_disk(path: Path, text: str) -> bool:
    return text in path.read_text(encoding="utf-8")


def saved(page: Any, path: Path, text: str) -> None:
    """Wait until the file holds a text."""
    for _ in range(PATIENCE // 25):
        if on_disk(path, text):
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"{text!r} never came into {path.name}")


def test_a_change_repaints_what_depends_on_it_and_each_figure_is_that_of_the_file(
    workbench: Workbench, tab: Tab
) -> None:
    path = workbench.new("repaint")
    page = tab("/set/repaint")
    ready(page)
    untouched = page.locator("[id='part-fields.harness']").element_handle()
    set_turns(page, "7000", BRIDGE)
    saved(page, path, "turns = 7000")
    ready(page)
    after = assess_here(path)
    for key in (
        f"{BRIDGE}.turns",
        f"{BRIDGE}.dc_resistance",
        f"{BRIDGE}.coil_depth_side",
        f"{BRIDGE}.inductance",
        "position.bridge.peak_frequency",
        "pickup.bridge.string.1.balance",
    ):
        says(page, after, key)
    assert untouched.evaluate("e => e.isConnected"), "a group that did not change was painted again"
    assert page.evaluate("document.activeElement.name") == f"{BRIDGE}.turns"


def test_an_old_figure_never_stands_as_current(workbench: Workbench, tab: Tab) -> None:
    workbench.new("stale", "wren")
    page = tab("/set/stale")
    ready(page)
    seen = page.evaluate(
        """async ([name, group]) => {
          const part = () => document.getElementById(group);
          const value = () => part().querySelector("data").textContent;
          const before = value(), out = [];
          const field = document.querySelector(`[name="${name}"]`);
          field.value = "6100"; field.dispatchEvent(new Event("change", {bubbles: true}));
          for (let i = 0; i < 4000 && value() === before; i++) {
            const coil = document.getElementById("part-figures.pickup.main.coil.main");
            out.push([coil.querySelector("data").textContent, part().dataset.state]);
            await new Promise(r => setTimeout(r, 5));
          }
          return out;
        }""",
        [f"{COIL}.turns", f"part-figures.{COIL}.magnetic"],
    )
    new = [state for turns, state in seen if "100" in turns]
    assert set(new) <= {"working"}, "the old inductance stood beside the new turns as if it were current"


def test_typing_fast_the_last_value_stands(workbench: Workbench, tab: Tab) -> None:
    path = workbench.new("fast", "wren")
    page = tab("/set/fast")
    for turns in range(6000, 6800, 100):
        set_turns(page, str(turns))
    saved(page, path, "turns = 6700")
    ready(page)
    page.wait_for_timeout(200)
    assert on_disk(path, "turns = 6700")
    for key in (f"{COIL}.turns", f"{COIL}.inductance"):
        says(page, assess_here(path), key)


def test_arrow_keys_turn_a_value(workbench: Workbench, tab: Tab) -> None:
    path = workbench.new("turned", "wren")
    page = tab("/set/turned")
    page.press(TURNS, "ArrowDown")
    page.press(TURNS, "ArrowDown")
    page.press(TURNS, "Shift+ArrowUp")
    saved(page, path, "turns = 8410")
    assert page.input_value(TURNS) == "8410"


@pytest.mark.parametrize("typed", ["78oo", "-5"])
def test_what_cannot_be_taken_is_told_at_the_field_and_nothing_is_written(
    workbench: Workbench, tab: Tab, typed: str
) -> None:
    path = workbench.new("refused", "wren")
    before = path.read_bytes()
    page = tab("/set/refused")
    set_turns(page, typed)
    page.wait_for_selector(f"{TURNS}[aria-invalid]")
    told = page.locator(f"[id='p-{COIL}.turns']")
    assert len(told.inner_text()) > 30
    assert page.input_value(TURNS) == typed, "what was typed is gone"
    assert path.read_bytes() == before
    set_turns(page, "7100")
    saved(page, path, "turns = 7100")
    page.wait_for_selector(f"{TURNS}[aria-invalid]", state="detached")


def test_undo_reaches_back_over_a_restart(tmp_path: Path, tab: Tab, workbench: Workbench) -> None:
    bench = Workbench(tmp_path)
    path = bench.new("again", "wren")
    original = path.read_bytes()
    try:
        page = tab("/set/again", bench=bench)
        set_turns(page, "7300")
        saved(page, path, "turns = 7300")
        bench.end()
        bench.start()
        page = tab("/set/again", bench=bench)
        assert page.input_value(TURNS) == "7300"
        page.get_by_role("button", name="Undo").click()
        page.wait_for_selector('[data-step="undo"] button:disabled')
        assert path.read_bytes() == original
        assert page.input_value(TURNS) == "8600"
        page.locator("body").press("Control+Shift+z")
        saved(page, path, "turns = 7300")
    finally:
        bench.end()


def test_a_kept_state_stands_beside_every_figure_and_under_every_curve(workbench: Workbench, tab: Tab) -> None:
    path = workbench.new("kept", "wren")
    page = tab("/set/kept")
    page.click("#menu-keep > summary")
    page.fill('[name="label"]', "as measured")
    page.click("text=Keep to compare")
    page.wait_for_url("**compare=*")
    set_turns(page, "7000")
    saved(page, path, "turns = 7000")
    ready(page)
    assert "\u22121600" in cell(page, f"{COIL}.turns").text_content().replace("\u202f", "")
    assert "\u2212" in cell(page, f"{COIL}.dc_resistance").text_content()
    plot = page.locator("[id='part-picture.response'] .picture")
    plot.scroll_into_view_if_needed()
    plot.locator(".pic-series-kept").first.wait_for(state="attached")
    page.click("#menu-keep > summary")
    page.click("text=Stop comparing")
    page.wait_for_url("**/set/kept")
    assert page.locator(".difference").count() == 0


def test_a_figure_opens_its_reason_and_gives_the_focus_back(workbench: Workbench, tab: Tab) -> None:
    workbench.new("why", "wren")
    page = tab("/set/why")
    ready(page)
    link = page.locator(f'a[href$="/why/{COIL}.dc_resistance"]')
    link.focus()
    link.press("Enter")
    page.wait_for_selector("#why .moved tbody tr")
    words = page.locator("#why").inner_text()
    for part in ("How it is found", "What moves it most", "To narrow it", "Sources"):
        assert part in words
    page.keyboard.press("Escape")
    page.wait_for_selector("#why", state="hidden")
    assert page.evaluate("document.activeElement.getAttribute('href')").endswith("dc_resistance")


def test_a_finding_is_cured_by_its_button(workbench: Workbench, tab: Tab) -> None:
    path = workbench.new("cure")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('wound = "anticlockwise"', 'wound = "clockwise"'), encoding="utf-8")
    page = tab("/set/cure")
    ready(page)
    button = page.locator(".finding button").first
    assert "Do it" in button.inner_text()
    button.click()
    saved(page, path, 'hot = "start"')
    ready(page)
    assert page.locator(".finding-blocker").count() == 0


def test_a_note_and_a_measurement_lead_to_their_value(workbench: Workbench, tab: Tab) -> None:
    workbench.new("leads")
    page = tab("/set/leads")
    ready(page)
    assert page.locator("#measure-first li").count() == 3
    page.click(f'.finding [data-go="{BRIDGE}.turns"]')
    assert page.evaluate("document.activeElement.name") == f"{BRIDGE}.turns"
    page.locator(".finding [data-go^='pickup.neck']").first.click()
    assert page.is_checked("#which-2")
    assert page.evaluate("document.activeElement.name").startswith("pickup.neck")


def test_a_part_is_added_and_taken_out_again(workbench: Workbench, tab: Tab) -> None:
    path = workbench.new("parts", "wren")
    page = tab("/set/parts")
    page.locator("[id='part-fields.pickup.main'] summary").first.click()
    page.click("button[value='pickup.main.cover']")
    page.wait_for_selector("[id='part-fields.pickup.main.cover']")
    assert on_disk(path, "[pickup.main.cover]") or on_disk(path, "cover")
    page.get_by_role("button", name="Undo").click()
    page.wait_for_selector("[id='part-fields.pickup.main.cover']", state="detached")


def test_without_script_everything_goes_by_forms(workbench: Workbench, tab: Tab) -> None:
    path = workbench.new("plain", "wren")
    page = tab("/set/plain", script=False)
    page.fill(TURNS, "7200")
    page.locator("button:has-text('Set what I typed')").click()
    assert on_disk(path, "turns = 7200")
    assert path.read_text(encoding="utf-8").count("# assumed") == workbench.new("plain-2", "wren").read_text(
        encoding="utf-8"
    ).count("# assumed")
    assert page.input_value(TURNS) == "7200"
    page.get_by_role("button", name="Undo").click()
    assert on_disk(path, "turns = 8600")
    page.fill(TURNS, "no")
    page.locator("button:has-text('Set what I typed')").click()
    assert page.locator(".notice-problem").count() >= 1


def test_another_tab_follows_and_a_field_typed_into_is_not_lost(workbench: Workbench, tab: Tab) -> None:
    path = workbench.new("tabs", "wren")
    one = tab("/set/tabs")
    two = tab("/set/tabs", beside=one)
    two.locator(TURNS).press_sequentially("9")  # begun, not yet entered
    typed = two.input_value(TURNS)
    set_turns(one, "7400")
    saved(one, path, "turns = 7400")
    two.wait_for_selector(".notice-word")
    assert two.input_value(TURNS) == typed
    two.fill(TURNS, "7500")
    two.press(TURNS, "Enter")
    two.wait_for_selector("#conflict[open]")
    assert "7500" in two.locator("[data-mine] .differs").first.inner_text()
    assert "7400" in two.locator("[data-theirs] .differs").first.inner_text()
    assert on_disk(path, "turns = 7400"), "one change was written over before the maker chose"
    two.click("text=Write mine")
    saved(two, path, "turns = 7500")


def test_what_an_editor_saves_is_shown_and_not_written_over(workbench: Workbench, tab: Tab) -> None:
    path = workbench.new("editor", "wren")
    page = tab("/set/editor", PHONE)
    ready(page)
    path.write_text(path.read_text(encoding="utf-8").replace("turns = 8600", "turns = 7050"), encoding="utf-8")
    set_turns(page, "7900")
    page.wait_for_selector("#conflict[open]")
    page.click("text=Keep what is on disk")
    page.wait_for_selector("#conflict", state="hidden")
    page.wait_for_selector(f'{TURNS}[value="7050"]', state="attached")
    assert on_disk(path, "turns = 7050")


def test_when_the_server_is_gone_the_page_says_so_and_keeps_what_was_typed(tmp_path: Path, tab: Tab) -> None:
    bench = Workbench(tmp_path)
    bench.new("gone", "wren")
    page = tab("/set/gone", bench=bench)
    page.wait_for_selector(".paper svg")
    bench.end(signal.SIGKILL)
    set_turns(page, "7350")
    page.wait_for_selector("text=does not answer")
    assert page.input_value(TURNS) == "7350"
    assert os.path.exists(bench.folder / "gone.toml")


def test_work_that_takes_long_shows_and_can_be_cancelled(workbench: Workbench, tab: Tab) -> None:
    workbench.new("long", "plover")
    page = tab("/set/long")
    # a scale that no other test has: every pole piece moves, so nothing of it is kept from before
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    page.fill('[name="instrument.scale"]', "568.37 mm")
    page.press('[name="instrument.scale"]', "Enter")
    page.wait_for_selector("body:not([data-sending])")
    page.wait_for_selector("#work:visible")
    page.click("#work button")
    page.wait_for_selector("[data-state=cancelled]", state="attached")
    page.wait_for_selector("#work", state="hidden")
    page.locator("[data-state=cancelled] a").first.click()
    ready(page)
