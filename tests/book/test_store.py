"""The book's file: idempotent, combined, migrated, backed up, exported and imported."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
import struct
import threading
import zlib
from dataclasses import replace
from pathlib import Path

import pytest
from book_events import event, turns
from hypothesis import given, settings
from hypothesis import strategies as st

from lodestring.book import schema
from lodestring.book.event import line
from lodestring.book.fold import fold_coil
from lodestring.book.jsonl import export_lines, export_parts, import_lines, read_lines
from lodestring.book.photo import cleaned
from lodestring.book.places import beside_the_disk
from lodestring.book.problem import BookProblem
from lodestring.book.store import HERE, Book, open_book

OLD = Path(__file__).resolve().parent / "old"


@pytest.fixture
def book(tmp_path: Path) -> Book:
    made = open_book(tmp_path / "book.sqlite")
    yield made  # type: ignore[misc]
    made.close()


def test_the_same_press_delivered_five_times_is_there_once(book: Book) -> None:
    press = turns(1)
    for _ in range(5):
        assert book.append([press, press]).have == (press.id, press.id)
    assert book.events() == (press,)


def test_an_id_with_another_content_is_refused_and_the_rest_of_its_batch_is_not_taken(book: Book) -> None:
    book.append([turns(1)])
    with pytest.raises(BookProblem, match="never changed"):
        book.append([turns(2), replace(turns(1), body={"turns": 2, "by": "tap"})])
    assert [e.n for e in book.events()] == [1]


def test_many_writers_at_once_lose_nothing_and_one_wrong_batch_harms_no_other(book: Book) -> None:
    book.append([turns(1)])
    wrong = replace(turns(1), body={"turns": 9, "by": "tap"})
    refused: list[int] = []

    def write(who: int) -> None:
        for i in range(25):
            number = 1000 * who + i + 1
            book.append([turns(number, device=f"d{who}", n=i + 1)])
            if i % 5 == 0:
                try:
                    book.append([wrong])
                except BookProblem:
                    refused.append(who)

    threads = [threading.Thread(target=write, args=(who,)) for who in range(1, 9)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert book.count() == 1 + 8 * 25
    assert len(refused) == 8 * 5
    assert all(book.missing(f"d{who}", "c") == () for who in range(1, 9))


def test_the_servers_own_notes_are_numbered_coil_by_coil(book: Book) -> None:
    book.append([turns(1, lamport=40)])
    made = [book.note("note", {"text": str(i)}, coil=c) for i, c in enumerate(("a", "b", "a"))]
    assert [(e.device, e.n, e.lamport) for e in made] == [(HERE, 1, 41), (HERE, 1, 42), (HERE, 2, 43)]


def test_gaps_and_holdings_are_told(book: Book) -> None:
    book.append([turns(1), turns(4), turns(5, coil="other")])
    assert book.missing("phone", "c") == (2, 3)
    assert book.have([turns(1).id, turns(2).id]) == (turns(1).id,)
    assert book.coils() == ("c", "other")


def test_what_was_written_is_read_by_plain_sqlite_and_by_the_next_start(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    with open_book(path) as book:
        book.append([turns(1, 5)])
    with sqlite3.connect(path) as plain:
        assert plain.execute("SELECT line FROM event").fetchall() == [(line(turns(1, 5)),)]
    plain.close()
    assert not path.with_name("book.sqlite-wal").exists(), "closing folds the log into the file"
    with open_book(path) as book:
        assert fold_coil(book.events()).turns == 5


def test_states_are_kept_once_by_their_hash(book: Book) -> None:
    one, two = book.put_state(b"format = 1\n"), book.put_state(b"format = 1\n")
    assert one == two
    assert book.state(one) == b"format = 1\n"
    with pytest.raises(BookProblem, match="must be in the book"):
        book.state("0" * 64)


# ---- schemas ----


def test_every_schema_there_was_is_kept_as_a_small_file() -> None:
    assert sorted(p.name for p in OLD.glob("*.sqlite")) == [f"schema-{n}.sqlite" for n in range(1, schema.NEWEST + 1)]


@pytest.mark.parametrize("number", range(1, schema.NEWEST + 1))
def test_a_book_of_every_earlier_schema_opens_with_all_its_events(number: int, tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    shutil.copyfile(OLD / f"schema-{number}.sqlite", path)
    with open_book(path) as book:
        state = fold_coil(book.events(coil="heron-bridge-main-1"))
        assert (state.turns, state.ended, len(state.checks)) == (7800, "wound", 2)
        assert book.state(str(state.begun["set"])).startswith(b"format = 1")  # type: ignore[index]
        book.note("note", {"text": "goes on"}, coil="heron-bridge-main-1")
    with sqlite3.connect(path) as plain:
        assert plain.execute("PRAGMA user_version").fetchone() == (schema.NEWEST,)
    plain.close()


def test_a_step_that_breaks_off_leaves_the_schema_before(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(schema, "step", lambda n: ("CREATE TABLE half (x)", "CREATE TABLE half (x)"))
    with pytest.raises(BookProblem):
        open_book(tmp_path / "book.sqlite")
    with sqlite3.connect(tmp_path / "book.sqlite") as plain:
        assert plain.execute("SELECT count(*) FROM sqlite_schema").fetchone() == (0,)
        assert plain.execute("PRAGMA user_version").fetchone() == (0,)
    plain.close()


def test_a_book_of_a_newer_schema_opens_for_reading_alone(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    with open_book(path) as book:
        book.append([turns(1)])
    with sqlite3.connect(path) as plain:
        plain.execute(f"PRAGMA user_version = {schema.NEWEST + 1}")
    plain.close()
    before = path.read_bytes()
    with open_book(path) as book:
        assert "newer Lodestring" in book.read_only_because
        assert fold_coil(book.events()).turns == 1
        with pytest.raises(BookProblem, match="newer Lodestring"):
            book.append([turns(2)])
    assert path.read_bytes() == before


def test_what_is_no_book_is_refused_and_left_alone(tmp_path: Path) -> None:
    text, other = tmp_path / "text", tmp_path / "other.sqlite"
    text.write_text("not a book at all, but longer than a head of SQLite\n" * 10)
    with sqlite3.connect(other) as plain:
        plain.execute("CREATE TABLE mine (x)")
    plain.close()
    for path in (text, other, tmp_path):
        before = path.read_bytes() if path.is_file() else b""
        with pytest.raises(BookProblem, match="; came "):
            open_book(path)
        assert not path.is_file() or path.read_bytes() == before
    with pytest.raises(BookProblem, match="no book yet"):
        open_book(tmp_path / "none", read_only=True)
    with pytest.raises(BookProblem, match="folder"):
        open_book(tmp_path / "no" / "such" / "book")


# ---- taking along ----


def filled(path: Path) -> Book:
    book = open_book(path)
    book.append(
        [turns(1, 5), event(2, "odd.kind", {"x": 1}), event(3, "spool.weigh", {"mass": 0.4}, coil="", spool="s")]
    )
    book.put_state(b"format = 1\n" + b"# long\n" * 12000)
    book.put_photo(PNG)
    return book


def test_a_backup_is_a_whole_book_made_while_it_is_written(tmp_path: Path) -> None:
    with filled(tmp_path / "book.sqlite") as book:
        assert book.backup(tmp_path / "copy.sqlite") == 3
        book.append([turns(9)])
        with pytest.raises(BookProblem, match="left alone"):
            book.backup(tmp_path / "copy.sqlite")
        with open_book(tmp_path / "copy.sqlite") as copy:
            assert [e.id for e in copy.events()] == [e.id for e in book.events()][:3]
            assert list(copy.states()) == list(book.states())
            assert list(copy.photos()) == list(book.photos())
    assert not list(tmp_path.glob(".*part*")), "nothing half-made is left"


def test_an_export_comes_back_the_same_and_twice_makes_no_difference(tmp_path: Path) -> None:
    with filled(tmp_path / "a.sqlite") as one, open_book(tmp_path / "b.sqlite") as two:
        lines = list(export_lines(one))
        assert max(len(row.encode()) for row in lines) <= 64 * 1024
        raw = "\n".join(lines).encode()
        first, again = import_lines(two, raw), import_lines(two, raw)
        assert (first.events, first.new, first.states, first.photos) == (3, 3, 1, 1)
        assert again.new == 0
        assert list(export_lines(two)) == lines


def test_a_book_too_large_for_one_import_is_exported_in_parts_that_each_go_in(tmp_path: Path) -> None:
    with open_book(tmp_path / "a.sqlite") as one, open_book(tmp_path / "b.sqlite") as two:
        one.append(turns(i) for i in range(1, 40))
        shas = {one.put_state(bytes([i]) * 70_000) for i in range(5)}
        parts = list(export_parts(one, 150_000))
        assert len(parts) >= 4
        assert max(sum(len(row.encode()) + 1 for row in part) for part in parts) <= 150_000
        assert [row for part in parts for row in part] == list(export_lines(one))
        for part in reversed(parts):
            import_lines(two, "\n".join(part).encode())
        assert two.count() == 39
        assert {sha for sha, _ in two.states()} == shas


WRONG_LINES = {
    "not JSON": b"{",
    "not UTF-8": b'{"v":"\xff"}',
    "too long": b'{"v":"' + b"x" * 70000 + b'"}',
    "no event": b'{"v":1}',
    "a piece of nothing": b'{"state":"x","piece":0,"of":1,"base64":""}',
    "a hash that is not its own": b'{"state":"' + b"0" * 64 + b'","piece":0,"of":1,"base64":"YQ=="}',
    "a piece that is missing": b'{"state":"' + b"0" * 64 + b'","piece":0,"of":2,"base64":"YQ=="}',
    "no base64": b'{"photo":"' + b"0" * 64 + b'","piece":0,"of":1,"base64":"*"}',
}


@pytest.mark.parametrize("row", WRONG_LINES.values(), ids=WRONG_LINES)
def test_one_wrong_line_and_nothing_is_imported(row: bytes, book: Book) -> None:
    with pytest.raises(BookProblem, match="; came "):
        import_lines(book, line(turns(1)).encode() + b"\n" + row + b"\n" + line(turns(2)).encode())
    assert book.count() == 0


def test_an_import_that_is_far_too_large_is_refused(book: Book) -> None:
    with pytest.raises(BookProblem, match="64 MiB"):
        import_lines(book, b"\n" * (64 * 1024 * 1024 + 1))


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=400), st.integers(0, 500))
def test_any_bytes_are_read_or_refused_with_a_sentence(junk: bytes, at: int) -> None:
    good = "\n".join(line(turns(i)) for i in (1, 2)).encode()
    for raw in (junk, good[:at] + junk + good[at:]):
        try:
            events, _ = read_lines(raw)
        except BookProblem:
            continue
        assert len(events) <= 2 or junk


# ---- photos ----


def chunk(kind: bytes, data: bytes) -> bytes:
    """One chunk of a PNG file (W3C PNG, 5.3)."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


