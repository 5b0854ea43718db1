"""Which parts a set needs, and where their wire's ways out lie: read off the set, without the kernel."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import pytest
from parts_examples import assessed
from shapely.geometry import LineString, Point, Polygon

from lodestring.assess.report import Assessment
from lodestring.errors import CatalogueError
from lodestring.parts.assembly import assembly_findings, clearances
from lodestring.parts.choices import Choices
from lodestring.parts.pieces import only, pieces
from lodestring.parts.records import Bobbin, Carrier, Cover, Jig, Plate, Ring

COVER = (("pickup.main.cover", '{ material = "nickel silver", thickness = "0.5 mm" }'),)
BASE = (("pickup.bridge.baseplate", '{ material = "brass", thickness = "1 mm" }'), ("pickup.bridge.housing", None))
ON_RODS = {"top-plate", "bottom-plate", "press-jig", "spacer"}
OVER_BARS = {"front-bobbin", "rear-bobbin", "bar-carrier"}
Changes = tuple[tuple[str, str | None], ...]
CASES: dict[str, tuple[str, Changes, str, set[str]]] = {
    "rods that hold plates": ("heron", (), "bridge", ON_RODS | {"ring", "template"}),
    "two rods a string": ("wren", (), "main", ON_RODS | {"ring", "template"}),
    "walled coils over bars": ("plover", (), "main", OVER_BARS | {"ring", "template"}),
    "a cover in place of a ring": ("plover", COVER, "main", OVER_BARS | {"cover", "template"}),
    "a baseplate, no housing": ("heron", BASE, "bridge", ON_RODS | {"baseplate"}),
}


@pytest.mark.parametrize(("of", "changes", "pickup", "wanted"), CASES.values(), ids=CASES.keys())
def test_a_set_asks_for_the_parts_it_is_made_of(of: str, changes: Changes, pickup: str, wanted: set[str]) -> None:
    found = {p.name.removeprefix(f"{pickup}-") for p in pieces(assessed(of, changes)) if p.pickup == pickup}
    assert found == wanted


def test_names_are_safe_and_used_once(heron: Assessment, plover: Assessment) -> None:
    for assessment in (heron, plover):
        names = [p.name for p in pieces(assessment)]
        assert len(set(names)) == len(names)
        assert all(n.replace("-", "").isalnum() and n.islower() for n in names)


def test_fibre_is_cut_and_plastic_that_melts_is_printed(heron: Assessment, plover: Assessment) -> None:
    assert {p.process for p in pieces(heron) if p.name.endswith("plate")} == {"cut sheet"}
    assert {p.process for p in pieces(plover) if p.name.endswith("bobbin")} == {"filament"}


def test_only_some_parts_are_asked_for_by_name_or_by_pickup(heron: Assessment) -> None:
    every = pieces(heron)
    assert [p.name for p in only(every, ("bridge-ring",))] == ["bridge-ring"]
    assert {p.pickup for p in only(every, ("neck",))} == {"neck"}
    assert only(every, ()) == every
    with pytest.raises(CatalogueError, match="bridge-ring"):
        only(every, ("bridge-rings",))


@pytest.mark.parametrize("of", ["heron", "plover", "wren"])
def test_the_start_wire_leaves_outside_the_coil_and_clear_of_rods_and_edge(of: str) -> None:
    """Against shapely: plate less holes; the groove from the core to the start's eyelet."""
    for p in pieces(assessed(of)):
        plate = p.shape.bottom if isinstance(p.shape, Bobbin) else p.shape
        if not isinstance(plate, Plate) or not any(h.what == "start" for h in plate.holes):
            continue
        half = plate.length / 2 - plate.corner
        outline = LineString([(-half, 0), (half, 0)]).buffer(plate.width / 2, quad_segs=64)
        discs = {h: Point(h.x, h.y).buffer(h.drawn / 2, quad_segs=64) for h in plate.holes}
        rods = [d for h, d in discs.items() if h.what == "rod"]
        ways = [d for h, d in discs.items() if h.what != "rod"]
        assert len(ways) == 3
        for d in ways:
            assert outline.exterior.distance(d) > 0.9e-3  # a web of plastic or fibre
            assert min(d.distance(r) for r in rods) > 2e-3
            assert min(d.distance(o) for o in ways if o is not d) > 0.9e-3
        middle = {(h.x, h.y) for h in plate.holes if h.what == "start"}
        if plate.groove is None:  # engraved on sheet
            ((start, end),) = plate.marks.runs
        else:
            start, end = plate.groove.start, plate.groove.end
        assert end in middle
        path = LineString([start, end])
        assert min(path.distance(r) for r in rods) > 0.5e-3
        rims = sorted(h.x for h in plate.holes if h.what == "rod")
        assert abs(start[0]) < abs(rims[0]) + 6e-3  # begins at the core's end, not out in the free plate


