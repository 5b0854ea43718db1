"""What the strings get from the magnets, as plots: output string against string, pitch against the gap, field along.

Of a set whose pickups have no pole pieces or magnets there is nothing to plot; `heard` says which pickups have.
"""

from __future__ import annotations

from dataclasses import replace

from lodestring.assess import string_blocks
from lodestring.assess.report import Assessment
from lodestring.drawing.look import SeriesLook
from lodestring.drawing.plot import Axes, Axis, Band, Mark, Plot, Series
from lodestring.drawing.size_plot import AS_READ
from lodestring.errors import LodestringError
from lodestring.quantity.figures import figure

BALANCE_HEIGHT, STRINGS_HEIGHT = 52.0, 56.0
"""Of the plots on paper, mm."""
AWAY = 0.02
"""Field is drawn so far to either side of the pickup's middle [m]."""
MANY = 5
"""There are as many looks; of more strings those in the middle are thin."""


def heard(assessment: Assessment) -> tuple[str, ...]:
    """The pickups whose strings have figures."""
    keys = assessment.facts
    return tuple(p for p in assessment.model.inputs.design.pickup if f"pickup.{p}.string.1.balance" in keys)


def balance_plot(assessment: Assessment) -> Plot:
    """Level of each string against the mean of its pickup, with its interval; one line a pickup."""
    series, bands, told = [], [], []
    for pickup in heard(assessment):
        facts = [assessment.facts[f"pickup.{pickup}.string.{n}.balance"] for n in _strings(assessment)]
        x = tuple(float(n) for n in _strings(assessment))
        y = tuple(f.number for f in facts)
        series.append(Series(pickup, pickup, x, y))
        low = tuple(f.number if f.low is None else f.low for f in facts)
        high = tuple(f.number if f.high is None else f.high for f in facts)
        bands.append(Band(f"{pickup}-interval", x, low, high, pickup))
        loud = max(range(len(y)), key=y.__getitem__)
        told.append(f"{pickup}: string {loud + 1} loudest, {y[loud]:+.1f} dB")
    if not series:
        raise LodestringError("output is drawn of strings over magnets", "a set without any")
    many = len(_strings(assessment))
    return Plot(
        Axes(Axis("string", "1", low=0.5, high=many + 0.5), Axis("against the mean", "dB")),
        tuple(series),
        (),
        tuple(bands[:1]),  # several over one another say nothing
        title="Output of each string against the mean",
        desc=f"One pluck as hard on every string. {'; '.join(told)}.",
        height_mm=BALANCE_HEIGHT,
    )  # fmt: skip


def pitch_plot(assessment: Assessment, pickup: str) -> Plot:
    """How far the magnets draw each string's pitch apart, open to fret 12, against the gap under it; now is marked."""
    curves = assessment.curves()
    series, gaps = [], []
    for n in _strings(assessment):
        curve = curves.get(f"pickup.{pickup}.string.{n}.detune_by_gap")
        if curve is None or not curve.x:
            continue
        series.append(Series(f"string-{n}", _name(assessment, n), tuple(curve.x), tuple(curve.y), _look(assessment, n)))
        line, top = string_blocks.over_poles(assessment.model, pickup)[n - 1]
        gaps.append(line.z - top - assessment.model.inputs.design.instrument.strings[n - 1].diameter.value / 2)
    if not series:
        raise LodestringError("pitch against the gap is drawn of strings over magnets", f"pickup {pickup}")
    now = sum(gaps) / len(gaps)
    said = figure(now, "m", now - AS_READ, now + AS_READ, assessment.units).text
    return Plot(
        Axes(Axis("gap to the pole piece", "m", units=assessment.units), Axis("open to fret 12", "cent", low=0.0)),
        tuple(_thin(series)),
        (Mark("now", "now", x=now),),
        title=f"Pitch drawn down by the magnets of the {pickup} pickup",
        desc=f"Cents between the open string and fret 12 against the gap; the mean gap now is {said}.",
        height_mm=STRINGS_HEIGHT,
    )


def field_plot(assessment: Assessment, pickup: str) -> Plot:
    """Field across each string, up from the pickup, along the string over the pickup's middle."""
    model = assessment.model
    series = []
    for n in _strings(assessment):
        found = string_blocks.fields(model, pickup, string_blocks.fields_key(model, pickup, n - 1))
        inside = abs(found.nodes) <= AWAY
        x, y = tuple(map(float, found.nodes[inside])), tuple(map(float, found.magnets[0, 2][inside]))
        series.append(Series(f"string-{n}", _name(assessment, n), x, y, _look(assessment, n)))
    most = max((abs(v) for s in series for v in s.y), default=0.0)
    return Plot(
        Axes(
            Axis("along the string, + toward the nut", "m", low=-AWAY, high=AWAY, units=assessment.units),
            Axis("field, up", "T"),
        ),
        tuple(_thin(series)),
        title=f"Field along the strings over the {pickup} pickup",
        desc=f"Flux density upward at each string; the strongest is {most * 1e3:.0f} mT.",
        height_mm=STRINGS_HEIGHT,
    )


def beside(plot: Plot, kept: Plot) -> Plot:
    """A plot with the lines of a kept version under its own: same axes, the kept look, one label for all of them."""
    old = []
    for i, series in enumerate(kept.series):
        old.append(replace(series, id=f"kept-{series.id}", label="kept" if i == 0 else "", look=SeriesLook.KEPT))
    looks = plot.looks()
    own = tuple(replace(s, look=looks[s.id]) for s in plot.series)
    return replace(plot, series=(*old, *own), title=f"{plot.title}, beside the kept version")


def _strings(assessment: Assessment) -> range:
    return range(1, len(assessment.model.inputs.design.instrument.strings) + 1)


def _name(assessment: Assessment, number: int) -> str:
    return f"{number} {assessment.model.inputs.design.instrument.strings[number - 1].note.text}"


def _look(assessment: Assessment, number: int) -> SeriesLook | None:
    """Of more than five strings the first, the last and two between have looks of their own."""
    many = len(_strings(assessment))
    if many <= MANY:
        return None
    told = {
        1: SeriesLook.FIRST,
        (many + 2) // 3: SeriesLook.SECOND,
        (2 * many + 2) // 3: SeriesLook.THIRD,
        many: SeriesLook.FOURTH,
    }
    return told.get(number, SeriesLook.BETWEEN)


def _thin(series: list[Series]) -> list[Series]:
    """Thin lines without a label, and under the others."""
    thin = [replace(s, label="") if s.look is SeriesLook.BETWEEN else s for s in series]
    return sorted(thin, key=lambda s: s.look is not SeriesLook.BETWEEN)
