"""Which wire goes where, joint by joint, in the order of soldering: what is on the controls first, coil wires late
(their enamel and plates bear heat least), ground and shield of the metal parts last."""

from __future__ import annotations

from collections.abc import Iterator

from lodestring.assess import harness_inputs
from lodestring.assess.model import Model
from lodestring.making.wiring_parts import source_title
from lodestring.making.wiring_records import GROUND, Joint, MetalWire, Pair, SwitchTerminal, WiringPart, joined_nodes

CONTROLS, SELECTOR, JACK_STAGE, PICKUPS, METAL = (
    "On the controls", "Selector", "Jack", "Pickups", "Ground and shield",
)  # fmt: skip
STAGES = (CONTROLS, SELECTOR, JACK_STAGE, PICKUPS, METAL)
_RANK = {"control": 0, "resistor": 0, "capacitor": 0, "selector": 1, "jack": 2, "coil": 3, "kept pickup": 3}
_HUB = {"control": 0, "selector": 1, "jack": 2, "coil": 3, "kept pickup": 3, "resistor": 4, "capacitor": 4}
_END_FIRST = {"top": 0, "wiper": 1, "bottom": 2}
GROUND_POINT = "ground"


def joints(
    model: Model, parts: tuple[WiringPart, ...], wires: tuple[Pair, ...], terminals: tuple[SwitchTerminal, ...]
) -> tuple[Joint, ...]:
    """Every joint: each net is a star about one of its ends, ground about the ground point."""
    nets = joined_nodes([e.node for p in parts for e in p.ends] + [t.node for t in terminals], wires)
    stars: dict[str, list[tuple[str, str, int]]] = {}
    for part in parts:
        for end in part.ends:
            place = _END_FIRST.get(end.word, 0)
            stars.setdefault(nets[end.node], []).append((end_words(part, end.word), part.kind, place))
    for terminal in terminals:
        stars.setdefault(nets[terminal.node], []).append((f"terminal {terminal.letter} of the selector", "selector", 0))
    out: list[Joint] = []
    for net, points in stars.items():
        hub, kind = GROUND_POINT, "control"
        if net != GROUND:
            hub, kind, _ = min(points, key=lambda p: (_HUB[p[1]], p[2]))
            points = [p for p in points if p[0] != hub]
        out += [Joint(STAGES[max(_RANK[k], _RANK[kind])], words, hub) for words, k, _ in points]
    out += [Joint(CONTROLS, f"metal case of the {p.title}", GROUND_POINT) for p in _cases(parts)]
    titles = {e.node: end_words(p, e.word) for p in parts if p.kind == "coil" for e in p.ends}
    for wire in metal_wires(model, parts):
        out.append(Joint(METAL, wire.what, GROUND_POINT if wire.node == GROUND else titles.get(wire.node, wire.node)))
    # ground wires of the coils before their hot ones, so that the phase check can still swap two wires
    return tuple(sorted(out, key=lambda j: (STAGES.index(j.stage), j.stage == PICKUPS and j.to != GROUND_POINT)))


def end_words(part: WiringPart, word: str) -> str:
    """`finish wire of the bridge coil`, `wiper of the tone control`, `one end of the tone capacitor`."""
    if part.kind in ("coil", "kept pickup"):
        return f"{word} wire of the {part.title}"
    return f"{word} of the {part.title}"


def _cases(parts: tuple[WiringPart, ...]) -> list[WiringPart]:
    """One case for each control; the two tracks of a blend control share theirs."""
    out: dict[str, WiringPart] = {}
    for part in parts:
        if part.kind == "control":
            key = "blend" if part.name.endswith(".blend") else part.name
            out.setdefault(key, WiringPart(part.name, part.kind, part.title.partition(",")[0], "", ()))
    return list(out.values())


def metal_wires(model: Model, parts: tuple[WiringPart, ...]) -> tuple[MetalWire, ...]:
    """Every wire of ground and shield: shields of lead-outs, grounded metal, the strings."""
    out = []
    wired = list(dict.fromkeys(p.name.partition(".")[0] for p in parts if p.kind in ("coil", "kept pickup")))
    if harness_inputs.lead_out(model) > 0.0:
        what = "shield of the {} lead-out, at the controls' end alone"
        out += [MetalWire(f"metal-{p}-shield", p, "shield", what.format(p), GROUND) for p in wired]
    for i, (pickup, word, what, to) in enumerate(metal(model)):
        if to != "nothing" and pickup in wired:
            node = GROUND if to == GROUND else f"{pickup}.{to}"
            out.append(MetalWire(f"metal-{pickup}-{i}", pickup, word, what, node))
    harness = model.inputs.design.harness
    if harness is not None and harness.strings != "not grounded":
        what = "string ground: a wire from the bridge of the instrument"
        out.append(MetalWire("metal-strings", "", "string ground", what, GROUND))
    return tuple(out)


def metal(model: Model) -> Iterator[tuple[str, str, str, str]]:
    """(pickup, its word, what it is, what it is tied to) of covers, baseplates, pole pieces and foils."""
    for pickup, record in model.inputs.design.pickup.items():
        for part in ("cover", "baseplate"):
            found = getattr(record, part)
            if found is not None:
                yield pickup, part, f"{part} of the {pickup} pickup", str(found.grounded_to)
        pair = len(record.coil or {}) > 1
        for name, coil in (record.coil or {}).items():
            title = source_title(model, f"{pickup}.{name}")
            before = f"{name} " if pair else ""
            if coil.poles.body is not None:
                yield pickup, f"{before}pole pieces", f"pole pieces of the {title}", str(coil.poles.grounded_to)
            if coil.foil is not None:
                yield pickup, f"{before}foil", f"foil of the {title}", str(coil.foil.grounded_to)


def notes(model: Model) -> tuple[str, ...]:
    """What is left without a wire."""
    out = []
    free = [what for _, _, what, to in metal(model) if to == "nothing"]
    if free:
        out.append(f"Left without a wire: {', '.join(free)}.")
    harness = model.inputs.design.harness
    if harness is not None and harness.strings == "not grounded":
        out.append("The strings are left without a ground wire.")
    return tuple(out)