def test_a_press_jig_stops_every_rod_at_its_own_height(heron: Assessment) -> None:
    (jig,) = [p.shape for p in pieces(heron) if p.name == "bridge-press-jig"]
    assert isinstance(jig, Jig)
    # heron.toml: 1.0, 1.0, 1.5, 1.5, 1.0, 1.0 mm from string 1 on
    assert [w.depth * 1e3 for w in jig.wells] == pytest.approx([1.0, 1.0, 1.5, 1.5, 1.0, 1.0])
    assert jig.floor >= 2e-3
    plates = [p.shape for p in pieces(heron) if p.name == "bridge-top-plate"]
    assert isinstance(plates[0], Plate)
    assert [w.x for w in jig.wells] == pytest.approx([h.x for h in plates[0].holes])
    assert [w.y for w in jig.wells] == pytest.approx([-h.y for h in plates[0].holes])  # face down


def test_the_bar_carrier_brings_the_bars_up_against_the_feet_of_the_pole_pieces(plover: Assessment) -> None:
    (carrier,) = [p.shape for p in pieces(plover) if p.name == "main-bar-carrier"]
    assert isinstance(carrier, Carrier)
    # plover.toml by hand: bobbins 14 mm high; bars from -17.5 to -21.5 mm; feet of the pole pieces at 0.5 - 18 = -17.5
    assert carrier.body.thickness == pytest.approx(7.5e-3)
    assert [p.depth for p in carrier.pockets] == pytest.approx([4e-3, 4e-3])
    assert sorted(p.y for p in carrier.pockets) == pytest.approx([-9e-3, 9e-3])
    assert len(carrier.body.holes) == 16
    for pocket in carrier.pockets:  # every hole runs into a pocket
        field = Polygon([(pocket.x + i * pocket.length / 2, pocket.y + j * pocket.width / 2)
                         for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))])  # fmt: skip
        assert sum(field.contains(Point(h.x, h.y)) for h in carrier.body.holes) == 8


def test_a_ring_has_the_housing_s_clear_inside_and_its_screws_beside_the_wall(heron: Assessment) -> None:
    (ring,) = [p.shape for p in pieces(heron, Choices(screw="#4")) if p.name == "bridge-ring"]
    assert isinstance(ring, Ring)
    assert (ring.length, ring.width, ring.height, ring.corner) == pytest.approx((84e-3, 19e-3, 20e-3, 9e-3))
    for h in ring.holes:
        assert h.nominal == pytest.approx(0.128 * 25.4e-3)  # ASME B18.2.8, normal fit, from memory
        assert abs(h.x) - h.drawn / 2 > ring.length / 2 + ring.wall


def test_a_cover_s_holes_are_over_the_pole_pieces_seen_from_below() -> None:
    (cover,) = [p.shape for p in pieces(assessed("plover", COVER)) if p.name == "main-cover"]
    assert isinstance(cover, Cover)
    rows = {round(h.y * 1e3, 1) for h in cover.holes}
    assert rows == {-9.0, 9.0}
    assert len(cover.holes) == 16
    assert min(h.nominal for h in cover.holes) > 4.8e-3


