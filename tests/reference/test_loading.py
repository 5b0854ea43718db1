"""How the catalogue loads: a row that lacks anything does not, and nothing is read too early."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from collections.abc import Callable
from importlib import resources

import pytest

import lodestring.reference as reference
from lodestring.errors import CatalogueError
from lodestring.reference import HOW_KNOWN, Catalogue, catalogue, describe
from lodestring.reference.reading import read_rows, read_sources
from lodestring.reference.records import Row

GOOD = """
[[row]]
id = "metal.tin"
title = "tin"
conditions = "20 C"
source = "book"
place = "page 1"
known = "memory lo"
values.density = { value = 7.3, unit = "g/cm3", spread = { percent = 1 } }
"""


def load(text: str) -> tuple[Row, ...]:
    return read_rows("metals.toml", text.encode(), "metal.", {"book"})


def test_a_whole_row_loads_in_si() -> None:
    (row,) = load(GOOD)
    density = row["density"]
    assert (density.value, density.unit) == (pytest.approx(7300), "kg/m3")
    assert (density.low, density.high) == (pytest.approx(7227), pytest.approx(7373))
    assert density.written == "7.3 g/cm3 (7.227 to 7.373)"
    assert (density.source, density.place, density.known) == ("book", "page 1", "memory lo")


def without(key: str) -> str:
    return "\n".join(line for line in GOOD.splitlines() if not line.startswith(key))


def swapped(old: str, new: str) -> str:
    assert old in GOOD
    return GOOD.replace(old, new)


SPREAD = "spread = { percent = 1 }"
MANGLED: list[tuple[str, str, str]] = [
    *((f"no-{key}", without(key), f"`{key}`") for key in ("title", "conditions", "source", "place", "known", "values")),
    ("no-id", without("id"), "`id`"),
    *(
        (f"empty-{key}", swapped(old, new), f"`{key}`")
        for key, old, new in (
            ("title", '"tin"', '""'),
            ("conditions", '"20 C"', '"  "'),
            ("place", '"page 1"', "7"),
            ("id", '"metal.tin"', "3"),
        )
    ),
    ("unknown-source", swapped('"book"', '"a pamphlet"'), "'a pamphlet'"),
    ("unknown-known", swapped('"memory lo"', '"quite sure"'), "'quite sure'"),
    ("wrong-prefix", swapped('"metal.tin"', '"wood.oak"'), "'wood.oak'"),
    ("unknown-key", GOOD + 'colour = "grey"\n', "colour"),
    ("unknown-row-key", swapped('title = "tin"', 'title = "tin"\ncolour = "grey"'), "colour"),
    ("empty-values", without("values") + "\nvalues = {}\n", "`values`"),
    ("values-no-table", without("values") + "\nvalues = 7\n", "`values`"),
    ("figure-bare-number", without("values") + "\nvalues.density = 7.3\n", "values.density"),
    ("figure-no-unit", swapped(' unit = "g/cm3",', ""), "`unit`"),
    ("figure-unknown-unit", swapped('"g/cm3"', '"stone"'), "'stone'"),
    ("figure-no-spread", swapped(f", {SPREAD}", ""), "`spread`"),
    ("figure-odd-spread", swapped(SPREAD, "spread = { sigma = 1 }"), "`spread`"),
    ("figure-word-spread", swapped(SPREAD, 'spread = "wide"'), "`spread`"),
    ("figure-half-a-range", swapped(SPREAD, "spread = { low = 7 }"), "`spread`"),
    ("figure-outside-its-range", swapped(SPREAD, "spread = { low = 8, high = 9 }"), "low <= value <= high"),
    ("figure-negative-half", swapped(SPREAD, "spread = { half = -1 }"), "low <= value <= high"),
    ("figure-no-value", swapped("value = 7.3, ", ""), "`value`"),
    ("figure-nan", swapped("7.3", "nan"), "finite"),
    ("figure-inf", swapped("7.3", "1e400"), "finite"),
    ("figure-true", swapped("7.3", "true"), "finite"),
    ("figure-text-number", swapped("7.3", '"7.3"'), "finite"),
    ("figure-unknown-key", swapped(SPREAD, f"{SPREAD}, hue = 3"), "hue"),
    ("figure-unknown-own-source", swapped(SPREAD, f'{SPREAD}, source = "hearsay"'), "'hearsay'"),
    ("figure-unknown-own-known", swapped(SPREAD, f'{SPREAD}, known = "perhaps"'), "'perhaps'"),
    ("band-upside-down", without("values") + '\nvalues.x = { low = 3, high = 2, unit = "1" }\n', "low <= value"),
    ("band-without-high", without("values") + '\nvalues.x = { low = 3, unit = "1" }\n', "`high`"),
    ("text-empty", without("values") + '\nvalues.x = { text = "" }\n', "`text`"),
    ("text-with-unit", without("values") + '\nvalues.x = { text = "yes", unit = "1" }\n', "unit"),
    ("no-such-common", swapped('title = "tin"', 'title = "tin"\ncommon = "sheet"'), "[common.NAME]"),
    ("twice", GOOD + GOOD, "used once"),
]


@pytest.mark.parametrize(("text", "missing"), [m[1:] for m in MANGLED], ids=[m[0] for m in MANGLED])
def test_a_mangled_row_does_not_load_and_the_error_names_file_row_and_lack(text: str, missing: str) -> None:
    with pytest.raises(CatalogueError) as caught:
        load(text)
    message = str(caught.value)
    assert message.startswith("metals.toml: row ")
    assert "metal.tin" in message or "wood.oak" in message or "row 1" in message or "row 3" in message
    assert missing in message


@pytest.mark.parametrize(
    "text", ["", "[[row]\n", "row = [\x00]", "\ud800"], ids=["empty", "broken", "nul", "surrogate"]
)
def test_a_file_that_is_no_table_of_rows_is_a_sentence(text: str) -> None:
    with pytest.raises(CatalogueError, match=r"metals\.toml: a catalogue file must"):
        read_rows("metals.toml", text.encode("utf-8", "surrogatepass"), "metal.", {"book"})


def test_common_keys_fill_a_row_and_a_rows_own_keys_win() -> None:
    text = '[common.sheet]\nsource = "book"\nknown = "memory hi"\nplace = "anywhere"\n' + without("source").replace(
        'known = "memory lo"\n', 'common = "sheet"\n'
    )
    (row,) = load(text)
    assert (row.source, row.known, row.place) == ("book", "memory hi", "page 1")


def test_a_half_width_in_celsius_is_a_difference() -> None:
    """Trap of our own: converting the half-width as a temperature would add 273.15 to it."""
    (row,) = load(without("values") + '\nvalues.melting = { value = 232, unit = "C", spread = { half = 2 } }\n')
    assert row["melting"].spread().low == pytest.approx(230 + 273.15)


def test_a_source_must_be_whole_and_single() -> None:
    whole = '[[source]]\nid = "a"\ntitle = "A"\nwhat = "book"\nyear = "1900"\n'
    assert read_sources("sources.toml", whole.encode())["a"].title == "A"
    for key in ("id", "title", "what", "year"):
        cut = "\n".join(line for line in whole.splitlines() if not line.startswith(key))
        with pytest.raises(CatalogueError, match=f"sources.toml: source .* must have `{key}`"):
            read_sources("sources.toml", cut.encode())
    with pytest.raises(CatalogueError, match="used once"):
        read_sources("sources.toml", (whole + whole).encode())


def every_row() -> list[Row]:
    shelf = catalogue()
    return [row for name in shelf.tables() for row in shelf.table(name)]


def test_every_row_of_the_catalogue_is_whole() -> None:
    sources = catalogue().sources()
    for row in every_row():
        assert row.source in sources
        assert row.known in HOW_KNOWN
        assert row.conditions
        assert row.place
        for name, value in row.values.items():
            assert value.source in sources, (row.id, name)
            assert value.known in HOW_KNOWN, (row.id, name)
            if not value.text:
                assert value.low is not None, (row.id, name)
                assert value.high is not None, (row.id, name)
                assert value.low <= value.spread().nominal <= value.high, (row.id, name)


def test_every_source_is_used() -> None:
    used = {row.source for row in every_row()} | {v.source for row in every_row() for v in row.values.values()}
    assert set(catalogue().sources()) == used


def test_row_ids_are_unique_across_all_tables() -> None:
    ids = [row.id for row in every_row()]
    assert len(ids) == len(set(ids))


def test_what_is_recalled_assumed_or_practice_does_not_claim_to_be_read() -> None:
    """A source that is memory, practice or assumption cannot have been read in a standard."""
    for row in every_row():
        for value in row.values.values():
            if value.source in ("memory", "practice", "assumed", "handbook", "iec-60317"):
                assert value.known not in ("standard read", "second-hand"), (row.id, value)


def test_a_row_says_everything_in_printable_words() -> None:
    for row in every_row():
        told = describe(row)
        assert list(told) == ["id", "title", "values", "conditions", "source", "address", "place", "known"]
        assert all(isinstance(v, str) and v.isprintable() for v in told.values())
        assert all(told[key] for key in told if key != "address")


def test_a_figure_with_a_source_of_its_own_says_so() -> None:
    told = describe(catalogue().row("enamel.polyurethane"))["values"]
    assert "permittivity 3.7 (3.2 to 4.2);" in told
    assert "[Trade pages on solderable polyurethane wire (IEC 60317-20), bath temperature; second-hand]" in told


def reader(seen: list[str], change: Callable[[str, bytes], bytes] = lambda _, data: data) -> Callable[[str], bytes]:
    def read(file: str) -> bytes:
        seen.append(file)
        return change(file, resources.files("lodestring.reference").joinpath("data", file).read_bytes())

    return read


def test_a_table_is_read_once_and_only_when_asked_for() -> None:
    seen: list[str] = []
    shelf = Catalogue(reader(seen))
    assert seen == []
    assert shelf.row("metal.copper").title == "copper"
    assert sorted(seen) == ["metals.toml", "sources.toml"]
    shelf.table("metals")
    shelf.row("metal.nickel")
    assert sorted(seen) == ["metals.toml", "sources.toml"]


def test_the_digest_is_stable_and_covers_every_byte_of_every_file() -> None:
    digest = Catalogue(reader([])).digest
    assert digest == catalogue().digest
    assert digest.startswith("sha256:")
    assert len(digest) == len("sha256:") + hashlib.sha256().digest_size * 2
    for file in ("sources.toml", *(f"{name}.toml" for name in catalogue().tables())):
        touched = Catalogue(reader([], lambda f, data, file=file: data + b"#" if f == file else data))
        assert touched.digest != digest, file


def test_the_digest_does_not_depend_on_line_ends() -> None:
    """A checkout on another system is the same catalogue."""
    other = Catalogue(reader([], lambda _, data: data.replace(b"\n", b"\r\n")))
    assert other.digest == catalogue().digest


def test_every_data_file_is_a_table() -> None:
    files = {p.name for p in resources.files("lodestring.reference").joinpath("data").iterdir()}
    assert files == {"sources.toml", *(f"{name}.toml" for name in catalogue().tables())}


def test_the_wire_table_is_the_three_wire_tables_together() -> None:
    shelf = catalogue()
    assert shelf.table("wire") == shelf.table("wire-awg") + shelf.table("wire-metric") + shelf.table("wire-strength")


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda c: c.table("metal"), "did you mean 'metals'"),
        (lambda c: c.row("metal.coper"), "did you mean 'metal.copper'"),
        (lambda c: c.row("cheese.brie"), "must start with the name of its table"),
        (lambda c: c.row(""), "must start with the name of its table"),
        (lambda c: c.row("metal.copper")["hardness"], "a figure of the row metal.copper"),
        (lambda c: c.source("astm-b259"), "did you mean 'astm-b258'"),
        (lambda c: c.row("enamel.polyurethane")["solderable"].spread(), "must be a number"),
    ],
    ids=["table", "row", "row-of-nothing", "empty-row", "figure", "source", "text-as-number"],
)
def test_what_is_not_there_is_a_sentence(ask: Callable[[Catalogue], object], words: str) -> None:
    with pytest.raises(CatalogueError, match=words):
        ask(catalogue())


def test_rows_and_tables_cannot_be_changed() -> None:
    row = catalogue().row("metal.copper")
    with pytest.raises(AttributeError):
        row.title = "gold"  # type: ignore[misc]
    with pytest.raises(TypeError):
        row.values["resistivity"] = row["density"]  # type: ignore[index]
    with pytest.raises(TypeError):
        catalogue().sources()["x"] = catalogue().source("mmpa")  # type: ignore[index]


def test_the_public_face_is_what_can_be_imported() -> None:
    for name in reference.__all__:
        assert getattr(reference, name) is not None
    assert sorted(reference._HOME) == sorted(reference.__all__)
    assert set(reference.__all__) <= set(dir(reference))
    with pytest.raises(AttributeError, match="no attribute 'wires'"):
        _ = reference.wires


def test_importing_the_catalogue_reads_no_table_and_no_parser() -> None:
    """Start-up budget: a help text must not pay for TOML. Counted in modules, as milliseconds depend on the machine."""
    program = (
        "import sys; import lodestring.reference as r; "
        "print('tomllib' in sys.modules, any(m.startswith('lodestring.reference.') for m in sys.modules)); "
        "r.metal('copper'); print('tomllib' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False", "True"]
