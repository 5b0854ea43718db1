"""From a changed value to its figures on the page, in the system's Chromium, on heron with everything on the page.

Prints medians and 95th percentiles of the quick groups (copper, fit, drawing) and of all groups; the cold start of
`lodestring open` until the page can be used; bytes of the page; the server's memory. Stops by itself. Asserts nothing.
"""

from __future__ import annotations

import argparse
import gzip
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
ARGS = ["--no-sandbox", "--headless", "--disable-gpu", "--disable-background-networking"]
CHANGE = """async (turns) => {
  const field = document.querySelector('[name="pickup.bridge.coil.main.turns"]');
  const quick = () => document.querySelector('[data-group="figures.pickup.bridge.coil.main"]');
  const before = quick().dataset.digest;
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  field.focus(); field.value = String(turns);
  const start = performance.now();
  field.dispatchEvent(new Event("input", {bubbles: true}));
  field.dispatchEvent(new Event("change", {bubbles: true}));
  while (quick().dataset.digest === before || quick().dataset.state === "working") await frame();
  await frame();
  const first = performance.now() - start;
  while (document.querySelector('[data-state="working"]') || document.body.dataset.sending !== undefined) await frame();
  return [first, performance.now() - start];
}"""


def rows() -> Iterator[Any]:
    """For `make bench`, whose table has no place for percentiles: printed here, no row is left for it."""
    main([])
    return iter(())


def main(arguments: list[str] | None = None) -> None:
    """One run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--changes", type=int, default=20)
    parser.add_argument("--chromium", default="/usr/bin/chromium")
    given = parser.parse_args(arguments)
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        print("bench_paint: skipped, playwright is missing")
        return
    if not Path(given.chromium).exists():
        print(f"bench_paint: skipped, there is no {given.chromium}")
        return
    sys.path.insert(0, str(ROOT / "src"))
    from lodestring.folder.examples import example_text

    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        folder = Path(name)
        (folder / "heron.toml").write_text(example_text("heron"), encoding="utf-8")
        browser = driver.chromium.launch(executable_path=given.chromium, args=ARGS)
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        begun = time.perf_counter()
        env = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
        command = [sys.executable, "-m", "lodestring", "open", str(folder), "--no-browser"]
        server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env)
        try:
            address = server.stdout.readline().strip() if server.stdout is not None else ""
            page.goto(address)
            page.wait_for_selector(".card-link")
            shelf = time.perf_counter() - begun
            body = page.goto(address.partition("/enter")[0] + "/set/heron")
            page.wait_for_selector('[name="pickup.bridge.coil.main.turns"]')
            board = time.perf_counter() - begun
            raw = body.body() if body is not None else b""
            page.wait_for_selector("[data-state=working]", state="detached", timeout=60_000)
            pairs = [page.evaluate(CHANGE, 7000 + 13 * i) for i in range(given.changes)]
            memory = _memory(server.pid)
        finally:
            server.terminate()
            server.wait()
            browser.close()
    first, every = zip(*pairs, strict=True)
    print(f"heron in Chromium, {given.changes} changes of the turns, load {os.getloadavg()[0]:.1f}")
    _row("quick groups painted", first, "goal 60 and 120")
    _row("every group painted", every, "goal 200")
    print(f"  cold start to the shelf {shelf:.2f} s, to the board's fields {board:.2f} s (goal 1.5)")
    print(f"  page {len(raw) / 1000:.0f} kB, gzipped {len(gzip.compress(raw)) / 1000:.0f} kB (goal 150)")
    print(f"  memory of the server {memory:.0f} MB (goal 250)")


def _row(label: str, values: tuple[float, ...], goal: str) -> None:
    ordered = sorted(values)
    high = ordered[min(len(ordered) - 1, round(0.95 * len(ordered)))]
    print(f"  {label:<24} median {statistics.median(ordered):6.0f} ms, 95th percentile {high:6.0f} ms ({goal})")


def _memory(pid: int) -> float:
    try:
        rows = Path(f"/proc/{pid}/status").read_text(encoding="ascii", errors="replace").splitlines()
    except OSError:
        return float("nan")
    return next((int(row.split()[1]) / 1000 for row in rows if row.startswith("VmRSS")), float("nan"))


if __name__ == "__main__":
    main()
