"""Invented geometries for the finite-element witness, and the script that writes their results.

    python tests/magnetics/fem_cases.py            all cases into fem_results.json (about twenty minutes on two cores)
    python tests/magnetics/fem_cases.py B1 B6      these two again, the others stay

A1, A2, A3, A6a, A6b are the reference rows; B1-B6 are geometries beyond them. Remanence 1 T in rods that are magnets,
so that their fields are per tesla; bars 0.4 T.
"""

from __future__ import annotations

import json
import platform
import sys
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
from fem import Block, Coil, FemResult, Rod, solve
from fem_coil import Array

RESULTS = Path(__file__).with_name("fem_results.json")
MM = 1e-3
SIX, ROUND = Coil(52 * MM, 3.2 * MM, 6.8 * MM, 10.5 * MM, 7600), Coil(0, 3 * MM, 8 * MM, 8 * MM, 5000)


@dataclass(frozen=True)
class Case:
    """One geometry, the mesh of its stored run, and the pole tops above which fields are kept (x, y, z of a top)."""

    coil: Coil
    rods: tuple[Rod, ...]
    blocks: tuple[Block, ...] = ()
    tops: tuple[tuple[float, float, float], ...] = ()
    order: int = 3
    h: float = 1.5 * MM
    edge: float = 0.2

    def points(self) -> Array:
        """1, 2, 3 and 5 mm above each top, and 3 mm above but 6 mm along the string: (5 tops, 3)."""
        offsets = np.array([[0, 0, 1], [0, 0, 2], [0, 0, 3], [0, 0, 5], [0, 6, 3]]) * MM
        return np.concatenate([np.array(top) + offsets for top in self.tops])

    def solve(self, **mesh: Any) -> FemResult:
        """Both formulations, on the mesh of the stored run or on another."""
        return solve(
            self.coil,
            list(self.rods),
            list(self.blocks),
            **{"order": self.order, "h": self.h, "edge": self.edge} | mesh,
        )


def row(
    n: int, pitch: float, bottom: float, length: float, diameter: float, mu: float, br: float = 0.0, y: float = 0.0
) -> tuple[Rod, ...]:
    """n like rods along x, millimetres."""
    xs = [(i - (n - 1) / 2) * pitch for i in range(n)]
    return tuple(Rod(x * MM, y * MM, bottom * MM, length * MM, diameter * MM, mu, br) for x in xs)


def block(
    size: tuple[float, ...], centre: tuple[float, ...], mu: float, magnet: tuple[float, ...] = (0, 0, 0)
) -> Block:
    """Millimetres and tesla."""
    return Block(tuple(MM * a for a in size), tuple(MM * a for a in centre), mu, magnet)  # type: ignore[arg-type]


def top(rod: Rod) -> tuple[float, float, float]:
    """Centre of the upper face."""
    return (rod.x, rod.y, rod.z0 + rod.length)


