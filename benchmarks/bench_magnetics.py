"""Magnetics: rods and strings, and against a finite-element run of the same geometry in the same process.

The reference geometry: six rods of permeability 4 in one coil. One thread for ours; the finite elements take what they
take. Ratio: seconds of the finite-element run over seconds of ours, both for the inductance.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

from threadpoolctl import threadpool_limits
from timing import Row, warm

from lodestring.assess.store import Store
from lodestring.folder.examples import example_text
from lodestring.folder.open_set import open_set
from lodestring.physics.coil import CoilBox, air_inductance
from lodestring.physics.inductance import answer, coil_touch, poles_inductance, remanence_charge
from lodestring.physics.poles import PoleSystem, Rod
from lodestring.physics.rod_mesh import rod_mesh
from lodestring.physics.rod_pair import pair_block
from lodestring.physics.rod_self import self_block
from lodestring.physics.string_field import StringShape
from lodestring.physics.string_run import Line, Source, line_fields, string_result

BOX, TURNS = CoilBox(0.052, 0.0032, 0.0068, 0.0105), 7600
STRING = StringShape(1.452e-7, 0.215e-3, 99.0, 1.95)


def rods() -> list[Rod]:
    """Six rods in a row."""
    return [Rod((i - 2.5) * 10.4e-3, 0.0, 0.0, 0.016, 0.0024, 4.0) for i in range(6)]


def inductance() -> float:
    """The coil's inductance, blocks of the geometry kept from before."""
    system = PoleSystem(rods())
    touch = coil_touch(system, BOX)
    found = answer(system, touch)
    return TURNS**2 * (air_inductance(BOX) + poles_inductance(system, found, touch, found).real)


def cold_inductance() -> float:
    """The same with nothing kept."""
    for kept in (rod_mesh, self_block, pair_block):
        kept.cache_clear()
    return inductance()


def six_strings() -> float:
    """Inductance is not counted: fields along six strings and everything that follows, two-way and saturated."""
    system = PoleSystem(rods())
    magnets = remanence_charge(system, [0.65] * 6)
    source = Source(BOX, (0.0, 0.0, 0.0), answer(system, coil_touch(system, BOX)).sigma)
    total = 0.0
    for rod in rods():
        line = Line(rod.x, 0.008 + 0.00225, 0.0, (0.0,))
        total += string_result(STRING, line_fields(system, magnets, (source,), line, STRING.area)).pull
    return total


def rows() -> Iterator[Row]:
    """One thread throughout."""
    with threadpool_limits(1):
        yield Row("L of a coil, six rods", "under 8 ms", warm(inductance, n=20))
        yield Row("L of a coil, six rods, nothing kept", "", warm(cold_inductance, n=5))
        yield Row("six strings over it, all figures", "under 40 ms", warm(six_strings, n=5))
        ours = warm(inductance, n=20).seconds
    yield from _sets()
    yield from _finite_elements(sorted(ours)[len(ours) // 2])


def _sets() -> Iterator[Row]:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        for name in ("heron", "plover"):
            path = Path(folder) / f"{name}.toml"
            path.write_text(example_text(name), encoding="utf-8")

            def every_fact(path: Path = path) -> None:
                model = open_set(path, Store()).model
                for key in model.specs():
                    model.fact(key)

            yield Row(f"every fact of {name} with intervals", "", warm(every_fact, n=3, first=1))


def _finite_elements(ours: float) -> Iterator[Row]:
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "magnetics"))
    try:
        import fem
    except ImportError:
        return
    start = time.perf_counter()
    found = fem.solve(
        fem.Coil(0.052, 0.0032, 0.0068, 0.0105, TURNS), [fem.Rod(r.x, 0.0, -0.008, 0.016, 0.0048, 4.0) for r in rods()]
    )
    took = time.perf_counter() - start
    middle = (found.inductance_low + found.inductance_high) / 2
    off = 1e6 * (inductance() / middle - 1.0)
    told = f"gap {1e6 * found.gap:.0f} ppm; ours {off:+.0f} ppm off; ratio {took / ours:.0f}"
    print(f"  finite elements: {took:.1f} s, {told}")
    yield from ()
