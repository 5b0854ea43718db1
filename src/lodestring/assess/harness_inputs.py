"""Controls, leads and load as named inputs: as typed, or the usual ones where the set file does not say."""

from __future__ import annotations

from lodestring.assess import named
from lodestring.assess.model import Model
from lodestring.design.harness import Harness, TrebleBleed, Volume
from lodestring.design.vocabulary import Taper as TaperWord
from lodestring.physics.taper import AUDIO, AUDIO_CURVE, LINEAR, REVERSE_AUDIO, Taper

TAPERS: dict[TaperWord, Taper] = {
    "linear": LINEAR,
    "audio": AUDIO,
    "audio exponential": AUDIO_CURVE,
    "reverse audio": REVERSE_AUDIO,
}


def harness_of(model: Model) -> Harness:
    """The harness of a set that has one. Raises ValueError otherwise."""
    found = model.inputs.design.harness
    if found is None:
        raise ValueError("asked only where there is a harness")
    return found


def _usual(model: Model, name: str, row: str, why: str, narrow: str) -> float:
    """The usual value by the bench's band, until the set file says its own."""
    return model.read(name, lambda: named.from_band(name, row, why, narrow))


def _control(model: Model, name: str, example: str) -> float:
    pairs = any(len(p.coil or {}) > 1 for p in model.inputs.design.pickup.values())
    kind = "pair" if pairs else "single"
    why = f"no {name} control is given: the usual one for {'pairs' if pairs else 'single coils'}"
    return _usual(
        model, f"harness.{name}", f"harness.control.{kind}", why, f"write {name} = {{ {example} }} in the harness"
    )


def volume_record(model: Model, number: int) -> tuple[Volume | None, str]:
    """The volume control of pickup `number` (from 0) as given, and its key path."""
    given = harness_of(model).volume
    if isinstance(given, tuple):
        return given[number], f"harness.volume.{number + 1}"
    return given, "harness.volume"


def volume(model: Model, number: int = 0) -> tuple[float, Taper]:
    """Track [ohm] and taper of a volume control."""
    given, path = volume_record(model, number)
    if given is None:
        return _control(model, "volume", 'value = "500k"'), AUDIO
    return model.given(f"{path}.value", given.value), TAPERS[given.taper]


def bleed(model: Model, number: int = 0) -> tuple[float, float | None, bool] | None:
    """Treble bleed of a volume control: farads, ohms or None, whether in parallel; None where there is none."""
    given, path = volume_record(model, number)
    found: TrebleBleed | None = None if given is None else given.bleed
    if found is None:
        return None
    ohm = None if found.resistor is None else model.given(f"{path}.bleed.resistor", found.resistor)
    return model.given(f"{path}.bleed.capacitor", found.capacitor), ohm, found.joined == "parallel"


def tone(model: Model) -> tuple[float, Taper, float]:
    """Track [ohm], taper and capacitor [F] of the tone control."""
    given = harness_of(model).tone
    if given is None:
        track = _control(model, "tone", 'value = "500k", capacitor = "22 nF"')
        narrow = 'write tone = { value = "500k", capacitor = "22 nF" }'
        why = "no tone capacitor is given: the usual one"
        return track, AUDIO, _usual(model, "harness.tone.capacitor", "harness.tone-capacitor", why, narrow)
    return (
        model.given("harness.tone.value", given.value),
        TAPERS[given.taper],
        model.given("harness.tone.capacitor", given.capacitor),
    )


def blend(model: Model) -> float:
    """One track of the blend control [ohm]."""
    given = harness_of(model).blend
    return (
        _control(model, "blend", 'value = "500k"') if given is None else model.given("harness.blend.value", given.value)
    )


def lead_out(model: Model) -> float:
    """Capacitance of the lead from a pickup to the controls [F]."""
    given = harness_of(model).lead_out
    if given is None:
        return _usual(
            model, "harness.lead_out", "harness.lead-out", "lead from pickup to controls not given: about 0.3 m",
            'write lead_out = { length = "0.3 m", per_metre = "120 pF/m" }',
        )  # fmt: skip
    return given.length.value * model.given("harness.lead_out.per_metre", given.per_metre)


def cable(model: Model) -> float:
    """Capacitance of the cable [F]."""
    given = harness_of(model).cable
    if given is None:
        return _usual(
            model, "harness.cable", "harness.usual-cable", "cable not given: 3 to 6 m of usual cable",
            'write cable = { length = "5 m", per_metre = "100 pF/m" }',
        )  # fmt: skip
    return given.length.value * model.given("harness.cable.per_metre", given.per_metre)


def load(model: Model) -> tuple[float, float]:
    """What the cable feeds: ohms and farads (0: none)."""
    given = harness_of(model).input
    if given is None:
        narrow = 'write input = { resistance = "1M" }'
        return _usual(model, "harness.input", "harness.input", "input not given: the usual one", narrow), 0.0
    farad = 0.0 if given.capacitance is None else model.given("harness.input.capacitance", given.capacitance)
    return model.given("harness.input.resistance", given.resistance), farad
