"""Inputs that no key path holds: wire, enamel, copper, the maker's hand, the room. Built from catalogue and records."""

from __future__ import annotations

import math

from lodestring.assess.model import Model
from lodestring.assess.uncertainty import Input
from lodestring.design.coil import Coil
from lodestring.design.coil import Wire as WireSpec
from lodestring.design.learned import Learned, SpoolLeft
from lodestring.physics.wire import copper_mass, enamel_mass
from lodestring.reference import TensionBand, band, band_row, catalogue, elongation, enamel, metal, tension_band, wire

ROOM = 293.15


def from_band(name: str, band_name: str, why: str, narrow: str, known: str = "assumed") -> Input:
    """A named input from a row of the bench's bands."""
    value = band(band_name)
    spread = value.spread()
    return Input(name, spread.nominal, spread.low, spread.high, known, why, narrow, (band_row(band_name),))


def learned_input(name: str, learned: Learned) -> Input:
    """A named input that the maker's own coils have taught."""
    return Input(
        name,
        learned.value,
        learned.value - learned.half_width,
        learned.value + learned.half_width,
        "measured",
        f"learned from {learned.coils} coil{'' if learned.coils == 1 else 's'} of this hand",
    )


def wire_label(spec: WireSpec) -> str:
    """A name for the wire that all coils wound with it share: `42-awg-single`."""
    return f"{spec.size.label}-{spec.film}".lower().replace(" ", "-")


def spool_for(model: Model, spec: WireSpec) -> SpoolLeft | None:
    """The first spool the book knows with this wire."""
    for spool in model.inputs.spools.spools if model.inputs.spools else ():
        if (spool.size, spool.enamel, spool.film) == (spec.size, spec.enamel, spec.film):
            return spool
    return None


def resistivity(model: Model) -> float:
    """Resistivity of the copper at 20 C [ohm m]."""
    return model.read("copper.resistivity", lambda: _metal("copper.resistivity", "resistivity"))


def temperature_coefficient(model: Model) -> float:
    """Temperature coefficient of copper's resistance at 20 C [1/K]."""
    return model.read(
        "copper.temperature_coefficient", lambda: _metal("copper.temperature_coefficient", "temperature_coefficient")
    )


def copper_density(model: Model) -> float:
    """Density of copper [kg/m3]."""
    return model.read("copper.density", lambda: _metal("copper.density", "density"))


def _metal(name: str, quantity: str) -> Input:
    copper = metal("copper")
    spread = getattr(copper, quantity)
    return Input(name, spread.nominal, spread.low, spread.high, "catalogue", "annealed copper", "", copper.rows)


def bare_diameter(model: Model, spec: WireSpec) -> float:
    """Bare diameter [m]: the standard's limits, or what a 10 m sample of the spool says."""
    name = f"wire.{wire_label(spec)}.bare"

    def make() -> Input:
        spool = spool_for(model, spec)
        found = wire(spec.size, spec.film)
        if spool is not None and spool.ohm_per_metre is not None:
            sample = spool.ohm_per_metre
            rho = metal("copper").resistivity.nominal
            middle, thin, thick = (
                math.sqrt(4.0 * rho / (math.pi * r))
                for r in (sample.value, sample.value + sample.half_width, sample.value - sample.half_width)
            )
            return Input(name, middle, thin, thick, "measured", f"sample of spool {spool.name}", "", found.rows)
        bare = found.bare
        return Input(
            name,
            bare.nominal,
            bare.low,
            bare.high,
            "catalogue",
            "limits of the standard",
            "read the ohms of a 10 m sample of the spool",
            found.rows,
        )

    return model.read(name, make)


def film_increase(model: Model, spec: WireSpec) -> float:
    """How much thicker the enamel makes the wire [m]: overall less bare diameter."""
    name = f"wire.{wire_label(spec)}.film"

    def make() -> Input:
        found = wire(spec.size, spec.film)
        bare, overall = found.bare, found.overall
        nominal = overall.nominal - bare.nominal
        ends = sorted((overall.low - bare.low, overall.high - bare.high))
        return Input(
            name,
            nominal,
            min(ends[0], nominal),
            max(ends[1], nominal),
            "catalogue",
            "limits of the standard",
            "measure five turns side by side, or the mass of a 10 m sample",
            found.rows,
        )

    return model.read(name, make)


def enamel_density(model: Model, spec: WireSpec) -> float:
    """Density of the enamel [kg/m3]."""
    name = f"enamel.{spec.enamel}.density"

    def make() -> Input:
        found = enamel(spec.enamel)
        d = found.density
        return Input(name, d.nominal, d.low, d.high, "catalogue", "enamel's density", "", found.rows)

    return model.read(name, make)


def mass_per_metre(model: Model, spec: WireSpec) -> float:
    """Mass of a metre of wire as it lies on the spool [kg/m], enamel included."""
    bare = bare_diameter(model, spec)
    overall = bare + film_increase(model, spec)
    return copper_mass(copper_density(model), bare, 1.0) + enamel_mass(enamel_density(model, spec), bare, overall, 1.0)


