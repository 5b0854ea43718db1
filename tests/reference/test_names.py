"""Look-ups by name: every listed name is found, spelling is forgiven, anything else gets a sentence with the names."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.errors import CatalogueError, DomainError
from lodestring.quantity import WireSize, read_wire_size
from lodestring.reference import (
    Catalogue,
    catalogue,
    enamel,
    gauge_number,
    magnet,
    metal,
    names,
    plastic,
    screw,
    string_material,
    wax,
    wire,
)

LOOKUPS: dict[str, Callable[[str], object]] = {
    "enamel": enamel,
    "metals": metal,
    "magnets": magnet,
    "plastics": plastic,
    "waxes": wax,
    "strings": string_material,
    "screws": screw,
}


@pytest.mark.parametrize(
    ("table", "name"), [(t, n) for t in LOOKUPS for n in names(t)], ids=lambda v: v.replace(" ", "_")
)
def test_every_listed_name_is_found_and_names_rows_that_exist(table: str, name: str) -> None:
    found = LOOKUPS[table](name)
    rows = found.rows  # type: ignore[attr-defined]
    assert rows
    assert all(catalogue().row(row).id == row for row in rows)
    assert LOOKUPS[table](name.upper()) == found
    assert LOOKUPS[table](f"  {name} ".replace(" ", "  ")) == found


@pytest.mark.parametrize(
    ("table", "typed", "meant"),
    [
        ("plastics", "vulcanized fiber", "vulcanised fibre"),
        ("plastics", "nylon 12", "PA12"),
        ("metals", "mild steel", "low-carbon steel"),
        ("metals", "C75200", "nickel silver"),
        ("metals", "aluminum", "aluminium"),
        ("strings", "nickel", "pure nickel"),
        ("magnets", "neodymium N42", "NdFeB N42"),
        ("magnets", "Alnico_5", "alnico 5"),
        ("enamel", "PET", "polyester"),
    ],
)
def test_other_names_of_a_material(table: str, typed: str, meant: str) -> None:
    assert LOOKUPS[table](typed) == LOOKUPS[table](meant)


@pytest.mark.parametrize(
    ("table", "typed", "guess"),
    [
        ("enamel", "polyurethan", "'polyurethane'"),
        ("metals", "copprr", "'copper'"),
        ("magnets", "alnico V", "'alnico"),
        ("plastics", "PETF", "'PETG'"),
        ("waxes", "bees wax", "'beeswax'"),
        ("strings", "nickle-plated steel", "'nickel-plated steel'"),
        ("screws", "M3.5", "'M3'"),
    ],
)
def test_a_near_miss_is_answered_with_a_guess_and_the_whole_list(table: str, typed: str, guess: str) -> None:
    with pytest.raises(CatalogueError) as caught:
        LOOKUPS[table](typed)
    message = str(caught.value)
    assert "did you mean" in message
    assert guess in message
    assert all(name in message for name in names(table))


@given(table=st.sampled_from(sorted(LOOKUPS)), text=st.text(max_size=40))
def test_any_text_is_found_or_refused_with_a_sentence(table: str, text: str) -> None:
    refused: CatalogueError | None = None
    try:
        found = LOOKUPS[table](text)
    except CatalogueError as problem:
        refused = problem
    if refused is None:
        assert found.rows  # type: ignore[attr-defined]
    else:
        assert all((refused.must, refused.came, refused.attempt))


def test_alnico_5_dg_and_5_7_are_not_taken_for_alnico_5() -> None:
    assert len({magnet(g).remanence.nominal for g in ("alnico 5", "alnico 5DG", "alnico 5-7")}) == 3


def test_a_magnets_row_must_be_typical_or_minimum() -> None:
    with pytest.raises(CatalogueError, match="one of: typical, minimum"):
        magnet("alnico 5", "maximum")


@pytest.mark.parametrize("table", ["enamel", "metal", "metals", "bands", "cautions", "coins", "wire"])
def test_names_are_listed_for_singular_and_plural(table: str) -> None:
    assert len(names(table)) == len(set(names(table))) > 0


def test_no_brand_is_a_name() -> None:
    """House rule: brand names of materials are not used. The trade's common brands of film, fibre and enamel."""
    brands = ("formvar", "forbon", "teflon", "kapton", "nylon", "delrin", "mylar", "nomex", "permalloy", "alcomax")
    listed = [n.lower() for t in (*LOOKUPS, "bands") for n in names(t)]
    assert not [b for b in brands if any(b in n for n in listed)]


