"""The bench page in a real browser: nothing that was pressed is lost, whatever happens to server, network and page."""

from __future__ import annotations

import os
import random
import signal
import time
from collections.abc import Callable
from typing import Any

import pytest
from maker import DESK, MIDDLE, PATIENCE, PHONE, SHOTS, Workbench

from lodestring.book.fold import fold_coil
from lodestring.folder.workshop_book import read_book

pytestmark = pytest.mark.needs("chromium")
Tab = Callable[..., Any]
AFAR = (1920, 1080)


@pytest.fixture
def own(tmp_path: Any) -> Any:
    """A server of its own, for tests that stop it."""
    made = Workbench(tmp_path)
    made.new("wren", "wren")
    yield made
    if made.process.poll() is None:
        made.process.send_signal(signal.SIGCONT)
        made.end()


def begin(tab: Tab, bench: Workbench, serial: str, **how: Any) -> Any:
    """A coil that was just begun, its page open."""
    page = tab("/bench", bench=bench, **how)
    page.fill("form.begin [name=serial]", serial)
    page.select_option("#which", index=0)
    page.click("form.begin button.main")
    page.wait_for_selector("body.scripted-page" if how.get("script", True) else "#number")
    return page


def number(page: Any) -> int:
    text = page.text_content("#number").replace("\u202f", "").replace("\u2212", "-")
    return int(text)


def settled(page: Any, waiting: int = 0) -> None:
    page.wait_for_selector(f'body[data-waiting="{waiting}"]', timeout=PATIENCE)


def turns_in(bench: Workbench, serial: str) -> int:
    with read_book(bench.folder) as book:
        return fold_coil(book.events(coil=serial), serial).turns


def press(page: Any, times: int, key: str = "Space") -> None:
    for _ in range(times):
        page.keyboard.press(key)


def test_keys_tap_and_pedal_count_and_the_book_has_it(tab: Tab, own: Workbench) -> None:
    page = begin(tab, own, "w1")
    each = page.evaluate("JSON.parse(document.getElementById('coil').textContent).press")
    for key in ("Space", "Enter", "ArrowRight", "ArrowUp", "PageDown"):
        press(page, 1, key)
    press(page, 2, "ArrowLeft")
    page.click("#press")
    assert number(page) == 4 * each, "shown at once"
    page.click("summary:has-text('This device')")
    page.click("#learn")
    press(page, 1, "F7")
    press(page, 3, "F7")
    settled(page)
    assert number(page) == turns_in(own, "w1") == 7 * each


def test_a_frozen_server_loses_nothing_and_says_so(tab: Tab, own: Workbench) -> None:
    page = begin(tab, own, "w1")
    press(page, 3)
    settled(page)
    own.process.send_signal(signal.SIGSTOP)
    press(page, 40)
    assert number(page) == 43
    page.wait_for_selector("body[data-away]", timeout=PATIENCE)
    assert "40 entries are kept here" in page.text_content("#link")
    own.process.send_signal(signal.SIGCONT)
    settled(page)
    page.wait_for_selector("body:not([data-away])")
    assert number(page) == turns_in(own, "w1") == 43


def test_a_killed_server_gets_everything_when_it_is_opened_again(tab: Tab, own: Workbench) -> None:
    page = begin(tab, own, "w1")
    press(page, 5)
    settled(page)
    own.end(signal.SIGKILL)
    press(page, 20)
    page.wait_for_selector("body[data-away]", timeout=PATIENCE)
    own.start()
    press(page, 2)
    page.wait_for_selector("#link:has-text('started anew')", timeout=PATIENCE)
    assert number(page) == 27, "the old page still counts"
    page.goto(own.enter)  # the port is kept, so the browser's storage is the same
    page.goto(f"{own.at}/bench/w1")
    settled(page)
    assert number(page) == turns_in(own, "w1") == 27


def test_wifi_away_for_a_while_and_a_reading_typed_meanwhile(tab: Tab, own: Workbench) -> None:
    page = begin(tab, own, "w1")
    press(page, 10)
    settled(page)
    page.context.set_offline(True)
    press(page, 5)
    page.wait_for_selector("body[data-away]", timeout=PATIENCE)
    page.on("dialog", lambda dialog: dialog.accept())
    page.fill("#reading", "500")
    page.press("#reading", "Enter")
    assert number(page) == 500
    press(page, 7)
    assert number(page) == 507
    page.context.set_offline(False)
    settled(page)
    assert number(page) == turns_in(own, "w1") == 507


def test_a_page_loaded_again_with_presses_on_their_way(tab: Tab, own: Workbench) -> None:
    page = begin(tab, own, "w1")
    page.route("**/events", lambda route: route.abort())
    press(page, 9)
    page.wait_for_timeout(200)
    page.unroute("**/events")
    page.reload()
    settled(page)
    assert number(page) == turns_in(own, "w1") == 9


def test_the_same_answer_lost_five_times_counts_once(tab: Tab, own: Workbench) -> None:
    page = begin(tab, own, "w1")
    lost: list[int] = []

    def lose(route: Any) -> None:
        if len(lost) < 5:
            route.fetch()  # the server has it, the page never hears
            lost.append(1)
            route.abort()
        else:
            route.continue_()

    page.route("**/events", lose)
    press(page, 1)
    settled(page)
    assert len(lost) == 5
    assert number(page) == turns_in(own, "w1") == 1


