"""What the maker chooses for the parts: printer, fits, screws. Made from the workshop file, or as it comes."""

from __future__ import annotations

from dataclasses import dataclass, field

from lodestring.design.workshop import Printer, Workshop
from lodestring.errors import CatalogueError
from lodestring.parts.fit import Calibration, FitClass, Tried
from lodestring.reference import metal, plastic
from lodestring.reference.naming import unknown_name


@dataclass(frozen=True, slots=True)
class Choices:
    """How parts are made.

    `printer`: what prints, with its fit; `sheet`: what cuts sheet, with its kerf. `plastic`: what the printer prints
    with, for parts whose material the set file does not name. `rod_fit`: rods that hold plates together; `pole_fit`:
    pole pieces in a walled core. `screw`: through ears. `ears`: whether bottom plates have them, to be screwed down.
    """

    printer: Calibration = field(default_factory=Calibration)
    sheet: Calibration = field(default_factory=lambda: Calibration("cut sheet"))
    plastic: str = "PETG"
    rod_fit: FitClass = "hand press"
    pole_fit: FitClass = "slip"
    screw: str = "M3"
    ears: bool = False
    name: str = ""

    def process_for(self, material: str) -> str:
        """Plastics that melt are printed; fibre and metals are cut from sheet."""
        return self.printer.process if melts(material) else self.sheet.process

    def calibration(self, process: str) -> Calibration:
        """The machine for a process; one that is neither printer nor cutter is taken as it comes."""
        for machine in (self.printer, self.sheet):
            if machine.process == process:
                return machine
        return Calibration(process)


def melts(material: str) -> bool:
    """Whether a material can be printed: False for fibre and for every metal."""
    try:
        metal(material)
    except CatalogueError:
        return plastic(material).melts
    return False


def choices(workshop: Workshop | None, printer: str = "") -> Choices:
    """Choices from the workshop file: the named printer, or the first. Raises CatalogueError for an unknown name."""
    have = {} if workshop is None else workshop.printer
    if printer and printer not in have:
        raise unknown_name("a printer of the workshop file", printer, tuple(have))
    makers = {n: p for n, p in have.items() if p.process in ("filament", "resin")}
    cutters = {n: p for n, p in have.items() if p.process not in ("filament", "resin")}
    chosen = have.get(printer)
    if chosen is not None:
        (makers if printer in makers else cutters).clear()
        (makers if chosen.process in ("filament", "resin") else cutters)[printer] = chosen
    out = Choices()
    name, first = next(iter(makers.items()), ("", None))
    cutter = next(iter(cutters.values()), None)
    return Choices(
        out.printer if first is None else calibration(first),
        out.sheet if cutter is None else calibration(cutter),
        out.plastic if first is None else first.material,
        name=name,
    )


def calibration(printer: Printer) -> Calibration:
    """What is known of a printer: answers given for the material and the nozzle it has now; later ones stand over
    earlier ones of the same kind."""
    found: dict[tuple[str, str], Tried] = {}
    for answer in printer.fit:
        if answer.material not in (None, printer.material):
            continue
        nozzles = [None if n is None else round(n.value, 7) for n in (answer.nozzle, printer.nozzle)]
        if nozzles[0] is not None and nozzles[0] != nozzles[1]:
            continue
        found[answer.feature, answer.axis] = Tried(
            answer.feature, answer.axis, answer.nominal.value, answer.slips.value, answer.pressed.value
        )
    kerf = None if printer.kerf is None else printer.kerf.value
    return Calibration(printer.process, tuple(found.values()), kerf)
