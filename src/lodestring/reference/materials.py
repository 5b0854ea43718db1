"""Materials by name: a look-up gives SI spreads and the ids of their rows, or says which names there are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lodestring.errors import CatalogueError
from lodestring.reference.naming import key, unknown_name
from lodestring.reference.records import Row, Spread
from lodestring.reference.store import catalogue

MAGNET_ROWS = ("typical", "minimum")


@dataclass(frozen=True, slots=True)
class Enamel:
    """`solder_temperature` and `thermal_class` in kelvin; density in kg/m3, for the mass of the enamel only."""

    name: str
    permittivity: Spread
    solderable: bool
    solder_temperature: Spread | None
    thermal_class: Spread
    density: Spread
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Metal:
    """ohm m at 20 C, 1/K, kg/m3, relative permeability in weak fields, saturation polarisation in tesla."""

    name: str
    resistivity: Spread
    temperature_coefficient: Spread | None
    density: Spread
    relative_permeability: Spread
    saturation: Spread | None
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Magnet:
    """T, A/m, J/m3, 1/K, ohm m, kg/m3. The knee is an estimate (assumed), `knee_h` negative. `row` is the one asked."""

    grade: str
    row: str
    remanence: Spread
    coercivity_b: Spread
    coercivity_j: Spread | None
    energy_product: Spread | None
    recoil_permeability: Spread
    temperature_coefficient: Spread
    resistivity: Spread
    density: Spread
    knee_b: Spread | None
    knee_h: Spread | None
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Plastic:
    """Kelvin, `least_web` in metres. `deflection` is at 0.45 MPa; `wax_limit` is for what does not melt."""

    name: str
    melts: bool
    glass_transition: Spread | None
    deflection: Spread | None
    wax_limit: Spread | None
    least_web: Spread
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Wax:
    """Temperatures in kelvin; `bath` only for a mixture that is used as a bath."""

    name: str
    melting: Spread | None
    flash_point: Spread | None
    degrades_above: Spread | None
    bath: Spread | None
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StringMaterial:
    """kg/m3, Pa, saturation polarisation in tesla (zero: carries no flux)."""

    name: str
    density: Spread
    modulus: Spread | None
    saturation: Spread
    relative_permeability: Spread | None
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Screw:
    """Metres; the clearance hole's low and high are the fine and coarse series."""

    name: str
    clearance_hole: Spread
    pitch: Spread
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Coin:
    """A coin as a weight, kg."""

    name: str
    mass: Spread
    rows: tuple[str, ...]


def enamel(name: str) -> Enamel:
    """Raises CatalogueError (did you mean, and all names) when there is none."""
    r = _find("enamel", "an enamel", name)
    return Enamel(
        r.title,
        _need(r, "permittivity"),
        r["solderable"].text == "yes",
        r.spread("solder_temperature"),
        _need(r, "thermal_class"),
        _need(r, "density"),
        (r.id,),
    )


def metal(name: str) -> Metal:
    """Raises CatalogueError (did you mean, and all names) when there is none."""
    r = _find("metals", "a metal", name)
    return Metal(
        r.title,
        _need(r, "resistivity"),
        r.spread("temperature_coefficient"),
        _need(r, "density"),
        _need(r, "relative_permeability"),
        r.spread("saturation"),
        (r.id,),
    )


def magnet(grade: str, row: str = "typical") -> Magnet:
    """A magnet grade by its typical or its guaranteed minimum row.

    What nobody guarantees (recoil permeability, temperature coefficient, resistivity, density) comes from the
    typical row when the minimum is asked for; `rows` names both. Raises CatalogueError for another grade or row.
    """
    if row not in MAGNET_ROWS:
        raise unknown_name("a magnet's row", row, MAGNET_ROWS)
    wanted, kinds = key(grade), {r.id: r for r in catalogue().table("magnets")}
    typical = next((r for r in kinds.values() if r.id.endswith(".typical") and wanted in _keys(r)), None)
    if typical is None:
        raise unknown_name("a magnet grade", grade, names("magnets"))
    stem = typical.id.removesuffix(".typical")
    asked, knee = kinds.get(f"{stem}.{row}"), kinds.get(f"{stem}.knee" if row == "typical" else f"{stem}.minimum-knee")
    if asked is None:
        have = [_name(r) for r in kinds.values() if r.id.endswith(".minimum")]
        raise CatalogueError(
            "a guaranteed minimum is in the catalogue for some grades only",
            repr(grade),
            f"its typical row, or one of: {', '.join(have)}",
        )

    def figure(name: str) -> Spread:
        found = asked.spread(name)
        return found if found is not None else _need(typical, name)

    return Magnet(
        grade=_name(typical),
        row=row,
        remanence=_need(asked, "remanence"),
        coercivity_b=_need(asked, "coercivity_b"),
        coercivity_j=asked.spread("coercivity_j"),
        energy_product=asked.spread("energy_product"),
        recoil_permeability=figure("recoil_permeability"),
        temperature_coefficient=figure("temperature_coefficient"),
        resistivity=figure("resistivity"),
        density=figure("density"),
        knee_b=None if knee is None else knee.spread("knee_b"),
        knee_h=None if knee is None else knee.spread("knee_h"),
        rows=tuple(dict.fromkeys(r.id for r in (asked, typical, knee) if r is not None)),
    )


