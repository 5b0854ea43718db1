"""A winder from one crank, and the proposal to write it to the workshop file. Nothing is written unasked."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lodestring.design.read import read_workshop
from lodestring.design.toml_read import decode, digest, read_bytes
from lodestring.design.toml_write import apply_changes, write_new, write_raw
from lodestring.folder.open_set import WORKSHOP
from lodestring.folder.places import check_name
from lodestring.making.counter import Crank
from lodestring.making.counter import crank_once as crank_once
from lodestring.quantity import Kind, read

_BOM = b"\xef\xbb\xbf"
NEW = "# What belongs to the maker and not to one set.\nformat = 1\n"


@dataclass(frozen=True, slots=True)
class Proposal:
    """A whole new text of the workshop file. `digest`: of the file it was made from, "" where there is none yet.

    `sentence`: what would be written, in words; `replaces`: whether a winder of that name is changed.
    """

    name: str
    before: str
    after: str
    digest: str
    sentence: str
    replaces: bool


def propose_winder(folder: Path, name: str, crank: Crank, pace: str = "") -> Proposal:
    """What `workshop.toml` would say of this winder; the rest of the file stays letter for letter.

    pace: "" or as typed, "200 /min". Raises FileProblem for a name that is none, SetFileError where the file of now
    cannot be read, QuantityError for a pace that is none.
    """
    check_name(name)
    path = folder / WORKSHOP
    raw = read_bytes(path, WORKSHOP) if path.is_file() else b""
    before = decode(raw, WORKSHOP) if raw else ""
    known = read_workshop(raw, WORKSHOP).record.winder if raw else {}
    changes = {
        f"winder.{name}.counts": f'"{crank.counts}"',
        f"winder.{name}.turns_per_crank": str(crank.turns_per_crank),
        f"winder.{name}.spindle": f'"{crank.spindle}"',
    }
    if pace.strip():
        read(pace, Kind.TURN_RATE)
        changes[f"winder.{name}.pace"] = '"' + pace.strip().replace("\\", "").replace('"', "") + '"'
    after = apply_changes(before or NEW, changes, WORKSHOP)
    read_workshop(after.encode(), WORKSHOP)
    what = "is changed" if name in known else "is added"
    file = "the workshop file" if raw else "a new workshop file"
    sentence = f"Winder {name} {what} in {file}: {crank.sentence}"
    return Proposal(name, before, after, digest(raw) if raw else "", sentence, name in known)


def write_winder(folder: Path, proposal: Proposal) -> str:
    """Write what was proposed; the new digest. Raises FileProblem where the file is another by now."""
    path = folder / WORKSHOP
    if not proposal.digest:
        return write_new(path, proposal.after)
    marked = read_bytes(path, WORKSHOP).startswith(_BOM)
    return write_raw(path, (_BOM if marked else b"") + proposal.after.encode(), proposal.digest)
