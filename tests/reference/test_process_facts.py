"""Plastics, waxes, solder, glue, fume and implants (F rows), the bench's bands, and the cautions."""

from __future__ import annotations

import re

import pytest

from lodestring.errors import CatalogueError
from lodestring.reference import (
    CAUTION_STAGES,
    band,
    catalogue,
    cautions,
    coil_kinds,
    coins,
    names,
    plastic,
    screw,
    wax,
)

ZERO = 273.15


def celsius(row: str, name: str) -> float:
    value = catalogue().row(row)[name].value
    assert value is not None
    return value - ZERO


# id, row, figure, C, tolerance: F04, F05 filament data sheets; F06 those and a service bureau; F07 data sheet with
# 20 % glass; F08, F09 the bureau
PLASTICS = [
    ("F04-tg", "plastic.pla", "glass_transition", 59.1, 3),
    ("F04-deflection", "plastic.pla", "deflection", 58.8, 3),
    ("F04-vicat", "plastic.pla", "vicat", 64.5, 3),
    ("F05-tg", "plastic.petg", "glass_transition", 77.4, 3),
    ("F05-deflection", "plastic.petg", "deflection", 76.2, 3),
    ("F05-vicat", "plastic.petg", "vicat", 82.9, 3),
    ("F06-tg", "plastic.abs", "glass_transition", 102.5, 2.5),
    ("F06-deflection", "plastic.abs", "deflection", 90, 5),
    ("F06-deflection-1.8", "plastic.abs", "deflection_1_8_mpa", 76, 5),
    ("F07-tg", "plastic.asa-glass", "glass_transition", 98, 5),
    ("F07-deflection", "plastic.asa-glass", "deflection", 104, 5),
    ("F07-deflection-1.8", "plastic.asa-glass", "deflection_1_8_mpa", 97, 5),
    ("F07-unfilled", "plastic.asa", "deflection", 97.5, 2.5),
    ("F08-deflection", "plastic.pa12", "deflection", 175, 5),
    ("F08-deflection-1.8", "plastic.pa12", "deflection_1_8_mpa", 95, 9),
    ("F09-deflection", "plastic.photopolymer-resin", "deflection", 54, 8),
]


@pytest.mark.parametrize(("row", "name", "degrees", "half"), [p[1:] for p in PLASTICS], ids=[p[0] for p in PLASTICS])
def test_temperatures_of_plastics(row: str, name: str, degrees: float, half: float) -> None:
    assert celsius(row, name) == pytest.approx(degrees)
    spread = catalogue().row(row)[name].spread()
    assert spread.nominal - spread.low == pytest.approx(half)


@pytest.mark.parametrize(
    ("name", "fits"),
    [("PLA", False), ("photopolymer resin", False), ("PETG", False), ("ABS", True), ("ASA", True), ("PA12", True)],
    ids=lambda v: str(v),
)
def test_which_plastics_bear_a_wax_pot_of_62_degrees(name: str, fits: bool) -> None:
    """Common practice: no hot wax for PLA and common resin; bath 15 K under the deflection temperature.

    PETG (76.2 C) falls just short of 62 + 15 K: the neighbour just outside the limit.
    """
    margin = band("wax.deflection-margin").value
    deflection = plastic(name).deflection
    assert margin == 15
    assert deflection is not None
    assert (deflection.nominal - margin >= 62 + ZERO) is fits


def test_vulcanised_fibre_does_not_melt() -> None:
    """Common practice (mid): wax up to 100 C. A page gives 110 to 120 C as its service temperature."""
    fibre = plastic("vulcanized fiber")
    assert fibre.name == "vulcanised fibre"
    assert not fibre.melts
    assert fibre.deflection is None
    assert fibre.wax_limit is not None
    assert fibre.wax_limit.nominal - ZERO == pytest.approx(100)
    assert catalogue().row("plastic.vulcanised-fibre")["service"].spread().low > fibre.wax_limit.nominal


def test_every_plastic_says_how_much_may_stand_beside_a_hole() -> None:
    """Common practice, no source: 0.8 to 1.6 mm."""
    for name in names("plastics"):
        web = plastic(name).least_web
        assert 0.8e-3 <= web.low <= web.nominal <= web.high <= 1.61e-3, name


