"""Findings about the harness: what ground and shield touch, what hum a position leaves, controls, cable."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lodestring.assess import blocks, circuit, circuit_coil, circuit_facts, circuit_net, harness_inputs, sheet_places
from lodestring.assess.findings.say import coil_name, count, finding
from lodestring.assess.model import Inputs, Model
from lodestring.design.finding import Finding
from lodestring.physics.network_mesh import Groups
from lodestring.reference import band

LEFT = -20.0
"""More hum than this is left [dB] in a position that is to cancel it: a tenth of one coil's."""
TENTH, MOST = 0.1, 0.75
"""The last tenth of a tone control's travel does more than this share of its work."""
SECANTS = 3
FIFTH = 0.2
COSTS_NOTE, COSTS_WARN = 1.0, 3.0
"""Decibels of the peak that metal round a pickup takes."""


def find(model: Model) -> Iterator[Finding]:
    """Findings about harness, ground and shield."""
    yield from _metal(model)
    yield from _foil(model)
    harness = model.inputs.design.harness
    if harness is None:
        return
    if harness.strings == "not grounded":
        yield finding(
            "strings-not-grounded",
            "warning",
            "harness.strings",
            "the strings are not grounded: a hand on them brings hum in instead of taking it away",
            "lead a wire from the bridge of the instrument to ground",
            {"harness.strings": '"grounded"'},
        )
    for position in circuit_net.position_names(model):
        yield from _hum(model, position)
    yield from _sheets(model)
    yield from _tone(model)
    yield from _cable(model)


# ---- ground and shield ----


def _tied(model: Model) -> Iterator[tuple[str, str, str, str]]:
    """(pickup, key path of grounded_to, what it is, what it is tied to) of every piece of metal."""
    for pickup, record in model.inputs.design.pickup.items():
        for part in ("cover", "baseplate"):
            found = getattr(record, part)
            if found is not None:
                yield pickup, f"pickup.{pickup}.{part}", f"the {part} of the {pickup} pickup", found.grounded_to
        for coil, made in (record.coil or {}).items():
            path, name = blocks.coil_path(pickup, coil), coil_name(model, pickup, coil)
            if made.poles.body is not None:
                yield pickup, f"{path}.poles", f"the pole pieces of {name}", made.poles.grounded_to
            if made.foil is not None:
                yield pickup, f"{path}.foil", f"the foil of {name}", made.foil.grounded_to


def _metal(model: Model) -> Iterator[Finding]:
    for pickup, path, what, to in _tied(model):
        if to not in ("ground", "nothing"):
            where = _hot_in(model, pickup, to)
            if where:
                yield finding(
                    "metal-goes-hot",
                    "warning",
                    f"{path}.grounded_to",
                    f"{what}: tied to the {_wire(to)}, which is not ground {where}, so it buzzes when touched",
                    "give it a ground wire of its own",
                    {f"{path}.grounded_to": '"ground"'},
                    1.0,
                )
        coil = path.removesuffix(".poles").rpartition(".")[2]
        if path.endswith(".poles") and to == "nothing" and blocks.coil_of(model, pickup, coil).hot == "start":
            yield finding(
                "hot-start-by-poles",
                "warning",
                f"{path}.grounded_to",
                f"{what} are tied to nothing and stand beside the hot start of the winding: "
                "a finger or a string on one of them buzzes",
                "make the finish hot (swap the leads of every coil), or ground the pole pieces",
                {f"{path}.grounded_to": '"ground"'},
                0.5,
            )


def _wire(end: str) -> str:
    coil, _, which = end.partition(".")
    return f"{which} wire of coil {coil}"


def _hot_in(model: Model, pickup: str, end: str) -> str:
    """Where a coil's end is not ground: in words, "" for nowhere."""
    coil, _, which = end.partition(".")
    hot = blocks.coil_of(model, pickup, coil).hot == which
    if model.inputs.design.harness is None:
        return "(it is the hot end)" if hot else ""
    node = f"{pickup}.{end}"
    found = []
    for position in circuit_net.wiring(model).positions:
        if position.name.startswith(circuit_net.ALONE) or not any(node in pair for pair in position.closed):
            continue
        groups = Groups()
        for one, other in position.closed:
            groups.join(one, other)
        if groups(node) != groups(circuit_net.GROUND):
            found.append(position.name)
    return "in position " + " and ".join(found) if found else ""


def _foil(model: Model) -> Iterator[Finding]:
    for pickup, coil in blocks.every_coil(model):
        foil = blocks.coil_of(model, pickup, coil).foil
        if foil is not None and foil.ends == "joined":
            path = f"{blocks.coil_path(pickup, coil)}.foil.ends"
            yield finding(
                "foil-ring-closed",
                "warning",
                path,
                f"the foil round {coil_name(model, pickup, coil)} closes a ring: currents in it take away the treble",
                "leave a gap all the way up, insulated where the ends lap",
                {path: '"open"'},
            )


