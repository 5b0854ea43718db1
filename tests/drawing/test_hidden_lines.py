"""Hidden lines: known solids, and every point against a depth picture that shares nothing with the ray clipping."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from lodestring.drawing.hidden_lines import ISOMETRIC, Prism, eye, lines
from lodestring.drawing.solid_view import solid_view
from lodestring.drawing.svg import overlapping_texts, svg
from lodestring.errors import DomainError
from lodestring.folder.examples import example_text
from lodestring.folder.open_set import assess_here

CUBE = Prism("cube", ((0, 0), (10, 0), (10, 10), (0, 10)), 0, 10)


def length(runs: tuple[tuple[tuple[float, float], ...], ...]) -> float:
    return sum(math.dist(a, b) for run in runs for a, b in pairwise(run))


def test_an_isometric_cube_shows_nine_edges_and_hides_three() -> None:
    # ISO 5456-3: every edge is shortened to sqrt(2/3).
    (seen,) = lines([CUBE])
    edge = 10 * math.sqrt(2 / 3)
    assert length(seen.visible) == pytest.approx(9 * edge, abs=6 * 0.02)
    # A ray may run through 0.02 mm of body: so much of each hidden edge counts as seen at its ends.
    assert length(seen.hidden) == pytest.approx(3 * edge, abs=6 * 0.02)
    far = ISOMETRIC.project(np.array([[0.0, 10.0, 0.0]]))[0]  # of the corners, the one that is farthest from the eye
    assert all(min(math.dist(p, far) for p in run) < 0.1 for run in seen.hidden)


def test_a_cylinder_shows_its_top_half_of_its_foot_and_two_outlines() -> None:
    angle = np.linspace(0, 2 * math.pi, 181)[:-1] + 0.005
    rod = Prism("rod", tuple((5 * math.cos(a), 5 * math.sin(a)) for a in angle), 0, 20)
    (seen,) = lines([rod])
    top = length(lines([Prism("disc", rod.outline, 19.9, 20)])[0].visible)
    # Circumference of an ellipse with half-axes 5 and 5 sin(35.26 deg): Ramanujan's second approximation.
    a, b = 5.0, 5.0 * math.sin(math.asin(1 / math.sqrt(3)))
    h = ((a - b) / (a + b)) ** 2
    ellipse = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert top == pytest.approx(1.5 * ellipse, rel=0.02)
    assert length(seen.visible) == pytest.approx(1.5 * ellipse + 2 * 20 * math.sqrt(2 / 3), rel=0.02)


def test_what_stands_before_hides_what_stands_behind_and_the_cut_is_where_it_should_be() -> None:
    wall = Prism("wall", ((0, 0), (100, 0), (100, 1), (0, 1)), -60, 4)
    low = Prism("low", ((40, 10), (60, 10), (60, 20), (40, 20)), -50, 3)
    front = eye(-90.0, 0.0001)
    seen = {s.name: s for s in lines([wall, low], front)}
    assert length(seen["low"].visible) == pytest.approx(0.0, abs=1e-6)
    tall = Prism("tall", low.outline, -50, 9)
    seen = {s.name: s for s in lines([wall, tall], front)}
    lowest = min(y for run in seen["tall"].visible for _, y in run)
    assert lowest == pytest.approx(4.0, abs=0.02)  # 0.01 of THICK, and the halving


def test_bodies_apart_are_seen_as_if_each_stood_alone() -> None:
    far = Prism("far", tuple((x + 500.0, y) for x, y in CUBE.outline), 0, 10)
    one, other = lines([CUBE, far])
    assert length(one.visible) == pytest.approx(length(other.visible), rel=1e-9)
    assert one.visible == lines([CUBE])[0].visible


@pytest.mark.parametrize("example", ["heron", "wren"])
def test_every_seen_line_is_nearest_to_the_eye_in_a_picture_of_depths(example: str, tmp_path: Path) -> None:
    """The witness paints all faces into a raster of depths, cut into small triangles, nearest wins."""
    from lodestring.drawing import solid_view as module
    from lodestring.drawing.coil_shapes import coils_of

    path = tmp_path / f"{example}.toml"
    path.write_text(example_text(example), encoding="utf-8")
    made = assess_here(path)
    pickup = next(iter(made.model.inputs.design.pickup))
    prisms = [p for c in coils_of(made, pickup) for p in module._coil(c, 0.0)]
    toward, right, up = (np.array(v) for v in (ISOMETRIC.toward, ISOMETRIC.right, ISOMETRIC.up))
    cell, origin = 0.25, np.array([-90.0, -90.0])
    depth = np.full((720, 720), -np.inf)
    for prism in prisms:
        for face in _faces(prism):
            u, v, d = face @ right, face @ up, face @ toward
            i, j = (((w - o) / cell).astype(int) for w, o in ((u, origin[0]), (v, origin[1])))
            np.maximum.at(depth, (i, j), d)
    wrong = total = 0
    for prism, seen in zip(prisms, lines(prisms), strict=True):
        for z in (prism.low, prism.high):
            ring = np.array([(*p, z) for p in (*prism.outline, prism.outline[0])])
            middles = 0.5 * (ring[1:] + ring[:-1])
            flat = np.column_stack([middles @ right, middles @ up])
            drawn = np.array([p for run in seen.visible for p in run]).reshape(-1, 2)
            for point, at in zip(middles, flat, strict=True):
                shown = bool(len(drawn)) and float(np.min(np.linalg.norm(drawn - at, axis=1))) < 0.9
                i, j = ((at - origin) / cell).astype(int)
                before = float(depth[i - 1 : i + 2, j - 1 : j + 2].min()) - float(point @ toward)
                if before > 2.0 and shown and not _crosses(drawn, at):
                    wrong += 1
                total += 1
    assert total > 500
    assert wrong <= 0.01 * total, f"{wrong} of {total} points are drawn as seen, and something stands before them"


def _faces(prism: Prism) -> list[np.ndarray]:
    """Points on all faces, close together."""
    outline = np.array(prism.outline)
    middle = outline.mean(axis=0)
    made = []
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        count = max(2, int(np.linalg.norm(b - a) / 0.12))
        edge = a + (b - a) * np.linspace(0, 1, count)[:, None]
        deep = max(2, int((prism.high - prism.low) / 0.12))
        z = np.linspace(prism.low, prism.high, deep)
        made.append(np.column_stack([np.repeat(edge, deep, axis=0), np.tile(z, count)]))
        inward = np.linspace(0, 1, max(2, int(np.linalg.norm(edge[0] - middle) / 0.12)))
        fan = (edge[:, None] + (middle - edge[:, None]) * inward[None, :, None]).reshape(-1, 2)
        made += [np.column_stack([fan, np.full(len(fan), h)]) for h in (prism.low, prism.high)]
    return made


def _crosses(drawn: np.ndarray, at: np.ndarray) -> bool:
    """Whether lines of the same body at another height pass here too."""
    near = drawn[np.linalg.norm(drawn - at, axis=1) < 0.9]
    return len(near) > 0 and float(np.min(np.linalg.norm(near - at, axis=1))) > 0.05


@pytest.mark.parametrize("example", ["heron", "plover", "wren"])
@pytest.mark.parametrize("apart", [False, True], ids=["together", "taken apart"])
def test_the_view_of_an_example_is_labelled_and_no_words_lie_on_each_other(
    example: str, apart: bool, tmp_path: Path
) -> None:
    path = tmp_path / f"{example}.toml"
    path.write_text(example_text(example), encoding="utf-8")
    made = assess_here(path)
    drawn = solid_view(made, next(iter(made.model.inputs.design.pickup)), apart)
    text = svg(drawn, ids="v")
    for words in ("coil", "plates", "pole pieces", *(("bar",) if example == "plover" else ())):
        assert f">{words}<" in text
    assert overlapping_texts(drawn) == ()
    assert "nan" not in text.lower().replace("finance", "")
    assert "<title" in text
    assert "<desc" in text


def test_a_hollow_outline_is_refused() -> None:
    with pytest.raises(DomainError, match="convex"):
        Prism("star", ((0, 0), (10, 0), (3, 3), (0, 10)), 0, 1)
    with pytest.raises(DomainError, match="convex"):
        Prism("flat", CUBE.outline, 1, 1)