@pytest.mark.parametrize(
    ("row", "name", "degrees", "half"),
    [
        ("wax.paraffin", "melting", 57, 11),  # F01: chemical data page, 46 to 68 C
        ("wax.beeswax", "melting", 63, 5),  # F02: trade page, 62 to 64 C, tolerance 5
        ("wax.beeswax", "flash_point", 204, 30),  # F02: 400 F
        ("wax.beeswax", "degrades_above", 77, 5),  # F02
        ("wax.paraffin", "flash_point", 195, 30),  # F03: memory (mid), 180 to 210 C
    ],
    ids=["F01", "F02-melting", "F02-flash", "F02-degrades", "F03"],
)
def test_temperatures_of_waxes(row: str, name: str, degrees: float, half: float) -> None:
    assert celsius(row, name) == pytest.approx(degrees)
    spread = catalogue().row(row)[name].spread()
    assert (spread.high - spread.nominal, spread.nominal - spread.low) == pytest.approx((half, half))


def test_bath_thresholds_rise_and_stay_below_what_the_wax_bears() -> None:
    """Common practice: 60 to 65 C, note 70, warning 75, blocker 90; F02: degrades above 77, flash far above."""
    bath = band("wax.bath").spread()
    marks = [band(f"wax.{m}").value for m in ("note", "warn", "block")]
    assert [t - ZERO for t in (bath.low, bath.high)] == pytest.approx([60, 65])
    assert [t - ZERO for t in marks if t is not None] == pytest.approx([70, 75, 90])
    flash = wax("paraffin").flash_point
    assert flash is not None
    assert max(t for t in marks if t is not None) < flash.low
    mixture = wax("80/20").bath
    assert mixture is not None
    assert (mixture.low, mixture.high) == (bath.low, bath.high)


