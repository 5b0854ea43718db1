"""A server on a maker's folder, and a browser to look at it with."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from maker import ARGS, CHROMIUM, DESK, PATIENCE, Workbench

playwright = pytest.importorskip(
    "playwright.sync_api", reason="playwright is missing; install it with: pip install .[dev]"
)

GIVE_UP = """() => location.pathname.startsWith("/set/") && fetch(
  `/set/${location.pathname.split("/")[2]}/cancel`, {method: "POST", body: new URLSearchParams({a: ""})}
).then(() => 1, () => 0)"""


@pytest.fixture(scope="session")
def workbench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workbench]:
    made = Workbench(tmp_path_factory.mktemp("sets"))
    yield made
    made.end()


@pytest.fixture(scope="module")  # its loop runs on in this process: other tests of the worker start loops of their own
def browser() -> Iterator[Any]:
    with playwright.sync_playwright() as driver:
        made = driver.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        yield made
        made.close()


@pytest.fixture
def tab(browser: Any, workbench: Workbench) -> Iterator[Callable[..., Any]]:
    """`tab(path, size, dark=, script=, bench=, beside=)`: a page of the workbench. What a page's script complains of
    fails the test; so does anything that asks for another address than ours."""
    contexts: list[Any] = []
    wrong: list[str] = []

    def open_(
        path: str,
        size: tuple[int, int] = DESK,
        dark: bool = False,
        script: bool = True,
        bench: Workbench | None = None,
        beside: Any = None,
    ) -> Any:
        at = bench or workbench
        if beside is None:
            context = browser.new_context(
                viewport={"width": size[0], "height": size[1]},
                color_scheme="dark" if dark else "light",
                java_script_enabled=script,
                reduced_motion="reduce",
            )
            context.set_default_timeout(PATIENCE)
            contexts.append(context)
        else:
            context = beside.context
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on(
            "request",
            lambda request: (
                wrong.append(request.url) if not request.url.startswith((at.at, "data:", "blob:")) else None
            ),
        )
        page.on(
            "console",
            lambda said: wrong.append(said.text) if said.type == "error" and "Content Security" in said.text else None,
        )
        if beside is None:
            page.goto(at.enter)
        page.goto(at.at + path)
        return page

    yield open_
    for context in contexts:
        for page in context.pages:  # nobody waits for what is still being worked out
            with contextlib.suppress(playwright.Error):
                page.evaluate(GIVE_UP)
        context.close()
    assert not wrong, wrong
