"""Computing that is given up between two steps, and a store that threads share."""

from __future__ import annotations

import contextlib
import threading
import time
from dataclasses import dataclass

import pytest

from lodestring.folder.examples import example_text
from lodestring.folder.open_set import assess_here
from lodestring.folder.patience import Cancel, GivenUp, PatientStore, check, pause, twin, watching
from lodestring.web.work import Urgency, Worker


@dataclass(frozen=True)
class N:
    value: int


def double(n: N) -> int:
    return 2 * n.value


def test_a_step_that_is_not_wanted_does_not_run_and_what_was_kept_is_still_there() -> None:
    store, cancel = PatientStore(), Cancel()
    with watching(cancel):
        assert store.kept(double, N(1)) == 2
        cancel.ask()
        assert store.kept(double, N(1)) == 2
        with pytest.raises(GivenUp):
            store.kept(double, N(2))
    assert store.kept(double, N(2)) == 4, "outside nobody watches"


def test_giving_up_is_not_caught_by_code_that_catches_errors() -> None:
    cancel = Cancel()
    cancel.ask()

    def careless() -> None:
        with contextlib.suppress(Exception):
            check()

    with pytest.raises(GivenUp), watching(cancel):
        careless()


def test_a_pause_ends_as_soon_as_it_is_given_up() -> None:
    cancel = Cancel()
    threading.Timer(0.05, cancel.ask).start()
    start = time.monotonic()
    with pytest.raises(GivenUp), watching(cancel):
        pause(10)
    assert time.monotonic() - start < 5


def test_threads_share_a_store_and_its_size_stays_right() -> None:
    store = PatientStore(limit=60_000)
    wrong: list[int] = []

    def work() -> None:
        wrong.extend(i for i in range(3000) if store.kept(double, N(i % 97)) != 2 * (i % 97))

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong
    assert store.size == sum(size for _, size in store._kept.values()) <= 60_000


def test_a_result_that_another_thread_kept_meanwhile_is_counted_once() -> None:
    store, key = PatientStore(), ("double", N(1))

    def slow() -> int:
        return store.kept_as(key, "double", lambda: 2, 100)  # what another thread does while this one computes

    assert store.kept_as(key, "double", slow, 100) == 2
    assert store.size == 100


def test_a_twin_says_what_the_set_says(tmp_path: object) -> None:
    path = tmp_path / "heron.toml"  # type: ignore[operator]
    path.write_text(example_text("heron"), encoding="utf-8")
    one = assess_here(path, PatientStore())
    other = twin(one)
    assert other.model is not one.model
    for key in ("set.wire_length", "pickup.bridge.coil.main.dc_resistance", "pickup.bridge.string.1.output"):
        assert other.facts[key] == one.facts[key]


def test_the_more_urgent_job_goes_first() -> None:
    worker, done, hold = Worker("test"), [], threading.Event()
    worker.submit(lambda: hold.wait(5) and None)
    for urgency in (Urgency.ASKED, Urgency.PAGE, Urgency.CHANGE):
        worker.submit(lambda u=urgency: done.append(u), urgency)  # type: ignore[misc]
    last = threading.Event()
    worker.submit(last.set)
    hold.set()
    assert last.wait(5)
    assert done == [Urgency.CHANGE, Urgency.PAGE, Urgency.ASKED]
    worker.end()