def test_clearances_shrink_by_the_turns_that_are_added(plover: Assessment) -> None:
    given = (*COVER, ("pickup.main.cover.size", '["96 mm", "38 mm", "15 mm"]'))
    more = (*given, ("pickup.main.coil.front.turns", "5600"))
    room = [{(c.coil, c.between): c.room for c in clearances(assessed("plover", change))} for change in (given, more)]
    key = ("front", "coil and cover")
    assert room[0][key] > room[1][key]
    assert room[0]["rear", "coil and cover"] == room[1]["rear", "coil and cover"]


def test_a_cover_too_narrow_for_the_coil_is_a_blocker_and_a_wide_one_is_not() -> None:
    for wide, blocked in (("33 mm", True), ("44 mm", False)):
        sized = (*COVER, ("pickup.main.cover.size", f'["98 mm", "{wide}", "15 mm"]'))
        found = [f for f in assembly_findings(assessed("plover", sized)) if f.code == "parts-touch"]
        assert any(f.severity == "blocker" and "cover" in f.sentence for f in found) is blocked


def test_a_plate_without_a_free_end_is_told() -> None:
    short = (("pickup.main.coil.main.bobbin.plate.length", '"52 mm"'),)
    found = [f.code for f in assembly_findings(assessed("wren", short))]
    assert "no-room-for-eyelets" in found
    assert "no-room-for-eyelets" not in [f.code for f in assembly_findings(assessed("wren"))]


def test_an_untried_printer_is_told_once_and_a_tried_one_is_not(heron: Assessment) -> None:
    from lodestring.parts.fit import Calibration, Tried

    assert [f.code for f in assembly_findings(heron)].count("fit-not-tested") == 1
    tried = replace(Choices(), printer=Calibration("filament", (Tried("hole", "upright", 4.8e-3, 5.1e-3, 4.9e-3),)))
    assert "fit-not-tested" not in [f.code for f in assembly_findings(heron, tried)]
    (piece,) = [p for p in pieces(heron, tried) if p.name.startswith("test-piece")]
    assert not piece.needed


def test_listing_the_parts_loads_no_kernel() -> None:
    code = (
        "import sys; import lodestring.parts.pieces, lodestring.parts.worker, lodestring.parts.checks;"
        "import lodestring.parts.files, lodestring.parts.assembly, lodestring.parts.views;"
        "print([m for m in ('build123d', 'OCP', 'ezdxf') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("of", ["heron", "plover", "wren"])
def test_the_wire_leaves_beyond_the_last_turn(of: str) -> None:
    """Eyelets and lead-out against the outline of the wound coil as the set's own figures give it."""
    assessment = assessed(of)
    for p in pieces(assessment):
        plate = p.shape.bottom if isinstance(p.shape, Bobbin) else p.shape
        if not isinstance(plate, Plate) or not any(h.what == "start" for h in plate.holes):
            continue
        coil = f"pickup.{p.pickup}.coil.{p.coil or 'main'}"
        straight = assessment.number(f"{coil}.straight_length")
        end = (assessment.number(f"{coil}.outer_length") - straight) / 2
        wound = LineString([(-straight / 2, 0), (straight / 2, 0)]).buffer(end, quad_segs=64)
        for h in plate.holes:
            if h.what in ("start", "finish", "lead-out"):
                assert wound.distance(Point(h.x, h.y)) > h.drawn / 2


@pytest.mark.parametrize("of", ["heron", "plover"])
def test_ears_that_are_chosen_hold_a_screw_beyond_the_plate_s_end(kernel: object, of: str) -> None:
    from lodestring.parts.checks import check

    eared = replace(Choices(), ears=True, screw="M2.5")
    for p in pieces(assessed(of), eared):
        if p.name.endswith(("bottom-plate", "bobbin")):
            plate = p.shape.bottom if isinstance(p.shape, Bobbin) else p.shape
            assert isinstance(plate, Plate)
            screws = [h for h in plate.holes if h.what == "screw M2.5"]
            assert [h.nominal for h in screws] == [2.9e-3] * 2  # ISO 273, medium
            assert all(abs(h.x) - h.drawn / 2 > plate.length / 2 for h in screws)
            assert not {f.code for f in check(p)[1]} - {"part-overhangs"}