def test_two_pages_one_holds_the_counter_and_the_others_turns_wait_for_a_person(tab: Tab, own: Workbench) -> None:
    one = begin(tab, own, "w1")
    press(one, 4)
    settled(one)
    two = tab("/bench/w1", bench=own, beside=one)
    two.wait_for_selector("#take:not([hidden])")
    press(two, 3)
    settled(two)
    assert number(two) == 4
    assert "stand apart" in two.text_content("#apart")
    one.wait_for_selector("text=Count the 3")
    one.click("text=Count the 3")
    one.wait_for_selector("#number:text-is('7')")
    two.click("#take")
    press(two, 1)
    settled(two)
    assert turns_in(own, "w1") == 8


def test_a_fast_sensor_that_types_two_thousand_turns_a_minute_is_kept_whole(tab: Tab, own: Workbench) -> None:
    page = begin(tab, own, "w1")
    page.evaluate(
        """async () => {
          const key = (name) => dispatchEvent(new KeyboardEvent("keydown", {key: name, bubbles: true}));
          for (let total = 100; total <= 400; total += 1) {
            if (total % 7 !== 3) for (const name of [...`n ${total} a7f3`, "Enter"]) key(name);
            await new Promise((r) => setTimeout(r, 30));
          }
        }"""
    )
    page.wait_for_timeout(400)
    settled(page)
    assert number(page) == turns_in(own, "w1") == 300, "from the first total on, lines lost on the way included"


def test_without_script_a_coil_is_counted_by_forms(tab: Tab, own: Workbench) -> None:
    page = begin(tab, own, "w1", script=False)
    page.click("#press")
    page.click("#press")
    page.click("#less")
    assert number(page) == 1
    page.fill("#reading", "2500")
    page.click("#typed button")
    assert number(page) == turns_in(own, "w1") == 2500


def test_a_snap_past_two_thirds_spliced_and_gone_on_with(tab: Tab, own: Workbench) -> None:
    page = begin(tab, own, "w1")
    page.fill("#reading", "6000")
    page.press("#reading", "Enter")
    settled(page)
    page.click("text=The wire snapped")
    page.fill("[name=overrun]", "4")
    page.fill("[name=removed]", "16")
    page.click("text=What can I do now?")
    page.wait_for_selector(".ways-on")
    assert "resistance" in page.text_content(".ways-on")
    page.screenshot(path=SHOTS / "bench-snap.png", full_page=True)
    page.click("text=Splice it")
    page.wait_for_selector("body.scripted-page")
    assert number(page) == 5980
    assert "Spliced at turn" in page.text_content("#live")
    press(page, 1)
    settled(page)
    assert number(page) == turns_in(own, "w1") == 5981


def test_presses_go_on_while_the_server_is_killed_again_and_again(tab: Tab, own: Workbench) -> None:
    """20 kills in the long run: LODESTRING_SERVER_KILLS=20."""
    chance = random.Random(7)
    page = begin(tab, own, "w1")
    pressed = 0
    for _ in range(int(os.environ.get("LODESTRING_SERVER_KILLS", "3"))):
        for _ in range(chance.randint(5, 15)):
            press(page, 1)
            pressed += 1
            time.sleep(chance.uniform(0.0, 0.03))
        own.end(signal.SIGKILL)
        press(page, 3)
        pressed += 3
        own.start()
        page.goto(own.enter)
        page.goto(f"{own.at}/bench/w1")
        page.wait_for_selector("body.scripted-page")
    settled(page)
    assert number(page) == turns_in(own, "w1") == pressed


LOOKS = {
    "desk": (DESK, False),
    "middle-dark": (MIDDLE, True),
    "phone": (PHONE, False),
    "phone-dark": (PHONE, True),
    "afar": (AFAR, False),
}


@pytest.mark.parametrize(("size", "dark"), LOOKS.values(), ids=LOOKS)
def test_the_page_fits_its_window_and_the_number_can_be_read_from_afar(
    tab: Tab, own: Workbench, size: tuple[int, int], dark: bool, request: Any
) -> None:
    page = begin(tab, own, "w1", size=size, dark=dark)
    page.fill("#reading", "3900")
    page.press("#reading", "Enter")
    settled(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing is wider than the window"
    high = page.evaluate("document.getElementById('number').getBoundingClientRect().height")
    # A letter can be read at 200 times its height or so; on a phone 65 mm wide and a screen of 500 mm.
    assert high >= 0.11 * size[0]
    page.screenshot(path=SHOTS / f"bench-{request.node.callspec.id}.png", full_page=size == PHONE)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_nothing_stands_in_the_way_of_a_screen_reader(tab: Tab, own: Workbench, dark: bool) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = begin(tab, own, "w1", dark=dark)
    page.fill("#reading", "1000")
    page.press("#reading", "Enter")
    settled(page)
    for details in page.query_selector_all("details"):
        details.evaluate("d => { d.open = true; }")
    for path in ("", "/snap", "/lost"):
        if path:
            page.goto(f"{own.at}/bench/w1{path}")
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
    for path in ("/bench", "/bench/winder", "/devices"):
        page.goto(own.at + path)
        found = Axe().run(page)
        assert found.violations_count == 0, f"{path}: {found.generate_report()}"
