"""Verdicts on the laboratory's coils, and the confusion table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import laboratory
import numpy as np

from lodestring.assess.model import Model
from lodestring.proving.forward import forward
from lodestring.proving.measurement import Measurement, measurement
from lodestring.proving.verdict import Verdict, verdict

# the laboratory's name of a fault -> the verdict's family
FAMILY = {
    "good": "as-drawn", "shorted-third": "shorted", "steel": "steel",
}  # fmt: skip


@dataclass(frozen=True)
class Judged:
    planted: str
    verdict: Verdict

    @property
    def wanted(self) -> str:
        return FAMILY.get(self.planted, self.planted)

    @property
    def named(self) -> str:
        return self.verdict.first.hypothesis.family


def read(readings: Iterable[laboratory.Reading]) -> list[Measurement]:
    return [
        measurement(r.quantity, r.value, half_width=r.half_width or None, temperature=r.kelvin, **r.at)
        for r in readings
    ]


def judge(model: Model, seed: int) -> list[Judged]:
    """All coils of one seed."""
    of_coil = forward(model, "bridge", "main")
    rng = np.random.default_rng(seed + 1000)
    out = []
    for coil in laboratory.batch(seed):
        taken = read(laboratory.bench(coil, rng, of_coil.tables.fields[0]))
        out.append(Judged(coil.name, verdict(model, "bridge", "main", taken, of_coil=of_coil)))
    return out


def table(judged: Iterable[Judged]) -> str:
    """Planted fault, number, what was named first."""
    rows: dict[str, Counter[str]] = {}
    for j in judged:
        rows.setdefault(j.planted, Counter())[j.named] += 1
    return "\n".join(
        f"{k:15} {sum(c.values()):3}  " + ", ".join(f"{n} {m}" for m, n in c.most_common())
        for k, c in sorted(rows.items())
    )
