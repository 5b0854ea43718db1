"""Every page in the browser: in three sizes and two lights, by the accessibility rules, on paper, by weight."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from maker import DESK, MIDDLE, PHONE, SHOTS, Workbench, ready

pytestmark = pytest.mark.needs("chromium")

SIZES = {"desk": DESK, "middle": MIDDLE, "phone": PHONE}
PAGES = ("/", "/new", "/set/shown", "/set/shown/text", "/set/shown/why/pickup.bridge.coil.main.inductance", "/set/none")
Tab = Callable[..., Any]


@pytest.fixture(scope="module", autouse=True)
def _shown(workbench: Workbench) -> None:
    workbench.new("shown")


def settled(page: Any, path: str) -> None:
    if path == "/set/shown":
        ready(page)
        page.wait_for_selector(".paper svg")
    elif path == "/":
        page.wait_for_selector(".thumb svg")


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("path", PAGES)
def test_the_accessibility_rules_find_nothing(tab: Tab, path: str, dark: bool) -> None:
    # axe-core checks what of WCAG 2 A and AA a program can, such as 4.5:1 of text to its ground (criterion 1.4.3).
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page = tab(path, DESK, dark)
    settled(page, path)
    found = axe.run(page).response["violations"]
    told = [f"{v['id']}: {n['target']} {n['failureSummary'][:200]}" for v in found for n in v["nodes"][:3]]
    assert not told, "\n".join(told)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_no_page_is_wider_than_its_window(tab: Tab, size: str, dark: bool) -> None:
    page = tab("/", SIZES[size], dark)
    SHOTS.mkdir(parents=True, exist_ok=True)
    for path in PAGES[:5]:
        page.goto(page.url.partition("//")[0] + "//" + page.url.split("/")[2] + path)
        settled(page, path)
        beyond = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        name = path.strip("/").replace("/", "-").partition("-pickup")[0] or "shelf"
        page.screenshot(path=SHOTS / f"{name}-{size}-{'dark' if dark else 'light'}.png", full_page=size == "phone")
        assert beyond <= 0, f"{path} is {beyond} px too wide"


def test_in_the_dark_the_drawing_is_light_on_dark(tab: Tab) -> None:
    page = tab("/set/shown", dark=True)
    page.wait_for_selector(".paper svg .pic-dimension", state="attached")
    light = "e => { const c = getComputedStyle(e)[%r].match(/[\\d.]+/g).map(Number); return (c[0] + c[1] + c[2]) / 3; }"
    assert page.eval_on_selector("html", light % "backgroundColor") < 60
    assert page.eval_on_selector(".paper svg text", light % "fill") > 150
    assert page.eval_on_selector(".paper svg .pic-outline, .paper svg .pic-plate", light % "stroke") > 120


def test_on_paper_there_is_nothing_to_press_and_every_pickup_is_there(tab: Tab) -> None:
    page = tab("/set/shown", dark=True)
    ready(page)
    page.emulate_media(media="print")
    assert page.locator("button:visible, .menu:visible, .places:visible").count() == 0
    assert page.locator("[id='part-figures.pickup.neck.coil.main']").is_visible()
    assert page.locator("[id='part-figures.pickup.bridge.coil.main']").is_visible()
    assert page.eval_on_selector("html", "e => getComputedStyle(e).backgroundColor") == "rgb(255, 255, 255)"
    pdf = page.pdf(path=SHOTS / "set-shown-print.pdf")
    assert pdf.startswith(b"%PDF-")


def test_the_page_weighs_less_than_150_kilobytes(tab: Tab) -> None:
    # Issue 5, "Speed". Document, style sheets and scripts as they are sent; pictures are asked for one by one.
    page = tab("/set/shown")
    sizes = page.evaluate(
        "[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]"
        ".filter(e => e.initiatorType != 'fetch' && e.initiatorType != 'img').map(e => [e.name, e.encodedBodySize])"
    )
    assert sum(size for _, size in sizes) < 150_000, sizes


def test_a_plot_is_read_with_the_keyboard(tab: Tab) -> None:
    page = tab("/set/shown")
    ready(page)
    plot = page.locator("[id='part-picture.response'] .picture")
    plot.scroll_into_view_if_needed()
    plot.locator("svg").wait_for()
    plot.focus()
    plot.press("Home")
    plot.locator(".reading").wait_for()
    assert "20.0 Hz" in plot.locator(".reading").inner_text()  # the axis begins at 20 Hz
    plot.press("End")
    page.wait_for_selector(".reading b:text('20.0 kHz')")
    assert "bridge" in page.locator("#live").inner_text()
    plot.press("Escape")
    assert plot.locator(".reading").count() == 0