def packing(model: Model, coil: Coil, path: str) -> float:
    """Packing: enamelled wire area over window area."""
    if isinstance(coil.packing, float):
        name, value = f"{path}.packing", coil.packing
        why = "a ratio given in the set file, 5 per cent either way"
        return model.read(
            name, lambda: Input(name, value, value * 0.95, min(value * 1.05, max(value, 0.906899)), "assumed", why)
        )
    style = coil.packing
    hand = model.inputs.hand
    if style == "hand" and hand is not None and hand.packing is not None:
        learned = hand.packing
        return model.read("hand.packing", lambda: learned_input("hand.packing", learned))
    why = {
        "hand": "how close this hand lays the turns is not known yet",
        "traverse": "how close a traverse lays the turns varies",
        "perfect machine layers": "a perfect stack",
    }[style]
    name = "hand.packing" if style == "hand" else f"{style.replace(' ', '_')}.packing"
    row = f"packing.{style.replace(' ', '-')}"
    return model.read(name, lambda: from_band(name, row, why, "measure one finished coil's size at a known turn"))


def belly(model: Model) -> float:
    """How much deeper the long sides are than the ends, as a ratio."""
    hand = model.inputs.hand
    if hand is not None and hand.belly is not None:
        learned = hand.belly
        return model.read("hand.belly", lambda: learned_input("hand.belly", learned))
    narrow = "measure one finished coil at end and mid-side"
    return model.read("hand.belly", lambda: from_band("hand.belly", "shape.belly", "long sides belly out", narrow))


def tape(model: Model) -> float:
    """Outer tape on one side [m]."""
    return model.read("tape", lambda: from_band("tape", "shape.tape", "one or two turns of tape", "measure the tape"))


def plate_bow(model: Model, thin_print: bool) -> float:
    """How far a plate bows outward [m] under the turns."""
    name = "plate.bow.thin-print" if thin_print else "plate.bow"
    why = "thin prints bow more" if thin_print else "plates bow under the turns"
    row = "shape.plate-bow-thin-print" if thin_print else "shape.plate-bow"
    return model.read(name, lambda: from_band(name, row, why, "measure the plates of a finished coil"))


def tension_of(spec: WireSpec) -> TensionBand:
    """The bench's band of winding tension for a wire."""
    size = spec.size
    return tension_band(size.number if size.number is not None else size.diameter or 0.0)


def tension(model: Model, coil: Coil, path: str) -> float:
    """Pull on the wire [N]: as given, else the middle of the usual band of its gauge."""
    if coil.tension is not None:
        return model.given(f"{path}.tension", coil.tension)
    name = f"{path}.tension"

    def make() -> Input:
        found = tension_of(coil.wire)
        low, high = found.usual_low, found.usual_high
        return Input(name, (low + high) / 2, low, high, "assumed", "no tension given: the usual band", "give tension",
                     found.rows)  # fmt: skip

    return model.read(name, make)


def stretch_factor(model: Model) -> float:
    """Factor on the law of stretch: the law is assumed, and good to a factor 2."""
    hand = model.inputs.hand
    if hand is not None and hand.stretch is not None:
        learned = hand.stretch
        return model.read("hand.stretch", lambda: learned_input("hand.stretch", learned))
    narrow = "compare ohms per metre off the spool and as wound"
    return model.read(
        "hand.stretch", lambda: Input("hand.stretch", 1.0, 0.5, 2.0, "assumed", "the law of stretch is assumed", narrow)
    )


def stretch_law(model: Model, bare: float) -> tuple[float, float, float]:
    """Proof stress and strength [Pa] and elongation at break [1] of soft copper wire of this diameter."""
    shelf = catalogue()
    proof, strength = (shelf.row(f"strength.{n}")["stress"].spread().nominal for n in ("proof", "tensile"))
    return proof, strength, elongation(bare).least


def room(model: Model) -> float:
    """Temperature of the room [K]."""
    workshop = model.inputs.workshop
    if workshop is not None and workshop.room is not None:
        value, half = workshop.room.value, workshop.room.half_width or 2.0
        return model.read(
            "workshop.room",
            lambda: Input("workshop.room", value, value - half, value + half, "measured", "the workshop file"),
        )
    return model.read(
        "workshop.room",
        lambda: Input("workshop.room", ROOM, ROOM - 3.0, ROOM + 4.0, "assumed", "room temperature not given",
                      'write room = "21 C" in workshop.toml'),
    )  # fmt: skip


def pace(model: Model) -> float:
    """Turns per second while cranking."""
    hand, workshop = model.inputs.hand, model.inputs.workshop
    if hand is not None and hand.pace is not None:
        learned = hand.pace
        return model.read("hand.pace", lambda: learned_input("hand.pace", learned))
    winder = next(iter(workshop.winder.values()), None) if workshop is not None else None
    if winder is not None and winder.pace is not None:
        value = winder.pace.value
        half = winder.pace.half_width or 0.15 * value
        return model.read(
            "hand.pace", lambda: Input("hand.pace", value, value - half, value + half, "measured", "the workshop file")
        )
    return model.read(
        "hand.pace", lambda: from_band("hand.pace", "pace.hand-crank", "pace of a hand crank", "time one coil")
    )
