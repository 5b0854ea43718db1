"""Volumes and boxes of solids against closed forms written here: prisms, drilled holes, rounded rims by Pappus."""

from __future__ import annotations

import math
from typing import Any

import pytest

from lodestring.parts.contour import Ear
from lodestring.parts.fit_piece import fit_piece
from lodestring.parts.records import (
    Bobbin,
    Carrier,
    Cover,
    Groove,
    Hole,
    Jig,
    Plate,
    Pocket,
    Ring,
    Shape,
    Slot,
    Well,
)
from lodestring.parts.solids import solid_of

PI = math.pi
# the kernel integrates curved faces by quadrature; closed forms of prisms agree to 1e-9, and 1e-6 is what is promised
SHARE = 1e-6


def hole(x: float, y: float, size: float, what: str = "rod") -> Hole:
    return Hole(what, x * 1e-3, y * 1e-3, size * 1e-3, size * 1e-3, "to size")


def rounded(length: float, width: float, corner: float) -> float:
    """Area [mm2] of a rounded rectangle."""
    return length * width - (4 - PI) * corner**2


def plate(**more: Any) -> Plate:
    return Plate(0.08, 0.016, 0.008, 0.0024, **more)


FIVE = tuple(hole(x, 0, 4.8) for x in (-20, -10, 0, 10, 20))
DRILLED = rounded(80, 16, 8) - 5 * PI / 4 * 4.8**2


def rim(diameter: float, radius: float) -> float:
    """Volume [mm3] that rounding a hole's rim takes: area between corner and quarter circle, round its centroid."""
    square, quarter = radius**2, PI / 4 * radius**2
    moment = square * radius / 2 - quarter * (radius - 4 * radius / (3 * PI))
    return 2 * PI * ((square - quarter) * diameter / 2 + moment)


BOTTOM = plate(holes=(*FIVE, hole(-36, 3, 2, "start")))
BOBBIN = Bobbin(BOTTOM, plate(holes=FIVE), 0.052, 0.0072, 0.0036, 0.01)
JIG = Jig(
    Plate(0.088, 0.024, 0.012, 0.0057),
    Plate(0.0803, 0.0163, 0.00815, 0.0012),
    (Well(-0.02, 0.0, 4.8e-3, 5.1e-3, "slip", 1e-3), Well(0.02, 0.0, 4.8e-3, 5.1e-3, "slip", 1.5e-3)),
)
RING = Ring(0.084, 0.019, 0.009, 0.002, 0.02, Ear(0.0045, 0.004), 0.003, (hole(48, 0, 3.4), hole(-48, 0, 3.4)))
CARRIER = Carrier(
    Plate(0.092, 0.034, 0.0015, 0.0075, tuple(hole(x, 9, 4.9) for x in (-30, 0, 30))),
    (Pocket(0.0, 0.009, 0.0804, 0.0064, 0.004), Pocket(0.0, -0.009, 0.0804, 0.0064, 0.004)),
)


def ear_on_corner(half_straight: float, corner: float, radius: float, reach: float) -> float:
    """Area [mm2] that an ear adds to an end whose straight part is narrower than the ear.

    Under the flanks the end is drawn back: between y = half_straight and radius by corner - sqrt(corner^2 - t^2).
    """
    t = radius - half_straight
    under_arc = corner * t - (t * math.sqrt(corner**2 - t**2) + corner**2 * math.asin(t / corner)) / 2
    return 2 * radius * reach + PI / 2 * radius**2 + 2 * under_arc