# row, figure, low, high in the unit written, scale to SI; F14-F20 with their sources, the rest common practice
FIGURES = [
    ("F10", "band.print.hole-undersize", "value", 0.1, 0.4, 1e-3),  # direction: NTUA, MDPI; size memory (mid)
    ("F14-peak", "band.glue.cotton", "peak", 91, 91, "C"),  # case report 2015
    ("F14-mass", "band.glue.cotton", "mass", 3, 3, 1e-3),
    ("F14-time", "band.glue.cotton", "time_to_peak", 90, 90, 1),
    ("F15", "band.magnet.implant-field", "value", 0.5, 0.5, 1e-3),  # ICNIRP 2009
    ("F16", "band.magnet.implant-immunity", "value", 1, 1, 1e-3),  # ISO 14117, memory (mid)
    ("F18-8h", "band.fume.rosin", "eight_hours", 0.05, 0.05, 1e-6),  # HSE INDG248
    ("F18-15min", "band.fume.rosin", "fifteen_minutes", 0.15, 0.15, 1e-6),
    ("F18-forms", "band.fume.rosin", "forms_above", 200, 200, "C"),
    ("F20-tin-lead", "band.solder.tin-lead", "value", 182, 184, "C"),  # handbook, memory (hi)
    ("F20-lead-free", "band.solder.lead-free", "value", 217, 220, "C"),
    ("implant-pickup", "band.magnet.implant-pickup", "value", 15, 15, 1e-2),
    ("implant-block", "band.magnet.implant-block", "value", 30, 30, 1e-2),
    ("belly", "band.shape.belly", "value", 10, 20, 1e-2),
    ("plate-bow", "band.shape.plate-bow", "value", 0.2, 0.5, 1e-3),
    ("plate-bow-thin", "band.shape.plate-bow-thin-print", "value", 0.3, 1.0, 1e-3),
    ("tape", "band.shape.tape", "value", 0.3, 0.6, 1e-3),
    ("tape-thickness", "band.shape.tape-thickness", "value", 0.15, 0.25, 1e-3),
    ("rod-wrap", "band.shape.rod-wrap", "value", 0.05, 0.1, 1e-3),
    ("fibre-plates", "band.plate.vulcanised-fibre", "value", 2, 2.5, 1e-3),
    ("pace", "band.pace.hand-crank", "value", 150, 250, 1 / 60),
    ("spool-distance", "band.spool.distance", "value", 0.4, 1, 1),
    ("reserve-share", "band.spool.reserve", "share", 10, 10, 1e-2),
    ("reserve-length", "band.spool.reserve", "length", 20, 20, 1),
    ("spool-spread", "band.wire.resistance-spread", "unsampled", 8, 8, 1e-2),
    ("spool-spread-sampled", "band.wire.resistance-spread", "sampled", 1.5, 1.5, 1e-2),
    ("bath-time", "band.wax.time", "value", 15, 30, 60),
    ("iron", "band.solder.iron", "temperature", 350, 400, "C"),
    ("cable", "band.harness.cable", "value", 50, 300, 1e-12),
    ("cable-total", "band.harness.total", "value", 300, 1000, 1e-12),
    ("self-capacitance", "band.coil.self-capacitance", "value", 60, 150, 1e-12),
    ("resonance", "band.coil.resonance-unloaded", "value", 6, 12, 1e3),
    ("resonance-loaded", "band.coil.resonance-loaded", "value", 2, 5, 1e3),
    ("peak", "band.coil.peak", "value", 2, 8, 1),
    ("hand", "band.tension.hand", "value", 50, 50, 1e-2),
    ("level-height", "band.level.height", "value", 2, 3, 1e3),
    ("level-strings", "band.level.strings", "ordinary", 2, 4, 1),
    ("off-centre", "band.pole.off-centre", "value", 1, 1.5, 1e-3),
    ("gap-bridge-bass", "band.gap.guitar-bridge", "bass_side", 1.8, 2.4, 1e-3),
    ("gap-bridge-treble", "band.gap.guitar-bridge", "treble_side", 1.5, 2.0, 1e-3),
    ("gap-neck-bass", "band.gap.guitar-neck", "bass_side", 2.4, 3.2, 1e-3),
    ("gap-neck-treble", "band.gap.guitar-neck", "treble_side", 1.8, 2.5, 1e-3),
    ("gap-pair-bass", "band.gap.steel-pole-pair", "bass_side", 1.6, 2.6, 1e-3),
    ("gap-pair-treble", "band.gap.steel-pole-pair", "treble_side", 1.4, 2.2, 1e-3),
    ("gap-bass-bass", "band.gap.bass", "bass_side", 2.2, 3.2, 1e-3),
    ("gap-bass-treble", "band.gap.bass", "treble_side", 1.8, 2.6, 1e-3),
    ("gap-lap-steel", "band.gap.lap-steel", "bass_side", 2.5, 5, 1e-3),
    ("face-alnico-5", "band.field.alnico-5-rod", "face", 90, 130, 1e-3),
    ("string-alnico-5", "band.field.alnico-5-rod", "at_string", 20, 45, 1e-3),
    ("face-alnico-2-3", "band.field.alnico-2-3-rod", "face", 50, 85, 1e-3),
    ("string-alnico-2-3", "band.field.alnico-2-3-rod", "at_string", 12, 28, 1e-3),
    ("face-steel", "band.field.steel-over-bar", "face", 25, 70, 1e-3),
    ("string-steel", "band.field.steel-over-bar", "at_string", 8, 20, 1e-3),
    ("span-bridge", "band.spacing.guitar-bridge", "span", 50, 54, 1e-3),
    ("span-pickup", "band.spacing.guitar-pickup", "span", 48, 53, 1e-3),
    ("span-nut", "band.spacing.guitar-nut", "span", 34, 37, 1e-3),
    ("pitch-bass-four", "band.spacing.bass-four", "pitch", 18, 20, 1e-3),
    ("pitch-bass-five", "band.spacing.bass-five", "pitch", 16.5, 19, 1e-3),
    ("pitch-lap-steel", "band.spacing.lap-steel", "pitch", 8.5, 10, 1e-3),
    ("pitch-tenor", "band.spacing.tenor", "pitch", 9, 11.5, 1e-3),
]


@pytest.mark.parametrize(("row", "name", "low", "high", "scale"), [f[1:] for f in FIGURES], ids=[f[0] for f in FIGURES])
def test_bands_and_process_figures(row: str, name: str, low: float, high: float, scale: float | str) -> None:
    """Common practice, no source, except where the table above names one."""
    spread = catalogue().row(row)[name].spread()
    want = (low + ZERO, high + ZERO) if scale == "C" else (low * float(scale), high * float(scale))
    assert (spread.low, spread.high) == pytest.approx(want)


def test_level_thresholds_and_plate_least() -> None:
    """Common practice: note at 3 dB, warning at 5; printed plates 2 mm and more."""
    assert (band("level.strings.note").value, band("level.strings.warn").value) == (3, 5)
    assert band("plate.printed").value == pytest.approx(2e-3)