# ---- hum ----


def _hum(model: Model, position: str) -> Iterator[Finding]:
    scope = ("position", position)
    if not circuit_facts.several(model, scope):
        return
    on = circuit.coils_on(model, position)
    pair = next((p for p in model.inputs.design.intent.cancel_hum if set(p) <= set(on)), None)
    if pair is None:
        return
    left = circuit_facts.hum_left(model, scope)
    senses = [circuit_coil.winding_sign(model, *n.split(".")) for n in pair]
    if left <= LEFT or not _opposed(model, position, pair, senses):
        return
    name, turns, then = _cure(model, position, pair)
    path = f"{blocks.coil_path(*name.split('.'))}.turns"
    better = then < left - 1.0
    yield finding(
        "hum-left",
        "warning",
        path,
        f"position {position} is to cancel hum but leaves {_db(left)} of its louder coil's",
        f"{count(turns)} turns on {name} leave {_db(then)}" if better else "make the two coils alike",
        {path: str(turns)} if better else None,
        (left - LEFT) / 20.0,
    )


def _opposed(model: Model, position: str, pair: tuple[str, str], senses: list[int]) -> bool:
    """Whether the pair's shares of hum stand against each other; where they add, another finding says so."""
    one, other = _shares(model, position, pair)
    return (one * other.conjugate()).real < 0.0


def _db(value: float) -> str:
    return "less than a hundredth" if value < -40.0 else f"{value:.0f} dB".replace("-", "\u2212")


def _cure(model: Model, position: str, pair: tuple[str, str]) -> tuple[str, int, float]:
    """The coil of the pair whose turns cure it, how many, and what is then left [dB]: whichever coil leaves less, the
    one that is louder at the jack where both do as well."""
    found = [_level(model, position, name) for name in pair]
    best = min(found, key=lambda f: f[2])
    louder = found[max((0, 1), key=lambda i: abs(_shares(model, position, pair)[i]))]
    return louder if louder[2] < best[2] + 6.0 else best


def _level(model: Model, position: str, name: str) -> tuple[str, int, float]:
    """Turns on one coil that leave least hum, to ten turns, and what they leave [dB].

    First by the ratio of the two shares, once each way (in series a share goes with the turns, in parallel against
    them), then by secants from the better try.
    """
    pickup, coil = name.split(".")
    now = blocks.coil_of(model, pickup, coil).turns

    def tried(turns: int) -> tuple[int, float, float]:
        other = model if turns == now else _with_turns(model, name, turns)
        return turns, _signed(other, position, name), circuit_facts.hum_left(other, ("position", position))

    start = tried(now)
    ratio = max(1.0 - start[1], 0.1)  # what the other coils' shares are of this one's
    tries = [tried(int(round(now * min(max(r, 0.5), 2.0), -1))) for r in (ratio, 1.0 / ratio)]
    last, near = start, min(tries, key=lambda t: t[2])
    for _ in range(SECANTS):
        if near[1] == last[1]:
            break
        turns = round(near[0] - near[1] * (near[0] - last[0]) / (near[1] - last[1]), -1)
        if not 0.5 * now <= turns <= 2.0 * now or turns == near[0]:
            break
        last, near = near, tried(int(turns))
        tries.append(near)
    best = min(tries, key=lambda t: t[2])
    return name, best[0], best[2]


def _shares(model: Model, position: str, names: tuple[str, ...]) -> list[complex]:
    """Each coil's share of the hum at the jack [V s/T]."""
    order = circuit.network(model).harness.branches
    shares = circuit.response(model, position).transfer[:, 0] * circuit.emf(model, "hum")
    return [complex(circuit.at(shares[order.index(n)], circuit_facts.MAINS)) for n in names]


def _signed(model: Model, position: str, name: str) -> float:
    """All hum at the jack over one coil's share of it: 0 where it cancels, below 0 where the others outweigh it."""
    on = circuit.coils_on(model, position)
    return (sum(_shares(model, position, on)) / _shares(model, position, (name,))[0]).real


def _with_turns(model: Model, name: str, turns: int) -> Model:
    """The set with another number of turns on one coil."""
    pickup, coil = name.split(".")
    design, inputs = model.inputs.design, model.inputs
    record = design.pickup[pickup]
    coils = dict(record.coil or {})
    coils[coil] = coils[coil].model_copy(update={"turns": turns})
    changed = design.model_copy(update={"pickup": {**design.pickup, pickup: record.model_copy(update={"coil": coils})}})
    return Model(Inputs(changed, inputs.workshop, inputs.hand, inputs.stock, inputs.spools), model.store)


# ---- controls and cable ----