def plastic(name: str) -> Plastic:
    """Raises CatalogueError (did you mean, and all names) when there is none."""
    r = _find("plastics", "a plate or bobbin material", name)
    return Plastic(
        r.title,
        "melts" not in r.values,
        r.spread("glass_transition"),
        r.spread("deflection"),
        r.spread("wax_limit"),
        _need(r, "least_web"),
        (r.id,),
    )


def wax(name: str) -> Wax:
    """Raises CatalogueError (did you mean, and all names) when there is none."""
    r = _find("waxes", "a wax", name)
    figures = (r.spread("melting"), r.spread("flash_point"), r.spread("degrades_above"), r.spread("bath"))
    return Wax(r.title, *figures, (r.id,))


def string_material(name: str) -> StringMaterial:
    """Core or wrap. Raises CatalogueError (did you mean, and all names) when there is none."""
    r = _find("strings", "a string's core or wrap", name)
    return StringMaterial(
        r.title,
        _need(r, "density"),
        r.spread("modulus"),
        _need(r, "saturation"),
        r.spread("relative_permeability"),
        (r.id,),
    )


def screw(name: str) -> Screw:
    """Raises CatalogueError (did you mean, and all names) when there is none."""
    r = _find("screws", "a screw", name)
    return Screw(r.title, _need(r, "clearance_hole"), _need(r, "pitch"), (r.id,))


def coins(currency: str) -> tuple[Coin, ...]:
    """The coins of "euro" or "US", lightest first."""
    rows = [r for r in catalogue().table("coins") if r.id.split(".")[1] == key(currency)]
    if not rows:
        raise unknown_name("a coin's currency", currency, ("euro", "US"))
    found = (Coin(r.title, _need(r, "mass"), (r.id,)) for r in rows)
    return tuple(sorted(found, key=lambda coin: coin.mass.nominal))


def names(table: str) -> tuple[str, ...]:
    """Every name a table answers to, as a person types it: for did-you-mean and for lists to choose from."""
    if table == "wire":
        from lodestring.reference.copper_wire import wire_sizes

        return wire_sizes()
    full = _PLURAL.get(table, table)
    rows = catalogue().table(full)
    if full == "magnets":
        return tuple(_name(r) for r in rows if r.id.endswith(".typical"))
    if full in ("bands", "cautions"):
        return tuple(r.id.split(".", 1)[1] for r in rows)
    return tuple(r.title for r in rows)


_PLURAL: Mapping[str, str] = {
    "metal": "metals",
    "magnet": "magnets",
    "plastic": "plastics",
    "wax": "waxes",
    "string": "strings",
    "screw": "screws",
    "coin": "coins",
    "band": "bands",
    "caution": "cautions",
}


def _name(row: Row) -> str:
    """A magnet row's grade: its title up to the comma."""
    return row.title.split(",")[0]


def _keys(row: Row) -> set[str]:
    return {key(row.title), key(_name(row)), *(key(a) for a in row.also)}


def _find(table: str, what: str, name: str) -> Row:
    wanted = key(name)
    rows = catalogue().table(table)
    exact = next((r for r in rows if wanted == key(r.title)), None)
    found = exact or next((r for r in rows if wanted in {key(a) for a in r.also}), None)
    if found is None:
        raise unknown_name(what, name, names(table))
    return found


def _need(row: Row, name: str) -> Spread:
    return row[name].spread()