CASES: dict[str, tuple[Shape, float, tuple[float, float, float]]] = {
    "obround prism": (plate(), rounded(80, 16, 8) * 2.4, (80, 16, 2.4)),
    "sharp plate": (Plate(0.05, 0.02, 0.0, 0.003), 50 * 20 * 3, (50, 20, 3)),
    "disc": (Plate(0.02, 0.02, 0.01, 0.003), PI * 100 * 3, (20, 20, 3)),
    "five holes": (plate(holes=FIVE), DRILLED * 2.4, (80, 16, 2.4)),
    "slot of a blade": (
        plate(slots=(Slot("blade", 0.0, 0.0, 0.06, 0.003, 0.0),)),
        (rounded(80, 16, 8) - 180) * 2.4,
        (80, 16, 2.4),
    ),
    "groove": (
        plate(groove=Groove((0.03, 0.0), (0.034, 0.003), 0.001, 0.0008)),
        rounded(80, 16, 8) * 2.4 - (5 * 1 + PI / 4) * 0.8,
        (80, 16, 2.4),
    ),
    "rounded rims": (
        plate(holes=FIVE, rounding=0.0005, rounded_holes=("rod",)),
        DRILLED * 2.4 - 5 * rim(4.8, 0.5),
        (80, 16, 2.4),
    ),
    "ears on straight ends": (
        Plate(0.06, 0.02, 0.002, 0.003, ear=Ear(0.005, 0.004)),
        (rounded(60, 20, 2) + 2 * (2 * 4 * 5 + PI / 2 * 16)) * 3,
        (78, 20, 3),
    ),
    "ears on round ends": (
        Plate(0.06, 0.02, 0.01, 0.003, ear=Ear(0.005, 0.004)),
        (rounded(60, 20, 10) + 2 * ear_on_corner(0, 10, 4, 5)) * 3,
        (78, 20, 3),
    ),
    "bobbin": (
        BOBBIN,
        DRILLED * 4.8 - PI / 4 * 4 * 2.4 + (rounded(52, 7.2, 3.6) - 5 * PI / 4 * 4.8**2) * 10,
        (80, 16, 14.8),
    ),
    "cover": (
        Cover(0.09, 0.04, 0.016, 0.0012, 0.003, (hole(0, 0, 5), hole(10, 0, 5))),
        rounded(90, 40, 3) * 16 - rounded(87.6, 37.6, 1.8) * 14.8 - 2 * PI / 4 * 25 * 1.2,
        (90, 40, 16),
    ),
    "press jig": (
        JIG,
        rounded(88, 24, 12) * 5.7 - rounded(80.3, 16.3, 8.15) * 1.2 - PI / 4 * 5.1**2 * 2.5,
        (88, 24, 5.7),
    ),
    "ring": (
        RING,
        (rounded(88, 23, 11) - rounded(84, 19, 9)) * 20
        + 2 * ear_on_corner(0.5, 11, 4, 4.5) * 3
        - 2 * PI / 4 * 3.4**2 * 3,
        (105, 23, 20),
    ),
    "bar carrier": (
        CARRIER,
        rounded(92, 34, 1.5) * 7.5 - 2 * 80.4 * 6.4 * 4 - 3 * PI / 4 * 4.9**2 * 3.5,
        (92, 34, 7.5),
    ),
}


@pytest.mark.parametrize(("shape", "volume", "size"), CASES.values(), ids=CASES.keys())
def test_a_solid_has_the_volume_and_the_box_of_its_closed_form(
    kernel: Any, shape: Shape, volume: float, size: tuple[float, float, float]
) -> None:
    solid = solid_of(shape)
    assert solid.volume == pytest.approx(volume, rel=SHARE)
    box = solid.bounding_box().size
    assert pytest.approx(size, abs=1e-5) == (box.X, box.Y, box.Z)
    assert len(solid.solids()) == 1
    assert solid.is_valid


@pytest.mark.parametrize("diameter", [3.0, 4.0, 4.8, 5.0, 6.35], ids=lambda d: f"{d} mm")
def test_a_test_piece_takes_at_most_six_cubic_centimetres(kernel: Any, diameter: float) -> None:
    piece = fit_piece(diameter * 1e-3)
    solid = solid_of(piece)
    assert 1000.0 < solid.volume <= 6000.0
    assert len(solid.solids()) == 1
    # plate, wall and pegs by hand; the raised figures come on top: a few mm3 a column
    sizes = [(diameter + o * 1e3, diameter - o * 1e3) for o in piece.offsets]
    pitch, strip = piece.pitch * 1e3, piece.strip * 1e3
    bare = len(sizes) * pitch * ((2 * pitch + strip + 2.4) * 2 + 2 * pitch * 2.4)
    bare += sum(PI / 4 * (-(h**2) * (2 + 2.4) + p**2 * 2 * 3) for h, p in sizes)
    assert 3.0 * len(sizes) < solid.volume - bare < 9.0 * len(sizes)
