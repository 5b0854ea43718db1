"""An assessment as text for a terminal, 80 columns wide."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator

from lodestring.assess.report import Assessment, as_json
from lodestring.assess.shown import shown, size_said
from lodestring.assess.why import Why, explain
from lodestring.design.finding import Finding
from lodestring.errors import LodestringError

WIDTH = 80
SHOWN = 3
MAIN_FIGURES = (
    ("dc_resistance", "resistance at 20 C"),
    ("inductance", "inductance"),
    ("wire_length", "wire on the coil"),
    ("wire_for_spool", "wire to have on the spool"),
    ("coil_depth_end", "depth at the ends"),
    ("coil_depth_side", "depth at mid-side"),
    ("outer_length", "length over the ends"),
    ("outer_width", "width at mid-side"),
    ("clearance_housing_side", "room in the housing"),
    ("winding_time", "time at the winder"),
)
POSITION_FIGURES = (
    ("peak_frequency", "peak"),
    ("peak_gain", "its height"),
    ("level", "level"),
    ("hum_left", "hum left"),
    ("phase", "phase"),
    ("dc_resistance_at_jack", "meter at the jack"),
)


def json_text(assessment: Assessment, curves: bool, prefixes: tuple[str, ...] = ()) -> str:
    """The contract's JSON, as text; with `prefixes` only facts and curves whose keys start with one of them."""
    return json.dumps(as_json(assessment, curves, prefixes), indent=1, allow_nan=False)


def figures(assessment: Assessment, every: bool) -> str:
    """The main figures of each coil, then what is worth knowing; with `every`, all figures and all notes."""
    parts = (_coils(assessment, every), _positions(assessment, every), _findings(assessment, every))
    return "\n".join([*_head(assessment), *(line for part in parts for line in part)])


def _head(assessment: Assessment) -> Iterator[str]:
    design = assessment.model.inputs.design
    instrument = design.instrument
    yield design.title
    yield f"{len(instrument.strings)} strings, scale {instrument.scale.text}, {len(design.pickup)} " + (
        "pickup" if len(design.pickup) == 1 else "pickups"
    )


def _coils(assessment: Assessment, every: bool) -> Iterator[str]:
    design = assessment.model.inputs.design
    for name, record in design.pickup.items():
        if record.measured is not None:
            yield ""
            yield f"{name} (kept, measured)"
            yield _row("resistance at 20 C", assessment, f"pickup.{name}.dc_resistance")
            continue
        for coil_name, coil in (record.coil or {}).items():
            yield ""
            title = name if len(record.coil or {}) == 1 else f"{name}, coil {coil_name}"
            wire = f"{size_said(coil.wire.size, assessment.units)} {coil.wire.film} {coil.wire.enamel}"
            yield f"{title}: {coil.turns} turns of {wire},"
            yield f"{' ' * (len(title) + 2)}wound {coil.wound} seen from the strings, {coil.hot} wire hot"
            path = f"pickup.{name}.coil.{coil_name}"
            rows = _every(assessment, path) if every else MAIN_FIGURES
            for key, label in rows:
                if f"{path}.{key}" in assessment.facts:
                    yield _row(label, assessment, f"{path}.{key}")
        if every:
            yield ""
            yield f"{name}, as a whole and string by string:"
            for key, label in _every(assessment, f"pickup.{name}"):
                yield _row(label, assessment, f"pickup.{name}.{key}")
        elif len(record.coil or {}) > 1:
            yield _row("both coils, resistance", assessment, f"pickup.{name}.dc_resistance")
            if f"pickup.{name}.inductance" in assessment.facts:
                yield _row("both coils, inductance", assessment, f"pickup.{name}.inductance")


def _positions(assessment: Assessment, every: bool) -> Iterator[str]:
    """Each position of the selector, with its controls fully up."""
    names = dict.fromkeys(k.split(".")[1] for k in assessment.facts if k.startswith("position."))
    for name in names:
        path = f"position.{name}"
        yield ""
        yield f"position {name}, controls fully up:"
        for key, label in _every(assessment, path) if every else POSITION_FIGURES:
            if f"{path}.{key}" in assessment.facts:
                yield _row(label, assessment, f"{path}.{key}")


def _every(assessment: Assessment, path: str) -> Iterator[tuple[str, str]]:
    """Every figure under a key path that is not under a longer one shown elsewhere."""
    for key in assessment.facts:
        rest = key.removeprefix(f"{path}.")
        if key.startswith(f"{path}.") and not rest.startswith("coil."):
            yield rest, rest.replace("_", " ").replace(".", " ")


def _row(label: str, assessment: Assessment, key: str) -> str:
    fact = assessment.facts[key]
    figure = shown(fact, assessment.units)
    return f"  {label:<28}{figure.value:>9} {figure.unit:<6}{figure.interval}".rstrip()


def _findings(assessment: Assessment, every: bool) -> Iterator[str]:
    findings = assessment.findings
    yield ""
    if not findings:
        yield "Nothing to worry about."
        return
    for finding in findings if every else findings[:SHOWN]:
        yield from _finding(finding)
    if len(findings) > SHOWN and not every:
        more = len(findings) - SHOWN
        yield f"and {more} more; --all shows {'it' if more == 1 else 'them'}"


def _finding(finding: Finding) -> Iterator[str]:
    head = f"{finding.severity}: "
    yield from textwrap.wrap(head + finding.sentence, WIDTH, subsequent_indent="  ", break_long_words=False)
    cure = f"  -> {finding.attempt} (until: {finding.until})"
    yield from textwrap.wrap(cure, WIDTH, subsequent_indent="     ", break_long_words=False)


def why(assessment: Assessment, key: str) -> str:
    """Where a figure comes from, how sure it is, and what would narrow it. The end of a key will do where it is one."""
    if key not in assessment.facts:
        import difflib

        word = key.strip().replace(" ", "_")
        ends = [k for k in assessment.facts if word and (k.endswith(f".{word}") or f".{word}." in f"{k}.")]
        if len(ends) == 1:
            return why(assessment, ends[0])
        near = ends[:4] or difflib.get_close_matches(word, list(assessment.facts), n=3, cutoff=0.4)
        raise LodestringError(
            "KEY must be a figure of this set", f'"{key}"', " or ".join(near) or "one that --all lists"
        )
    return "\n".join(_why(explain(assessment, key)))


def _why(told: Why) -> Iterator[str]:
    yield f"{told.key} = {told.figure.whole}"
    yield from textwrap.wrap(f"What: {told.help}.", WIDTH)
    yield from textwrap.wrap(f"How: {told.how}.", WIDTH)
    yield from textwrap.wrap(f"From: {told.origin}; the method itself {told.method_spread}.", WIDTH)
    for source in told.sources:
        yield from textwrap.wrap(f"  {source}", WIDTH, subsequent_indent="    ")
    if told.influences:
        yield "What moves it most, each input at the ends of its interval:"
    for influence in told.influences[:3]:
        yield f"  {influence.name:<44} {influence.low} to {influence.high}"
        yield from textwrap.wrap(f"    {influence.why}", WIDTH, subsequent_indent="    ")
    narrow = next((i.narrow for i in told.influences if i.narrow), "")
    if narrow:
        yield from textwrap.wrap(f"To narrow it: {narrow}.", WIDTH)