PLACE = b"latitude 48.2 longitude 16.3"
PNG = (
    b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0))
    + chunk(b"eXIf", PLACE) + chunk(b"tEXt", b"Comment\0" + PLACE) + chunk(b"IDAT", zlib.compress(b"\0\0"))
    + chunk(b"IEND", b"")
)  # fmt: skip


def segment(marker: int, data: bytes) -> bytes:
    """One segment of a JPEG file (ISO/IEC 10918-1, B.1.1.4)."""
    return b"\xff" + bytes([marker]) + struct.pack(">H", len(data) + 2) + data


JPEG = (
    b"\xff\xd8" + segment(0xE0, b"JFIF\0\1\1\0\0\1\0\1\0\0") + segment(0xE1, b"Exif\0\0" + PLACE) + segment(0xFE, PLACE)
    + segment(0xDB, b"\0" + b"\1" * 64) + segment(0xDA, b"\1\1\0\0\x3f\0") + b"\x12\xff\x00\x34\xff\xd0\x56"
    + b"\xff\xd9" + PLACE
)  # fmt: skip


def riff(kind: bytes, data: bytes) -> bytes:
    """One chunk of a WebP file (RFC 9649, 2.3)."""
    return kind + struct.pack("<I", len(data)) + data + b"\0" * (len(data) & 1)


