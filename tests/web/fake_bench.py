"""A bench without a folder: one set of one number in memory, with a quick group and a slow one held by the test."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

from lodestring.errors import FileProblem, LodestringError, Problem
from lodestring.folder.patience import check
from lodestring.web.desk import WORKING, Part


@dataclass(frozen=True)
class Outcome:
    done: bool
    digest: str
    problems: tuple[Problem, ...] = ()
    conflict: Any = None
    changed: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


class FakeSitting:
    """A text; a change sets it to what was typed, "bad" is refused."""

    def __init__(self, name: str) -> None:
        self.name, self.text, self.states, self.here = name, "1", ["1"], 0
        self.problems: tuple[Problem, ...] = ()
        self.words: tuple[str, ...] = ()
        self.kept_states: list[Any] = []

    assessment = "an assessment"
    beside = None

    @property
    def raw(self) -> bytes:
        return self.text.encode("utf-8", "surrogatepass")

    @property
    def digest(self) -> str:
        return hashlib.sha256(self.raw).hexdigest()

    undo_depth = property(lambda self: self.here)
    redo_depth = property(lambda self: len(self.states) - 1 - self.here)

    def refresh(self) -> bool:
        return False

    def change(self, path: str, typed: str | None, digest: str) -> Outcome:
        return self._set(path, typed or "", digest)

    def changes(self, sources: dict[str, str | None], digest: str) -> Outcome:
        return self._set(next(iter(sources)), next(iter(sources.values())) or "", digest)

    def add(self, path: str, digest: str) -> Outcome:
        return self._set(path, f"{self.text}+", digest)

    def remove(self, path: str, digest: str) -> Outcome:
        return self._set(path, "0", digest)

    def replace_text(self, text: str, digest: str) -> Outcome:
        return self._set("", text, digest)

    def put_back(self) -> Outcome:
        return Outcome(True, self.digest)

    def undo(self, digest: str) -> Outcome:
        return self._go(-1)

    def redo(self, digest: str) -> Outcome:
        return self._go(1)

    def keep(self, label: str) -> Any:
        self.kept_states.append(SimpleNamespace(id=f"{len(self.kept_states):012x}", label=label, at="now"))
        return self.kept_states[-1]

    def kept(self) -> tuple[Any, ...]:
        return tuple(self.kept_states)

    def forget(self, id: str) -> None:
        if not any(s.id == id for s in self.kept_states):
            raise FileProblem("that state must be among the kept ones", "one that is not")
        self.kept_states = [s for s in self.kept_states if s.id != id]

    def _set(self, path: str, text: str, digest: str) -> Outcome:
        if digest != self.digest:
            return Outcome(
                False, self.digest, conflict=SimpleNamespace(mine=text, theirs=self.text, digest=self.digest)
            )
        if text == "bad":
            return Outcome(False, self.digest, (Problem(path, "this must be good", text, "1"),))
        self.text = text
        self.states[self.here + 1 :] = [text]
        self.here += 1
        return Outcome(True, self.digest, changed=(path,))

    def _go(self, by: int) -> Outcome:
        if not 0 <= self.here + by < len(self.states):
            return Outcome(False, self.digest, (Problem("", "there must be such a step", "none"),))
        self.here += by
        self.text = self.states[self.here]
        return Outcome(True, self.digest)


def figures(value: str) -> Any:
    """One figure as folder/board_figures.py has it."""
    row = SimpleNamespace(key="set.x", label="X", value=value, unit="", interval="", usual="", band="", difference="",
                          more=False, problem="")  # fmt: skip
    return SimpleNamespace(id="x", title="X", speed="quick", waiting=False, rows=(row,))


class FakeBench:
    """`go` lets the slow group be worked out, `slow_runs` notes for which texts, `fail` is raised in its place."""

    def __init__(self, names: tuple[str, ...] = ("heron",), title: str = "Heron") -> None:
        self.sets = {name: FakeSitting(name) for name in names}
        self.name_of_set = title
        self.go = threading.Event()
        self.go.set()
        self.fail: Exception | None = None
        self.slow_runs: list[str] = []

    def shelf(self) -> tuple[Any, ...]:
        return tuple(
            SimpleNamespace(name=n, title=self.name_of_set, problem="", digest=s.digest, modified="", strings=6,
                            pickups=2, coils=2, scale="686 mm", usable=True)
            for n, s in self.sets.items()
        )  # fmt: skip

    def questions(self) -> tuple[Any, ...]:
        return (SimpleNamespace(id="strings", ask="Which strings?", help="", example="E4 0.010 in"),)

    def ready_strings(self) -> tuple[Any, ...]:
        return (SimpleNamespace(id="six", title="Six", kind="guitar", lines=("E4 0.010 in",)),)

    def kinds(self) -> dict[str, str]:
        return {"guitar": "guitar or baritone"}

    def first_set(self, name: str, answers: Any) -> None:
        self._new(name)

    def examples(self) -> dict[str, str]:
        return {"heron": "a baritone"}

    def units(self) -> Any:
        return SimpleNamespace(choices=(), digest="", problem="")

    def choose_units(self, wanted: Any, digest: str) -> None:
        if digest != "":
            raise FileProblem("workshop.toml must be as it was when this page was made", "another", "once more")

    def from_example(self, name: str, example: str) -> None:
        if example != "heron":
            raise LodestringError("there must be an example of that name (heron)", example)
        self._new(name)

    def copy(self, name: str, new: str) -> None:
        self._there(name)
        self._new(new)

    def rename(self, name: str, new: str) -> None:
        self._there(name)
        self._new(new)
        del self.sets[name]

    def to_bin(self, name: str) -> None:
        self._there(name)
        del self.sets[name]

    def take_in(self, name: str, text: str) -> None:
        self._new(name)
        self.sets[name].text = text

    def suggested(self, text: str) -> str:
        return text.lower() if text.isascii() and text.isalpha() else "first-set"

    def sitting(self, name: str) -> FakeSitting:
        return self._there(name)

    def title(self, sitting: FakeSitting) -> str:
        return self.name_of_set

    def twin(self, assessment: Any) -> Any:
        return assessment

    def parts(self, sitting: FakeSitting, assessment: Any, kept: str) -> dict[str, Part]:
        digest, text = sitting.digest, sitting.text
        quick = Part("copper", "figures", "Copper", digest, content=figures(f"quick {text}"))
        return {"copper": quick, "magnets": Part("magnets", "figures", "Magnets", digest, WORKING)}

    def slow_parts(self, sitting: FakeSitting, assessment: Any, kept: str) -> Iterator[Part]:
        digest, text = sitting.digest, sitting.text
        while not self.go.wait(0.005):
            check()
        check()
        if self.fail is not None:
            raise self.fail
        self.slow_runs.append(text)
        yield Part("magnets", "figures", "Magnets", digest, content=figures(f"slow {text}"))

    def views(self, assessment: Any) -> tuple[str, ...]:
        return ("top.bridge",)

    def picture(self, assessment: Any, view: str, width: float, kept: Any = None) -> str:
        return f"<svg xmlns='http://www.w3.org/2000/svg' width='{width}'/>"

    def readout(self, assessment: Any, view: str, width: float, kept: Any = None) -> Any:
        return []

    def why(self, assessment: Any, key: str) -> Any:
        raise LodestringError("a reason is asked for a figure the set has", key)

    def hand_over(self, assessment: Any, kind: str, choice: str) -> Any:
        return SimpleNamespace(raw=kind.encode(), media="text/plain")

    def _there(self, name: str) -> FakeSitting:
        if name not in self.sets:
            raise FileProblem("the set must be in the folder", f'"{name}"')
        return self.sets[name]

    def _new(self, name: str) -> None:
        if name in self.sets or not name.isidentifier():
            raise FileProblem("a name must be free", f'"{name}"')
        self.sets[name] = FakeSitting(name)