def _sheets(model: Model) -> Iterator[Finding]:
    """What cover, baseplate and closed foils of a pickup cost, by the first position that has the pickup on."""
    for pickup in model.inputs.design.pickup:
        found = sheet_places.metalwork(model, pickup)
        position = next((p for p in circuit_net.position_names(model) if _on(model, p, pickup)), None)
        if not found or position is None:
            continue
        scope = ("position", position)
        f_with, with_it = circuit_facts.peak_frequency(model, scope), circuit_facts.peak_gain(model, scope)
        bare = _without_metal(model, pickup)
        f_bare, without = circuit_facts.peak_frequency(bare, scope), circuit_facts.peak_gain(bare, scope)
        if without - with_it > COSTS_NOTE:
            names = " and ".join(work.name for work in found)
            yield finding(
                "metal-takes-peak",
                "warning" if without - with_it > COSTS_WARN else "note",
                f"pickup.{pickup}",
                f"{names} of the {pickup} pickup: {_peak(f_with, with_it)} in position {position} with it, "
                f"{_peak(f_bare, without)} without",
                "thinner metal, nickel silver in place of brass or copper, or slots, if that is not wanted",
                None,
                without - with_it,
            )


def _peak(frequency: float, gain: float) -> str:
    if gain < 0.0:
        return "no peak"
    return f"a peak of {gain:.1f} dB at {frequency / 1e3:.1f} kHz"


def _on(model: Model, position: str, pickup: str) -> bool:
    return any(n.partition(".")[0] == pickup for n in circuit.coils_on(model, position))


def _without_metal(model: Model, pickup: str) -> Model:
    """The set without a pickup's cover, baseplate and foils of metal that is not magnetic."""
    design, inputs = model.inputs.design, model.inputs
    record = design.pickup[pickup]
    gone: dict[str, object] = {
        part: None
        for part in ("cover", "baseplate")
        if getattr(record, part) is not None and sheet_places.sheet_metal(getattr(record, part).material) is not None
    }
    coils = {name: coil.model_copy(update={"foil": None}) for name, coil in (record.coil or {}).items()}
    bare = record.model_copy(update={**gone, "coil": coils})
    changed = design.model_copy(update={"pickup": {**design.pickup, pickup: bare}})
    return Model(Inputs(changed, inputs.workshop, inputs.hand, inputs.stock, inputs.spools), model.store)


def _tone(model: Model) -> Iterator[Finding]:
    if "tone" not in circuit_net.travels(model):
        return
    position = circuit_net.position_names(model)[0]
    response = circuit.family(model, position, "tone", (0.0, TENTH, 1.0))
    size = circuit_facts.shape(model, position, response.transfer)
    peak = circuit_facts.peak_frequency(model, ("position", position))
    down, tenth, up = (20.0 * math.log10(float(circuit.at(s, peak))) for s in size)
    if up - down > 6.0 and (tenth - down) / (up - down) > MOST:
        given = harness_inputs.harness_of(model).tone
        linear = given is not None and given.taper != "audio"
        yield finding(
            "tone-at-the-end",
            "note",
            "harness.tone.taper",
            f"the tone control does {100.0 * (tenth - down) / (up - down):.0f} per cent of its work in the last tenth "
            "of its travel",
            "an audio taper spreads it over the whole travel"
            if linear
            else "a smaller control, or a smaller capacitor",
            {"harness.tone.taper": '"audio"'} if linear else None,
        )


def _cable(model: Model) -> Iterator[Finding]:
    given = harness_inputs.harness_of(model).cable
    if given is None:
        return
    position = circuit_net.position_names(model)[0]
    now = circuit_facts.peak_frequency(model, ("position", position))
    usual = circuit_facts.peak_frequency(_with_usual_cable(model), ("position", position))
    if abs(now / usual - 1.0) > FIFTH:
        farad, other = harness_inputs.cable(model), band("harness.usual-cable").spread().nominal
        yield finding(
            "cable-moves-peak",
            "note",
            "harness.cable.length",
            f"the cable ({farad * 1e12:.0f} pF) puts the peak of position {position} at {now / 1e3:.1f} kHz; "
            f"a usual one ({other * 1e12:.0f} pF) puts it at {usual / 1e3:.1f} kHz",
            "a shorter cable or one of less capacitance, if that is not wanted" if now < usual else
            "a longer cable, or a small capacitor across the jack, if that is not wanted",
        )  # fmt: skip


def _with_usual_cable(model: Model) -> Model:
    design, inputs = model.inputs.design, model.inputs
    usual = harness_inputs.harness_of(model).model_copy(update={"cable": None})
    changed = design.model_copy(update={"harness": usual})
    return Model(Inputs(changed, inputs.workshop, inputs.hand, inputs.stock, inputs.spools), model.store)