_INSIDE = (
    riff(b"VP8X", b"\x0c\0\0\0\0\0\0\0\0\0")
    + riff(b"VP8L", b"\x2f\0\0\0\0")
    + riff(b"EXIF", PLACE)
    + riff(b"XMP ", PLACE)
)
WEBP = b"RIFF" + struct.pack("<I", 4 + len(_INSIDE)) + b"WEBP" + _INSIDE


@pytest.mark.parametrize(("raw", "media"), [(PNG, "image/png"), (JPEG, "image/jpeg"), (WEBP, "image/webp")])
def test_a_photo_is_kept_without_its_place(raw: bytes, media: str) -> None:
    told, kept = cleaned(raw)
    assert told == media
    assert PLACE in raw
    assert PLACE[:8] not in kept
    assert cleaned(kept) == (media, kept), "cleaning twice changes nothing more"


def test_the_picture_itself_is_unchanged() -> None:
    assert zlib.compress(b"\0\0") in cleaned(PNG)[1]
    assert b"\x12\xff\x00\x34\xff\xd0\x56\xff\xd9" in cleaned(JPEG)[1]
    assert cleaned(WEBP)[1][20] & 0x0C == 0, "the head no longer promises EXIF and XMP"


@settings(max_examples=200, deadline=None)
@given(st.sampled_from([PNG, JPEG, WEBP]), st.integers(0, 200), st.binary(max_size=30))
def test_a_mangled_photo_is_cleaned_or_refused_with_a_sentence(raw: bytes, at: int, junk: bytes) -> None:
    for mangled in (raw[:at] + junk + raw[at + len(junk) :], raw[:at], junk):
        with contextlib.suppress(BookProblem):
            media, kept = cleaned(mangled)
            assert cleaned(kept) == (media, kept)


# ---- where it lies ----


def test_a_disk_of_the_network_and_a_synchronised_folder_are_warned_of(tmp_path: Path) -> None:
    mounts = tmp_path / "mounts"
    mounts.write_text(f"/dev/sda / ext4 rw 0 0\nserver:/x {tmp_path} nfs4 rw 0 0\n")
    assert "disk of the network (nfs4)" in beside_the_disk(tmp_path / "a" / "book.sqlite", mounts)[0]
    mounts.write_text("/dev/sda / ext4 rw 0 0\n")
    assert beside_the_disk(tmp_path / "a" / "book.sqlite", mounts) == ()
    (tmp_path / ".stfolder").mkdir()
    assert "synchronises" in beside_the_disk(tmp_path / "a" / "book.sqlite", mounts)[0]