# wire -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "film", "label"),
    [
        ("42 AWG", "single", "42 AWG"),
        ("43 AWG", "heavy", "43 AWG"),
        ("0.063 mm", "grade 1", "0.063 mm"),
        ("0.071 mm", "heavy", "0.071 mm"),
    ],
)
def test_a_size_as_the_set_file_has_it(typed: str, film: str, label: str) -> None:
    found = wire(read_wire_size(typed), film)
    assert found.label == label
    assert all(catalogue().row(row).id == row for row in found.rows)
    assert len(found.rows) == 2


def size(typed: str) -> WireSize:
    return read_wire_size(typed)


@pytest.mark.parametrize(
    ("typed", "film", "words"),
    [
        (
            "35 AWG",
            "single",
            "35 AWG, of which bare and overall diameter is missing; try a neighbour that has it: 36 AWG or 37 AWG",
        ),
        (
            "50 AWG",
            "heavy",
            "50 AWG, of which bare and overall diameter is missing; try a neighbour that has it: 45 AWG or 46 AWG",
        ),
        (
            "0.0645 mm",
            "grade 1",
            "0.0645 mm, of which .* is missing; try a neighbour that has it: 0.063 mm or 0.067 mm",
        ),
        ("0.0634 mm", "grade 1", "0.0634 mm, of which .* is missing"),
        ("0.5 mm", "single", "0.120 mm or 0.125 mm"),
        ("42 AWG", "grade 1", "'single' for grade 1"),
        ("0.063 mm", "triple", "one of: single, heavy, grade 1, grade 2"),
        ("42 AWG", "", "must be single or heavy"),
    ],
)
def test_a_size_or_film_without_figures_says_what_is_missing_and_who_has_it(typed: str, film: str, words: str) -> None:
    with pytest.raises(CatalogueError, match=words):
        wire(size(typed), film)


def test_a_missing_film_of_a_known_size_names_the_film_and_the_neighbours() -> None:
    """The catalogue has all films of its sizes, so the case is made by taking the heavy row of 42 AWG out."""

    def read(file: str) -> bytes:
        data = resources.files("lodestring.reference").joinpath("data", file).read_bytes()
        return data.replace(b"wire.awg-42.nema-heavy", b"wire.awg-42.taken-out")

    with pytest.raises(
        CatalogueError, match=r"42 AWG, of which the overall diameter with heavy film is missing.*41 AWG or 43 AWG"
    ):
        wire(size("42 AWG"), "heavy", Catalogue(read))


def test_a_size_of_another_system_is_refused() -> None:
    @dataclass(frozen=True)
    class Other:
        system: str = "SWG"
        number: float | None = 42
        diameter: float | None = None

    with pytest.raises(CatalogueError, match="must be a gauge or a metric size; came the system 'SWG'"):
        wire(Other(), "single")


@pytest.mark.parametrize(("millimetres", "gauge"), [(0.127, 36), (0.063341, 42), (0.039835, 46), (11.684, -3)])
def test_the_gauge_of_a_diameter_inverts_the_formula(millimetres: float, gauge: float) -> None:
    """ASTM B258: 0.0050 in is 36 and 0.4600 in is 0000, written -3; six printed digits, so 1e-4 of a gauge."""
    assert gauge_number(millimetres * 1e-3) == pytest.approx(gauge, abs=1e-3)


@pytest.mark.parametrize("diameter", [0.0, -1.0, math.nan, math.inf])
def test_the_gauge_of_no_diameter_is_refused(diameter: float) -> None:
    with pytest.raises(DomainError, match="must be greater than zero"):
        gauge_number(diameter)