def test_a_full_coil_of_7000_turns_takes_40_to_45_minutes_of_which_pauses_are_part() -> None:
    """Common practice: at 150 to 250 turns a minute the cranking alone takes 28 to 47 minutes."""
    turns, time = band("pace.full-coil.turns").value, band("pace.full-coil.time").spread()
    assert turns == 7000
    assert (time.low / 60, time.high / 60) == pytest.approx((40, 45))
    pace = band("pace.hand-crank").spread()
    assert turns / pace.high < time.low
    assert turns / pace.low > time.high


# common practice, no source: name, awg, turns, kilohm, henry
KINDS = {
    "guitar or baritone, six rods": ((42, 42), (7000, 8700), (4.9, 7.2), (1.9, 3.3)),
    "guitar or baritone, six rods, 43 AWG": ((43, 43), (7500, 9500), (7, 9.5), (2.5, 4)),
    "guitar or baritone, six rods, hot": ((44, 44), (9000, 11000), (10, 13.5), (4, 6)),
    "wide shallow coil, steel poles over bars": ((42, 42), (8500, 10500), (7, 9), (5, 8)),
    "hum-cancelling pair": ((42, 42), (4800, 5600), (7, 9), (3.8, 5.5)),
    "hum-cancelling pair, 43 AWG": ((43, 43), (5500, 6800), (10, 14), (6, 8.5)),
    "tenor, four strings": ((42, 42), (7500, 9500), (4.5, 6.5), (1.7, 3)),
    "bass, four strings, two rods each": ((42, 42), (7000, 10000), (6, 9), (3, 5)),
    "bass, five strings, two rods each": ((42, 42), (6500, 9500), (6.5, 10.5), (3, 6)),
    "lap steel": ((42, 43), (7000, 15000), (6, 18), (2.5, 9)),
}


@pytest.mark.parametrize("name", KINDS)
def test_kinds_of_coil(name: str) -> None:
    kind = next(k for k in coil_kinds() if k.name == name)
    awg, turns, kilohm, henry = KINDS[name]
    assert kind.criteria.awg == awg
    for figure, want, scale in (("turns", turns, 1), ("resistance", kilohm, 1e3), ("inductance", henry, 1)):
        spread = kind.bands[figure]
        assert (spread.low, spread.high) == pytest.approx((want[0] * scale, want[1] * scale))


def test_there_are_no_kinds_but_these() -> None:
    assert {k.name for k in coil_kinds()} == set(KINDS)


@pytest.mark.parametrize(
    ("coil", "expected"),
    [
        ((6, 1, "magnet", "one per string", 42, 24), {"guitar or baritone, six rods"}),
        ((6, 1, "magnet", "one per string", 42, 0), {"guitar or baritone, six rods", "lap steel"}),
        ((6, 1, "steel", "one per string", 42, 24), {"wide shallow coil, steel poles over bars"}),
        ((6, 2, "steel", "blade", 43, 22), {"hum-cancelling pair, 43 AWG"}),
        ((8, 2, "steel", "blade", 42, 24), {"hum-cancelling pair"}),
        ((4, 1, "magnet", "one per string", 42, 19), {"tenor, four strings", "bass, four strings, two rods each"}),
        ((5, 1, "magnet", "two per string", 42, 24), {"bass, five strings, two rods each"}),
        ((8, 1, "magnet", "one per string", 43, 0), {"lap steel"}),
        ((8, 2, "steel", "blade", 43, 0), {"lap steel", "hum-cancelling pair, 43 AWG"}),
        ((6, 1, "magnet", "one per string", 40, 24), set()),
        ((5, 1, "magnet", "one per string", 43, 24), set()),
        ((12, 1, "magnet", "one per string", 42, 24), set()),
    ],
    ids=[
        "guitar",
        "six-strings-without-frets",
        "wide",
        "pair",
        "pair-of-eight",
        "four-strings-fit-two-kinds",
        "bass-5",
        "lap-steel-of-eight",
        "lap-steel-pair",
        "too-thick-wire",
        "bass-5-thin-wire",
        "twelve-strings",
    ],
)
def test_a_coil_finds_its_kinds(coil: tuple[int, int, str, str, int, int], expected: set[str]) -> None:
    """Common practice: strings, coils, pole body and gauge tell the kind; where two fit, both are given."""
    strings, coils, body, layout, awg, frets = coil
    found = {k.name for k in coil_kinds() if k.criteria.fit(strings, coils, body, layout, awg, frets)}
    assert found == expected


