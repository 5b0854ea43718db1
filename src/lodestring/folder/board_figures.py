"""The figures of the drawing board in groups: text of assess.shown, the usual band, the difference to a kept state."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from lodestring.assess import blocks
from lodestring.assess.findings import usual
from lodestring.assess.model import Fact, Model
from lodestring.assess.report import Assessment
from lodestring.assess.shown import show_number, shown
from lodestring.errors import LodestringError
from lodestring.folder.labels import table, titled
from lodestring.quantity import Units
from lodestring.reference import Spread, band

QUICK, SLOW = "quick", "slow"


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One figure. `usual`: "usual", "unusual", "perhaps" (only its interval reaches the band) or "" where no band
    fits; `band` says the band in words.

    `difference`: against the kept state, "" without one; `problem`: why it could not be computed.
    """

    key: str
    label: str
    value: str
    unit: str
    interval: str
    usual: str
    band: str
    difference: str
    more: bool
    problem: str = ""


@dataclass(frozen=True, slots=True)
class FigureGroup:
    """Figures of one coil, pickup, string or position. `waiting`: not asked for yet, so without rows."""

    id: str
    title: str
    speed: str
    waiting: bool
    rows: tuple[FigureRow, ...]


def figure_groups(
    assessment: Assessment,
    kept: Assessment | None = None,
    speeds: Iterable[str] = (QUICK, SLOW),
    data: Mapping[str, Any] | None = None,
) -> Iterator[FigureGroup]:
    """Every group that this set has, in the order of the assessment; those of other speeds stand waiting.

    `data`: the set file's, for whether a pickup has one coil or two.
    """
    wanted = tuple(speeds)
    for id, above, group in _places(assessment):
        yield _made(assessment, kept, id, above, group, group["speed"] in wanted, data)


def figure_group(assessment: Assessment, id: str, kept: Assessment | None = None) -> FigureGroup | None:
    """One group by its id, computed; None where the set has no such group."""
    data = assessment.model.inputs.design.model_dump(exclude_none=True)
    for found, above, group in _places(assessment):
        if found == id:
            return _made(assessment, kept, id, above, group, True, data)
    return None


def _places(assessment: Assessment) -> Iterator[tuple[str, str, Mapping[str, Any]]]:
    """Id, key path and row of board.toml of every group that has a figure in this set."""
    for above in dict.fromkeys(key.rpartition(".")[0] for key in assessment.facts):
        for group in table()["figures"]:
            if _is(group["of"], above) and any(f"{above}.{n}" in assessment.facts for n in _names(group)):
                yield (f"{above}.{group['id']}" if "id" in group else above), above, group


def _names(group: Mapping[str, Any]) -> Mapping[str, str]:
    return {**group["show"], **group.get("more", {})}


def _made(
    assessment: Assessment,
    kept: Assessment | None,
    id: str,
    above: str,
    group: Mapping[str, Any],
    ready: bool,
    data: Mapping[str, Any] | None,
) -> FigureGroup:
    keys = [k for k in (f"{above}.{name}" for name in _names(group)) if k in assessment.facts] if ready else []
    rows = tuple(_row(assessment, kept, key, group) for key in keys)
    return FigureGroup(id, titled(group["title"], above, data), group["speed"], not ready, rows)


def _is(of: str, above: str) -> bool:
    want, have = of.split("."), above.split(".")
    return len(want) == len(have) and all(w.isupper() or w == h for w, h in zip(want, have, strict=True))


def _row(assessment: Assessment, kept: Assessment | None, key: str, group: Mapping[str, Any]) -> FigureRow:
    name = key.rpartition(".")[2]
    more = name not in group["show"]
    label = group["more"][name] if more else group["show"][name]
    try:
        fact = assessment.facts[key]
        figure = shown(fact, assessment.units)
        state, words = _usual(assessment, key, fact)
        return FigureRow(
            key,
            label,
            figure.value,
            figure.unit,
            figure.interval,
            state,
            words,
            _difference(fact, kept, assessment.units),
            more,
        )
    except LodestringError as error:
        return FigureRow(key, label, "", "", "", "", "", "", more, str(error))


def _difference(fact: Fact, kept: Assessment | None, units: Units) -> str:
    """How far a figure is from the kept state's, with its sign; text figures say what they were."""
    if kept is None or fact.key not in kept.facts:
        return ""
    was = kept.facts[fact.key]
    if isinstance(fact.value, str) or isinstance(was.value, str):
        return "" if fact.value == was.value else f"was {was.value}"
    by = fact.value - was.value
    size = abs(by)
    half = max((fact.high or fact.value) - fact.value, fact.value - (fact.low or fact.value))
    if half <= 0.0:
        figure = show_number(fact.key, size, fact.unit, units=units.decimals)
    else:  # one digit more than the figure itself has; what is smaller than that is no difference
        unit = "1" if fact.unit == "K" else fact.unit
        figure = show_number(fact.key, size, unit, size - half / 10, size + half / 10, units.decimals)
    if not size or not any(digit in figure.value for digit in "123456789"):
        return "as kept"
    return ("+" if by > 0 else "\u2212") + figure.text


# ---- usual bands ----


def _usual(assessment: Assessment, key: str, fact: Fact) -> tuple[str, str]:
    """ "usual", "unusual" or "perhaps" with the band in words; nothing where no band fits.

    Unusual is only what is so with its whole interval: a value outside a band that its interval reaches may be usual.
    """
    if isinstance(fact.value, str):
        return "", ""
    for band_name, spreads in _bands(assessment.model, key):
        inside = any(s.low <= fact.value <= s.high for s in spreads)
        least = fact.value if fact.low is None else fact.low
        most = fact.value if fact.high is None else fact.high
        reached = any(s.low <= most and least <= s.high for s in spreads)
        low, high = min(s.low for s in spreads), max(s.high for s in spreads)
        one, two = (show_number(key, end, fact.unit, units=assessment.units) for end in (low, high))
        start = _short(one.value) if one.unit == two.unit else _short(one.value) + f" {one.unit}"
        may = "may be unusual: " if reached and not inside else ""
        return (
            "usual" if inside else "perhaps" if reached else "unusual",
            f"{may}usual is {start} to {_short(two.value)} {two.unit}".rstrip() + band_name,
        )
    return "", ""


def _short(number: str) -> str:
    """A band's end without closing zeros."""
    return number.rstrip("0").rstrip(".") if "." in number else number


def _bands(model: Model, key: str) -> Iterator[tuple[str, list[Spread]]]:
    above, _, name = key.rpartition(".")
    parts = above.split(".")
    if parts[0] == "pickup" and name in ("turns", "dc_resistance", "inductance"):
        pickup = parts[1]
        record = model.inputs.design.pickup[pickup]
        whole = len(parts) == 2
        coils = [parts[3]] if len(parts) == 4 and parts[2] == "coil" else blocks.sides(record) if whole else []
        alone = len(record.coil or {}) == 1
        if record.connect == "parallel" or not (name == "turns" or whole or alone):
            return
        kinds = [k for c in coils for k in usual.kinds_of(model, pickup, c)]
        figure = "resistance" if name == "dc_resistance" else name
        if kinds:
            yield f" ({kinds[0].name})", [k.bands[figure] for k in kinds]
        return
    for pattern, row in table()["bands"].items():
        of, _, last = pattern.rpartition(".")
        if last == name and _is(of, above):
            yield "", [band(row).spread()]