def _cases() -> dict[str, Case]:
    cases = {}
    for name, mu, edge in (("A1", 4.0, 0.25), ("A2", 1.0, 0.35), ("A3", 200.0, 0.15)):
        rods = row(6, 10.4, -8, 16, 4.8, mu, 1.0)
        cases[name] = Case(SIX, rods, tops=(top(rods[2]),), edge=edge, h=(2.0 if mu == 200 else 1.5) * MM)
    for name, mu, edge in (("A6a", 4.0, 0.2), ("A6b", 200.0, 0.1)):
        rods = row(1, 0, -7, 14, 5, mu, 1.0)
        cases[name] = Case(ROUND, rods, tops=(top(rods[0]),), order=4, edge=edge)

    four = Coil(40 * MM, 3.4 * MM, 7 * MM, 11 * MM, 8000)
    rods = tuple(
        Rod((i - 1.5) * 11 * MM, 0, z0 * MM, length * MM, 5 * MM, 6.0, 1.0)
        for i, (z0, length) in enumerate([(-8, 17), (-7.5, 16), (-8, 17.5), (-7, 14.5)])
    )
    cases["B1"] = Case(four, rods, tops=tuple(top(r) for r in rods), edge=0.25, h=2 * MM)

    three = Coil(30 * MM, 3.2 * MM, 6.5 * MM, 10 * MM, 6000)
    rods = row(3, 10, -7, 14, 4.8, 200.0)
    for name, gap in (("B2", 0.0), ("B2_gap", 0.5)):
        bar = block((36, 6.4, 3.2), (0, 0, -7 - gap - 1.6), 1.05, (0, 0, 0.4))
        cases[name] = Case(three, rods, (bar,), (top(rods[1]), top(rods[2])))

    narrow = Coil(58 * MM, 2.7 * MM, 6.2 * MM, 11 * MM, 7000)
    blade = block((60, 3, 14), (0, 0, 0.5), 100.0)
    under = block((56, 8, 5), (0, 0, -9), 1.05, (0, 0, 0.4))
    tops = ((0.0, 0.0, 7.5 * MM), (25 * MM, 0.0, 7.5 * MM))
    cases["B3"] = Case(narrow, (), (blade,), tops)
    cases["B3_bar"] = Case(narrow, (), (blade, under), tops)

    # the coil round the first row, the second row outside; the bar lies below the winding, 0.3 mm from the rods
    rods = row(4, 10, -12, 19, 4.8, 200.0) + row(4, 10, -12, 19, 4.8, 200.0, y=18)
    between = block((46, 12.6, 3.2), (0, 9, -10.4), 1.05, (0, 0.4, 0))
    cases["B4"] = Case(
        Coil(36 * MM, 3.2 * MM, 6.5 * MM, 11 * MM, 5000),
        rods,
        (between,),
        (top(rods[1]), top(rods[5])),
        h=2 * MM,
        edge=0.3,
    )

    rods = row(4, 11, -8, 16, 5, 4.0, 1.0)
    plate = block((58, 22, 1), (0, 0, -8.5), 100.0)
    cases["B5"] = Case(four, rods, (plate,), (top(rods[1]), top(rods[0])), h=1.8 * MM, edge=0.3)

    rods = row(4, 5.3, -8, 16, 4.8, 200.0)
    cases["B6"] = Case(
        Coil(18 * MM, 3.2 * MM, 6.8 * MM, 10.5 * MM, 7600), rods, tops=(top(rods[1]), top(rods[0])), edge=0.1
    )
    return cases


CASES = _cases()


def record(name: str) -> dict[str, Any]:
    """The stored form of one run: SI throughout, pairs are (scalar potential, vector potential)."""
    import ngsolve

    case = CASES[name]
    result = case.solve()
    points = case.points()
    return {
        "geometry_m": {
            "coil": asdict(case.coil),
            "rods": [asdict(r) for r in case.rods],
            "blocks": [asdict(b) for b in case.blocks],
        },
        "mesh": {
            "order": case.order,
            "h_m": case.h,
            "edge": case.edge,
            "elements": result.elements,
            "ndof": result.ndof,
            "mirrors": result.mirrors,
        },
        "air_H": result.air,
        "inductance_low_H": result.inductance_low,
        "inductance_high_H": result.inductance_high,
        "gap": result.gap,
        "linkage_pair_Wb": result.linkage_pair,
        "points_m": points.round(9).tolist(),
        "coil_b_pair_T_per_A": [b.tolist() for b in result.coil_b_pair(points)],
        "magnet_b_pair_T": [b.tolist() for b in result.magnet_b_pair(points)],
        "seconds": round(result.seconds, 1),
        "ngsolve": ngsolve.__version__,
        "python": platform.python_version(),
        "again": f"python tests/magnetics/fem_cases.py {name}",
    }


def rounded(value: Any) -> Any:
    """Nine digits: more than the runs are good for, fewer than would change from machine to machine."""
    if isinstance(value, dict):
        return {key: rounded(v) for key, v in value.items()}
    if isinstance(value, list | tuple):
        return [rounded(v) for v in value]
    return float(f"{value:.9g}") if isinstance(value, float) else value


def main(names: list[str]) -> None:
    """Run the named cases, or all, and keep their results."""
    for name in names or list(CASES):
        new = rounded(record(name))
        stored = json.loads(RESULTS.read_text()) if RESULTS.exists() else {}  # after the run: another may have written
        stored[name] = new
        kept = {known: stored[known] for known in CASES if known in stored}
        lines = (f'"{known}": {json.dumps(value)}' for known, value in kept.items())
        RESULTS.write_text("{\n" + ",\n".join(lines) + "\n}\n")
        keys = ("inductance_low_H", "inductance_high_H", "gap", "linkage_pair_Wb", "seconds")
        print(name, *(f"{key} {stored[name][key]}" for key in keys), stored[name]["mesh"], flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
