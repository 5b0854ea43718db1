"""One set being worked on: every change is read and computed before it is written, and can be undone.

What is on disk is what counts. Each call first looks whether another program has changed the file; if so, that is taken
in as a step of its own, and the change asked for is refused with both texts, so neither is lost. Between the last look
and the replacement lie some microseconds in which an editor could still save: then its text is the one that is lost,
which no file system in common use can keep from happening. Pages of one process take turns by a lock.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import wraps
from pathlib import Path
from typing import Any, Concatenate, ParamSpec

from lodestring.assess.report import Assessment
from lodestring.assess.store import Store
from lodestring.design.read import read_set
from lodestring.design.toml_read import decode, digest, read_bytes
from lodestring.design.toml_write import write_new, write_raw
from lodestring.errors import FileProblem, LodestringError, Problem, SetFileError
from lodestring.folder import kept as kept_states
from lodestring.folder.edit import Changes, edited
from lodestring.folder.history import History
from lodestring.folder.judging import Judged, judge, problem_of
from lodestring.folder.kept import Kept
from lodestring.folder.outcome import Conflict, Outcome
from lodestring.folder.parts import added, removed
from lodestring.folder.places import history_path, lock_of, set_path
from lodestring.folder.typed import kind_of, source_of
from lodestring.quantity import Units

CHECK_LIMIT = 16 * 1024 * 1024
BOM = b"\xef\xbb\xbf"
P = ParamSpec("P")


Method = Callable[Concatenate["Sitting", P], Outcome]


def _in_turn(method: Method[P]) -> Method[P]:
    """Take turns with other pages on the set; a refusal of the disk becomes an outcome."""

    @wraps(method)
    def turn(self: Sitting, /, *args: P.args, **kwargs: P.kwargs) -> Outcome:
        with self._lock:
            try:
                self.refresh()
                return method(self, *args, **kwargs)
            except SetFileError as error:
                return Outcome(False, self.digest, tuple(error.problems))
            except UnicodeError:
                wrong = Problem("", "a text must hold characters that can be written", "half of a surrogate pair")
                return Outcome(False, self.digest, (wrong,))
            except LodestringError as error:
                return Outcome(False, self.digest, (problem_of(error),))

    return turn


class Sitting:
    """One set of the maker's folder. Raises FileProblem, SetFileError where its file cannot be read at all.

    `store` is used for the assessment alone; what is read and checked before a change is written has a store of its
    own, so a page may compute in a thread while another change comes in.
    """

    def __init__(self, folder: Path, name: str, store: Store | None = None) -> None:
        self.folder, self.name, self.path = folder, name, set_path(folder, name)
        self.store = store if store is not None else Store()
        self._check = Store(CHECK_LIMIT)
        self._lock = lock_of(folder, name)
        self._judged: Judged | None = None
        self._beside: object = None
        self.gone = False
        with self._lock:
            self._raw = read_bytes(self.path, self.path.name)
            self._history = History(history_path(folder, name))
            self._take_in("as it was found" if not self._history.states else "changed by another program")

    # ---- what it is now ----

    @property
    def digest(self) -> str:
        """Hash of the bytes on disk this sitting is based on."""
        return digest(self._raw)

    @property
    def raw(self) -> bytes:
        return self._raw

    @property
    def text(self) -> str:
        """The text of the file; what is not UTF-8 in it shown as replaced."""
        return self._raw.removeprefix(BOM).decode("utf-8", "replace")

    @property
    def assessment(self) -> Assessment | None:
        """The set's assessment, None where its text cannot be computed."""
        return self._now().assessment

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What keeps the text on disk from being computed."""
        return self._now().problems

    @property
    def words(self) -> tuple[str, ...]:
        """What the maker should know that is no problem of the set: a damaged history, a broken workshop file."""
        gone = (f"{self.path.name} is no longer in the folder; it can be put back as it was",) if self.gone else ()
        return (*gone, *self._history.words, *self._now().words)

    @property
    def units(self) -> Units:
        """In which units the workshop file wants figures said."""
        return self._now().units

    @property
    def beside(self) -> object:
        """Changes when the workshop file does: what was worked out beside another one is not current."""
        return self._workshop_stamp()

    @property
    def undo_depth(self) -> int:
        return self._history.undo_depth

    @property
    def redo_depth(self) -> int:
        return self._history.redo_depth

    def refresh(self) -> bool:
        """Look at the disk. What another program wrote is taken in as a step that can be undone; True if it was."""
        with self._lock:
            self._history.again()
            try:
                raw = read_bytes(self.path, self.path.name)
            except SetFileError:
                self.gone = not self.path.exists()
                if self.gone:
                    return False
                raise
            self.gone = False
            if raw == self._raw:
                return False
            self._raw, self._judged = raw, None
            self._take_in("changed by another program")
            return True

    # ---- changes ----

    @_in_turn
    def change(self, path: str, typed: str | None, digest: str) -> Outcome:
        """Set the field at `path` to what was typed; None, or nothing but blanks, leaves it out."""
        source: str | Problem | None = None
        if typed is not None and typed.strip():
            source = source_of(path, typed)
        elif kind_of(path) is None:
            source = Problem(path, "this must be a field of the set file", f'"{path}"')
        if isinstance(source, Problem):
            return Outcome(False, self.digest, (source,))
        return self._edit({path: source}, digest, f"{path}: {'left out' if source is None else str(typed).strip()}")

    @_in_turn
    def changes(self, sources: Mapping[str, str | None], digest: str, label: str = "") -> Outcome:
        """Several values at once, as TOML source: the "do it" of a finding."""
        return self._edit(sources, digest, label or ", ".join(sources))

    @_in_turn
    def add(self, path: str, digest: str) -> Outcome:
        """Add a pickup, coil, bar, string, cover, control ... at `path` with sensible content, marked assumed."""
        return self._part(added, path, digest, f"added {path}", given=False)

    @_in_turn
    def remove(self, path: str, digest: str) -> Outcome:
        """Take a part out, and its name out of intent and selector."""
        return self._part(removed, path, digest, f"removed {path}", given=True)

    @_in_turn
    def replace_text(self, text: str, digest: str) -> Outcome:
        """Put a whole text in place of the file's, the line ends of the file kept."""
        return self._write(self._like_file(text), digest, "the whole text")

    @_in_turn
    def undo(self, digest: str) -> Outcome:
        return self._go(-1, digest)

    @_in_turn
    def redo(self, digest: str) -> Outcome:
        return self._go(1, digest)

    @_in_turn
    def put_back(self) -> Outcome:
        """Write the file again as it was last seen, where it has gone from the folder. Never over another file."""
        if self.gone:
            write_new(
                self.path, decode(self._raw, self.path.name) if not self._raw.startswith(BOM) else self._raw.decode()
            )
        self.gone = False
        return Outcome(True, self.digest)

    # ---- kept states ----

    def keep(self, label: str) -> Kept:
        """Keep the present state to compare. Raises FileProblem."""
        with self._lock:
            self.refresh()
            return kept_states.keep(self.folder, self.name, self._raw, label)

    def kept(self) -> tuple[Kept, ...]:
        return kept_states.kept(self.folder, self.name)

    def forget(self, id: str) -> None:
        """Raises FileProblem where nothing of that id is kept."""
        kept_states.forget(self.folder, self.name, id)

    def compare(self, id: str) -> Assessment:
        """The assessment of a kept state, in the workshop as it is now. Raises FileProblem, SetFileError."""
        raw = kept_states.kept_state(self.folder, self.name, id).raw
        judged = self._judge(raw)
        if judged.assessment is None:
            raise SetFileError(self.path.name, list(judged.problems))
        return judged.assessment

    # ---- inside ----

    def _now(self) -> Judged:
        with self._lock:
            beside = self._workshop_stamp()
            if self._judged is None or beside != self._beside:
                self._judged, self._beside = self._judge(self._raw), beside
            return self._judged

    def _judge(self, raw: bytes) -> Judged:
        return judge(raw, self.folder, self.path.name, self._check, self.store)

    def _workshop_stamp(self) -> object:
        try:
            about = (self.folder / "workshop.toml").stat()
        except OSError:
            return None
        return about.st_mtime_ns, about.st_size, about.st_ino

    def _part(
        self, make: Callable[[Mapping[str, Any], str], Changes], path: str, digest: str, label: str, given: bool
    ) -> Outcome:
        if (other := self._other(digest, self.text)) is not None:
            return other
        data = read_set(self._raw, self.path.name).document.data
        try:
            changes = make(data, path)
        except SetFileError:
            raise
        except LodestringError as error:
            raise _at(error, path[:120]) from None
        return self._edit(changes, digest, label, given)

    def _like_file(self, text: str) -> bytes:
        """A text as this file would hold it: its line ends, its byte order mark."""
        plain = text.removeprefix("\ufeff").replace("\r\n", "\n")
        windows = self._raw.count(b"\r\n") * 2 > self._raw.count(b"\n")
        raw = (plain.replace("\n", "\r\n") if windows else plain).encode("utf-8", "surrogatepass")
        return (BOM if self._raw.startswith(BOM) else b"") + raw

    def _edit(self, sources: Mapping[str, str | None], digest: str, label: str, given: bool = True) -> Outcome:
        base = self._base(digest)
        text = decode(base, self.path.name)
        try:
            found = edited(text, sources, self.path.name, given)
        except FileProblem as error:
            other = self._other(digest, text)
            if other is not None:
                return other
            raise _at(error, next(iter(sources), "")) from None
        raw = (BOM if base.startswith(BOM) else b"") + found.text.encode()
        outcome = self._write(raw, digest, label)
        return replace(outcome, changed=(*sources, *found.along)) if outcome.done else outcome

    def _base(self, digest: str) -> bytes:
        """The bytes a change was asked for: those of the file, or an earlier state where the file has moved on."""
        if digest == self.digest:
            return self._raw
        state = self._history.find(digest)
        return self._raw if state is None else state.raw

    def _other(self, digest: str, mine: str) -> Outcome | None:
        """The refusal where the file is another than the one asked for, or is gone."""
        if self.gone:
            came = "a file that is no longer in the folder"
            return Outcome(
                False, self.digest, (Problem("", f"{self.path.name} must be there", came, "putting it back"),)
            )
        if digest == self.digest:
            return None
        return Outcome(False, self.digest, conflict=Conflict(mine, self.text, self.digest))

    def _write(self, raw: bytes, digest: str, label: str) -> Outcome:
        """Check a text and write it; nothing is written where the file is another, or the text cannot be computed."""
        other = self._other(digest, raw.removeprefix(BOM).decode("utf-8", "replace"))
        if other is not None:
            return other
        if raw == self._raw:
            return Outcome(True, self.digest)
        judged = self._judge(raw)
        if judged.problems:
            return Outcome(False, self.digest, judged.problems)
        return self._put(raw, judged, lambda: self._history.step(raw, label))

    def _put(self, raw: bytes, judged: Judged | None, note: Callable[[], str]) -> Outcome:
        write_raw(self.path, raw, self.digest)
        self._raw, self._judged, self._beside = raw, judged, self._workshop_stamp()
        word = note()
        return Outcome(True, self.digest, words=(word,) if word else ())

    def _go(self, by: int, digest: str) -> Outcome:
        self._history.again()
        other = self._other(digest, self.text)
        if other is not None:
            return other
        if not (self.undo_depth if by < 0 else self.redo_depth):
            what = "undone" if by < 0 else "done again"
            return Outcome(False, self.digest, (Problem("", f"there must be a step that can be {what}", "none"),))
        state = self._history.states[self._history.here + by]
        return self._put(state.raw, None, lambda: self._history.go(by))

    def _take_in(self, label: str) -> None:
        """Note the bytes on disk as a state, unless another sitting has noted them already."""
        self._history.again()
        current = self._history.current
        if current is None or current.raw != self._raw:
            self._history.step(self._raw, label)


def _at(error: LodestringError, path: str) -> SetFileError:
    """A refusal that names no field, told at the field asked for."""
    if isinstance(error, SetFileError):
        return error
    return SetFileError("", [Problem(path, error.must, error.came, error.attempt)])
