"""The drive coil: loud enough by an independent sum over loops, and a law of scale."""

from __future__ import annotations

import math
from itertools import pairwise, product
from pathlib import Path

import numpy as np
import pytest

from lodestring.assess import blocks
from lodestring.assess.pole_blocks import winding
from lodestring.errors import DomainError
from lodestring.folder.examples import example_text
from lodestring.folder.open_set import open_set
from lodestring.proving.drive_coil import DEPTH, FORM, HEIGHT, OUTPUT, WANTED, drive_coil


@pytest.fixture
def heron(tmp_path: Path) -> Path:
    path = tmp_path / "heron.toml"
    path.write_text(example_text("heron"), encoding="utf-8")
    return path


def loop(straight: float, half_width: float, z: float, n: int) -> tuple[np.ndarray, np.ndarray]:
    """Middles and pieces of an obround turn cut into short straight pieces."""
    angle = np.linspace(-math.pi / 2, math.pi / 2, n)
    right = np.stack([straight / 2 + half_width * np.cos(angle), half_width * np.sin(angle)], axis=1)
    left = -right
    points = np.concatenate([right, left, right[:1]])
    closed = np.concatenate([points, np.full((len(points), 1), z)], axis=1)
    # The straight sides are cut too: one long piece would be a coarse sum.
    fine = [closed[0]]
    for a, b in pairwise(closed):
        cuts = max(1, int(np.linalg.norm(b - a) / 0.4e-3))
        fine += [a + (b - a) * (i + 1) / cuts for i in range(cuts)]
    path = np.array(fine)
    return 0.5 * (path[1:] + path[:-1]), np.diff(path, axis=0)


def test_the_voltage_is_what_neumanns_sum_over_loops_gives(heron: Path) -> None:
    # Neumann's formula as a plain double sum; shares no code with the closed forms it checks.
    model = open_set(heron).model
    made = drive_coil(model, "bridge", "main")
    given = winding(model, "bridge", "main")
    box, total = given.box, 0.0
    top = made.above + 0.5 * HEIGHT - given.place[2]
    assert given.place[2] == pytest.approx(-(2.4e-3 + 0.5 * 10.5e-3)), "below its top plate, in the window's middle"
    # Gauss rules: two points over each depth, three over the pickup's height, which reaches near the drive coil.
    for depth in (0.2113, 0.7887):
        for level, share in ((0.1127, 5 / 18), (0.5, 4 / 9), (0.8873, 5 / 18)):
            one, d1 = loop(box.straight, box.inner + depth * (box.outer - box.inner), (level - 0.5) * box.height, 60)
            for depth2, level2 in product((0.2113, 0.7887), repeat=2):
                other, d2 = loop(0.0, FORM + depth2 * DEPTH, top + (level2 - 0.5) * HEIGHT, 90)
                r = np.linalg.norm(one[:, None] - other[None], axis=2)
                total += 1e-7 * float(np.sum((d1 @ d2.T) / r)) * share / 8.0
    turns = blocks.coil_of(model, "bridge", "main").turns
    assert made.mutual == pytest.approx(abs(total) * turns * made.turns, rel=2e-3)


def test_it_is_as_loud_as_wanted_and_no_louder_than_an_input_takes(heron: Path) -> None:
    made = drive_coil(open_set(heron).model, "bridge", "main")
    assert WANTED <= made.volts < 0.5
    assert made.volts == pytest.approx(2 * math.pi * 1000 * made.mutual * OUTPUT / made.resistor)
    assert made.turns % 10 == 0


def test_a_coil_that_is_not_there_is_said(heron: Path) -> None:
    with pytest.raises(DomainError, match=r"bridge\.main"):
        drive_coil(open_set(heron).model, "bridge", "nothing")