def test_the_usual_turns_of_42_gauge_lie_between_5000_and_10000() -> None:
    """Common practice. A pair's coils (4,800) and the extremes of wide and lap steel coils overrun it a little."""
    usual = band("coil.turns-42").spread()
    assert (usual.low, usual.high) == (5000, 10000)
    for kind in coil_kinds():
        if kind.criteria.awg == (42, 42):
            assert kind.bands["turns"].low >= usual.low * 0.95
            assert kind.bands["turns"].high <= usual.high * 1.06


@pytest.mark.parametrize("name", ["packing.hands", "tension.awg-42", "tension.awg-42.warm", "", "nothing", "."])
def test_a_band_that_is_not_one_figure_is_refused_with_the_names(name: str) -> None:
    with pytest.raises(CatalogueError, match=r"one of: "):
        band(name)


# US mint page, read; Council Regulation (EC) 975/98 through its summary and tables
COINS = {
    "euro": [2.30, 3.06, 3.92, 4.10, 5.74, 7.50, 7.80, 8.50],
    "US": [2.268, 2.5, 5.0, 5.67, 11.34],
}


@pytest.mark.parametrize("currency", COINS)
def test_coins_weigh_what_they_are_minted_at(currency: str) -> None:
    assert [c.mass.nominal * 1e3 for c in coins(currency)] == pytest.approx(COINS[currency])


def test_a_currency_without_coins_is_refused() -> None:
    with pytest.raises(CatalogueError, match="one of: euro, US"):
        coins("pound")


@pytest.mark.parametrize(
    ("name", "fine", "medium", "coarse", "pitch"),
    [("M2", 2.2, 2.4, 2.6, 0.4), ("M2.5", 2.7, 2.9, 3.1, 0.45), ("M3", 3.2, 3.4, 3.6, 0.5)],
    ids=lambda v: str(v),
)
def test_screws(name: str, fine: float, medium: float, coarse: float, pitch: float) -> None:
    """ISO 273 clearance holes through a trade page that transcribes it; pitches of ISO 262 from memory (hi)."""
    found = screw(name)
    hole = found.clearance_hole
    assert [x * 1e3 for x in (hole.low, hole.nominal, hole.high)] == pytest.approx([fine, medium, coarse])
    assert found.pitch.nominal * 1e3 == pytest.approx(pitch)


# every caution the trade page asks for: stage -> words of which each must occur in some sentence of that stage
CAUTIONS = {
    "winding": ["eye protection", "scraps", "food", "pets", "hair", "sleeves"],
    "soldering": ["isocyanates", "rosin", "asthma", "lead", "wash", "local"],
    "potting": ["double boiler", "thermometer", "flame", "unattended", "lid", "fire blanket"],
    "magnets": ["chip", "pinch", "swallowed", "doctor at once", "15 cm", "30 cm", "0.5 mT", "80 °C"],
    "cutting": ["eye protection", "dust"],
    "gluing": ["cotton", "91 °C"],
    "mains": ["earthed", "local rules", "licensed"],
}


@pytest.mark.parametrize(
    ("stage", "word"), [(s, w) for s, words in CAUTIONS.items() for w in words], ids=lambda v: v.replace(" ", "-")
)
def test_each_caution_is_shown_at_its_stage(stage: str, word: str) -> None:
    assert any(word.lower() in sentence.lower() for sentence in cautions(stage))


def test_every_stage_has_cautions_and_every_caution_a_known_stage() -> None:
    assert set(CAUTIONS) == set(CAUTION_STAGES)
    for row in catalogue().table("cautions"):
        assert set(row["stages"].text.split(", ")) <= set(CAUTION_STAGES), row.id
        assert re.fullmatch(r"[A-Z].{30,260}\.", row["text"].text), row.id
    for stage in CAUTION_STAGES:
        assert cautions(stage)


@pytest.mark.parametrize(
    ("row", "source"),
    [
        ("caution.glue-cotton", "glue-case"),
        ("caution.implants", "icnirp-2009"),
        ("caution.rosin-fume", "hse-rosin"),
        ("caution.lead", "unc-solder"),
    ],
    ids=["F14", "F15", "F18", "F19"],
)
def test_cautions_that_quote_a_figure_cite_it(row: str, source: str) -> None:
    assert catalogue().row(row).source == source


def test_an_unknown_stage_of_cautions_is_refused() -> None:
    with pytest.raises(CatalogueError, match="did you mean 'gluing'"):
        cautions("glueing")
