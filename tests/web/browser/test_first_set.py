"""From nothing to a coil that fits, as somebody does who has never made one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from maker import PHONE, Workbench, ready

from lodestring.folder.open_set import assess_here

pytestmark = pytest.mark.needs("chromium")
Tab = Callable[..., Any]

ANSWERS = {
    "scale": "25 1/2 in",
    "spacing": "52.5 mm",
    "place": "45 mm",
    "housing_length": "84 mm",
    "housing_width": "38 mm",
    "housing_depth": "22 mm",
}


def answer(page: Any, **more: str) -> None:
    for key, value in {**ANSWERS, **more}.items():
        page.fill(f'[name="{key}"]', value)


def test_five_questions_lead_to_a_coil_that_fits_a_template_and_a_sheet(workbench: Workbench, tab: Tab) -> None:
    page = tab("/new")
    page.fill('[name="title"]', "My own pickup")
    assert page.input_value('[name="name"]') == "my-own-pickup"
    page.select_option("#q-ready", "guitar-light")
    assert page.input_value('[name="strings"]').startswith("E4 0.010 in")
    answer(page)
    page.click("text=Draw the set")
    page.wait_for_url("**/set/my-own-pickup")
    ready(page)
    page.wait_for_selector(".paper svg")
    made = assess_here(workbench.folder / "my-own-pickup.toml")
    assert page.locator(".finding-blocker").count() == 0
    coil = next(k for k in made.facts if k.endswith(".clearance_housing_side"))
    assert made.number(coil) > 0
    assert page.locator(".field.assumed").count() > 5
    answered = page.request.get(page.url + "/template.pdf")
    assert answered.ok
    assert answered.body().startswith(b"%PDF-")


def test_one_new_beside_one_kept_begins_on_a_phone(workbench: Workbench, tab: Tab) -> None:
    page = tab("/new", PHONE)
    page.fill('[name="title"]', "beside")
    page.select_option("#q-ready", "guitar-light")
    answer(page)
    page.click("#kept summary")
    for key, value in {"kept_place": "160 mm", "kept_resistance": "6.4k"}.items():
        page.fill(f'[name="{key}"]', value)
    page.click("text=Draw the set")
    page.wait_for_url("**/set/beside")
    made = assess_here(workbench.folder / "beside.toml")
    assert set(made.model.inputs.design.pickup) == {"bridge", "neck"}
    assert page.locator("[id='part-fields.pickup.neck.measured']").count() == 1


def test_an_answer_that_cannot_be_is_told_where_it_stands_and_the_others_stay(tab: Tab) -> None:
    page = tab("/new")
    page.fill('[name="title"]', "wrong")
    page.select_option("#q-ready", "guitar-light")
    answer(page, scale="6 mm")
    page.click("text=Draw the set")
    page.wait_for_selector('[name="scale"][aria-invalid="true"]')
    assert "between" in page.locator("#p-scale").inner_text()
    assert page.evaluate("document.activeElement.name") == "scale"
    assert page.input_value('[name="housing_depth"]') == "22 mm"


def test_the_shelf_copies_renames_and_bins(workbench: Workbench, tab: Tab) -> None:
    workbench.new("lying")
    page = tab("/")
    card = page.locator(".card", has=page.locator("code", has_text="lying.toml"))
    card.locator("summary").click()
    card.locator('[action="/shelf/copy"] [name="new"]').fill("second")
    card.get_by_role("button", name="Copy").click()
    page.wait_for_selector("code:text-is('second.toml')")
    assert (workbench.folder / "second.toml").read_bytes() == (workbench.folder / "lying.toml").read_bytes()
    card = page.locator(".card", has=page.locator("code", has_text="second.toml"))
    card.locator("summary").click()
    card.get_by_role("button", name="Into the bin").click()
    page.wait_for_selector("code:text-is('second.toml')", state="detached")
    assert not (workbench.folder / "second.toml").exists()
