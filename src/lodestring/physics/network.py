"""The circuit behind the coils: from every coil's EMF to the output, for every position and setting.

`prepare` once for a circuit and its frequencies: parts are checked, and every node that no control, contact or output
touches is eliminated (coils, ladders, cable). `Network.solve` then takes a position and any number of settings.

A network of resistors, capacitors, coils and mutual inductance is reciprocal, so one unit of current driven into the
output tells everything: the output's voltage is Z_out, and the current it sends through a coil, counted toward the
coil's first end, is the transfer from that coil's EMF to the open output. Only one column is solved for any number of
coils and of EMF patterns (a string's and hum's are two sets of weights on the same transfers).

Validity: linear, passive, small against the wavelength; exact otherwise. At 0 Hz capacitors are open, inductors their
resistance, and coils their `dc_resistance`; a circuit whose output no direct current reaches has no answer there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lodestring.errors import DomainError
from lodestring.physics.network_check import Note, check, floating, joined, linked, notes
from lodestring.physics.network_mesh import Groups, Mesh, Values, at_frequencies, at_rest, resistances
from lodestring.physics.network_parts import Branches, Control, Harness, OnePort, Part, Position, links

Complex = NDArray[np.complex128]
Array = NDArray[np.float64]
Index = NDArray[np.intp] | slice
Settings = Mapping[str, ArrayLike]
"""Travel 0..1 by control's name, one or (settings,); a control that is not named is fully up (1)."""


@dataclass(frozen=True, eq=False)
class Response:
    """One position at all settings: `transfer` (c, settings, f) [V/V] from each coil of `branches` to the output, and
    `z_out` (settings, f) [ohm] between the output and ground."""

    branches: tuple[str, ...]
    transfer: Complex
    z_out: Complex

    def driven(self, emf: ArrayLike) -> Complex:
        """Output (settings, f) [V] for an EMF [V] in each coil, (c,) or (c, f)."""
        weights = np.asarray(emf)
        if weights.shape[:1] != (len(self.branches),) or weights.ndim not in (1, 2):
            raise DomainError(f"there is one EMF for each of {', '.join(self.branches)}", f"shape {weights.shape}")
        weights = weights.reshape(len(self.branches), 1, -1)
        return np.asarray((weights * self.transfer).sum(axis=0))


class Network:
    """A checked circuit at its frequencies; made by `prepare`."""

    def __init__(self, harness: Harness, frequencies: Array) -> None:
        self.harness, self.frequencies = harness, frequencies
        self._positions = {position.name: position for position in harness.positions}
        self._resting, self._chosen = frequencies == 0.0, np.flatnonzero(frequencies > 0.0)
        self._kept = _outer(harness)
        self._mesh = self._reduced()

    def notes(self, position: str) -> list[Note]:
        """Coils that a position leaves open or shorts on themselves."""
        return notes(self.harness, self._position(position))

    def solve(self, position: str, settings: Settings | None = None) -> Response:
        """Transfers and output impedance of a position at the settings.

        Raises DomainError for a name that is not there, a travel outside 0..1, and at a resonance without any loss.
        """
        where, travels = self._position(position), self._travels(settings or {})
        shape = (max(t.shape[0] for t in travels.values()) if travels else 1, len(self.frequencies))
        branches = self.harness.branches
        transfer, z_out = np.zeros((len(branches), *shape), complex), np.zeros(shape, complex)
        if len(self._chosen):
            groups = joined(self.harness, where)
            found = linked(self.harness, groups)
            _anchor(groups, [(a, b) for _, a, b in found], self.harness.ground, self._kept)
            mesh = self._mesh.merged(groups)
            _add_controls(mesh, groups, self.harness.controls, travels)
            to: Index = slice(None) if len(self._chosen) == shape[1] else self._chosen
            self._answer(mesh, groups, transfer, z_out, to)
        if self._resting.any():
            self._at_rest(where, travels, transfer, z_out)
        self._must_be_finite(transfer, z_out, position)
        for array in (transfer, z_out):
            array.flags.writeable = False
        return Response(branches, transfer, z_out)

    def dc_resistance(self, position: str, settings: Settings | None = None) -> Array:
        """(settings,) [ohm] between output and ground as a meter at the jack reads it, nothing plugged in (`load` left
        out): inf where no direct current can pass. A coil counts with its `dc_resistance`."""
        where, travels = self._position(position), self._travels(settings or {})
        count = max(t.shape[0] for t in travels.values()) if travels else 1
        resting = self._resting_mesh(where, travels, self.harness.parts)
        if resting is None:
            return np.full(count, np.inf)
        mesh, groups = resting
        z_out = np.zeros((count, 1), complex)
        self._answer(mesh, groups, np.zeros((0, count, 1), complex), z_out, slice(None))
        return z_out.real[:, 0]

    # ---- what was asked ----

    def _position(self, name: str) -> Position:
        if name not in self._positions:
            raise DomainError("a position of the circuit", name, f"one of {', '.join(self._positions)}")
        return self._positions[name]

    def _travels(self, settings: Settings) -> dict[str, Array]:
        """(settings, 1) or (1, 1) for each control."""
        known = [control.name for control in self.harness.controls]
        out = {name: np.ones((1, 1)) for name in known}
        for name, travel in settings.items():
            if name not in out:
                raise DomainError("a control of the circuit", name, f"one of {', '.join(known) or 'none: it has none'}")
            out[name] = np.asarray(travel, dtype=float).reshape(-1, 1)
        lengths = {len(t) for t in out.values()} - {1}
        if len(lengths) > 1 or 0 in lengths:
            raise DomainError(
                "all controls are given for the same settings", f"{', '.join(map(str, sorted(lengths)))} of them"
            )
        return out

    # ---- the work ----

    def _reduced(self) -> Mesh:
        """Everything but controls, with the nodes that nothing else touches taken out."""
        mesh = at_frequencies(
            self.harness.everything, self.frequencies[self._chosen], self._chosen, joined(self.harness)
        )
        with np.errstate(all="ignore"):
            for _ in mesh.reduce(self._kept, joined(self.harness)(self.harness.ground), carry=True):
                pass
        return mesh

    def _answer(self, mesh: Mesh, groups: Groups, transfer: Complex, z_out: Complex, to: Index) -> None:
        """Fill `transfer` and `z_out` in the columns `to`: a unit of current into the output of the mesh."""
        output, ground = groups(self.harness.output), groups(self.harness.ground)
        if output == ground:
            return
        mesh = mesh.without_far_side(output, ground)
        with np.errstate(all="ignore"):  # what is not finite is said in words, by the caller
            steps = list(mesh.reduce({output, ground}, ground))
            voltage: dict[str, Values] = {output: 1.0 / mesh.beside[output][ground]}
            z_out[:, to] = voltage[output]
            for node, weights in reversed(steps):
                around = [weight * voltage[other] for other, weight in weights.items()]
                voltage[node] = sum(around[1:], around[0]) if around else np.zeros((1, 1))
            for node, currents in mesh.sources.items():
                if node != ground:
                    for branch, current in currents.items():
                        if branch < len(transfer):
                            transfer[branch][:, to] += current * voltage[node]

    def _at_rest(self, where: Position, travels: dict[str, Array], transfer: Complex, z_out: Complex) -> None:
        """The columns at 0 Hz."""
        ideal = [
            name
            for part in self.harness.everything
            if isinstance(part, Branches)
            for name, ohm in zip(part.names, part.dc_resistance, strict=True)
            if ohm == 0.0
        ]
        if ideal:
            raise DomainError("a coil has a resistance at 0 Hz", f"0 ohm for {ideal[0]}", "frequencies above 0 Hz")
        resting = self._resting_mesh(where, travels, self.harness.everything)
        if resting is None:
            raise DomainError(
                f"direct current has a way from the output ({self.harness.output}) to ground at 0 Hz",
                f"position {where.name}, in which it has none",
                "frequencies above 0 Hz, or a load with a resistance",
            )
        mesh, groups = resting
        self._answer(mesh, groups, transfer, z_out, np.flatnonzero(self._resting))

    def _resting_mesh(
        self, where: Position, travels: dict[str, Array], parts: tuple[Part, ...]
    ) -> tuple[Mesh, Groups] | None:
        """The circuit for direct current, or None if none passes from the output to ground."""
        harness, groups = self.harness, joined(self.harness, where)
        controls = [part for part in parts if isinstance(part, Control)]
        ways = [way for part in parts for way in resistances(part)]
        for a, b, ohm in ways:
            if ohm == 0.0:
                groups.join(a, b)
        found = [(groups(a), groups(b)) for a, b, _ in ways]
        found += [(groups(a), groups(b)) for control in controls for _, a, b in links(control)]
        output, ground = groups(harness.output), groups(harness.ground)
        if any(output in piece for piece in floating([*found, (output, output)], ground)):
            return None
        _anchor(groups, found, harness.ground)
        mesh = at_rest(parts, groups)
        _add_controls(mesh, groups, controls, travels)
        return mesh, groups

    def _must_be_finite(self, transfer: Complex, z_out: Complex, position: str) -> None:
        bad = ~np.isfinite(z_out).all(axis=0) | ~np.isfinite(transfer).all(axis=(0, 1))
        if bad.any():
            raise DomainError(
                "something in the circuit damps every resonance",
                f"none at {self.frequencies[np.argmax(bad)]:g} Hz in position {position}",
                "a resistance in the coil or beside it",
            )


def prepare(harness: Harness, frequencies: Array) -> Network:
    """A checked circuit at frequencies (f,) [Hz], 0 or more, in any order.

    Raises DomainError for a circuit that does not hang together (network_check says what is looked at) and for
    frequencies or impedances of another number.
    """
    f = np.array(frequencies, dtype=float)
    if f.ndim != 1 or not len(f) or not bool(np.all((f >= 0.0) & np.isfinite(f))):
        raise DomainError("a response is worked out at one or more frequencies of 0 Hz or more", f"{frequencies}")
    check(harness)
    for part in harness.everything:
        if isinstance(part, Branches | OnePort) and part.impedance.shape[-1] != len(f):
            called = part.name if isinstance(part, OnePort) else ", ".join(part.names)
            raise DomainError(
                f"the impedance of {called} is given at the circuit's {len(f)} frequencies",
                f"{part.impedance.shape[-1]} values",
            )
        if isinstance(part, Branches) and len(f[f > 0.0]):
            _must_be_invertible(part, f)
    f.flags.writeable = False
    return Network(harness, f)


def _must_be_invertible(part: Branches, f: Array) -> None:
    z = np.moveaxis(part.impedance[:, :, f > 0.0], -1, 0)
    condition = np.linalg.cond(z) if np.all(np.abs(z).max(axis=(1, 2)) > 0) else np.array([np.inf])
    if not bool(np.all(condition < 1e12)):
        raise DomainError(
            "coils have an impedance, and are not coupled without any leakage",
            f"{', '.join(part.names)}, whose currents their voltages leave open",
            "a resistance in each coil, or a coupling below 1",
        )


def _add_controls(mesh: Mesh, groups: Groups, controls: Iterable[Control], travels: dict[str, Array]) -> None:
    for control in controls:
        below, above = _conductances(control, travels[control.name])
        mesh.add(groups(control.a), groups(control.wiper), below)
        mesh.add(groups(control.wiper), groups(control.b), above)


def _conductances(control: Control, travel: Array) -> tuple[Complex, Complex]:
    """[S] from the end a to the wiper, and from the wiper to b."""
    try:
        share = control.taper.share(travel)
    except DomainError as error:
        raise DomainError(f"{error.must} (control {control.name})", error.came, error.attempt) from None
    # Either part is END of the track or more, so the difference is exact enough. Complex, since numpy multiplies two
    # complex arrays in half the time of a real and a complex one.
    track = (control.ohm * share).astype(np.complex128)
    return np.asarray(1.0 / track), np.asarray(1.0 / (control.ohm - track))


def _outer(harness: Harness) -> set[str]:
    """The nodes that a control, a contact, the output or ground touches."""
    groups = joined(harness)
    nodes = [harness.output, harness.ground]
    nodes += [node for control in harness.controls for _, a, b in links(control) for node in (a, b)]
    nodes += [node for position in harness.positions for ends in position.closed for node in ends]
    return {groups(node) for node in nodes}


def _anchor(groups: Groups, found: list[tuple[str, str]], ground: str, among: set[str] | None = None) -> None:
    """Tie one node (`among` these, if given) of every floating piece to ground: no current flows in the tie, so nothing
    changes, and the piece has voltages: a coil that is switched off at both ends still feels its neighbour."""
    fit = None if among is None else {groups(node) for node in among}
    for piece in floating(found, groups(ground)):
        groups.join(ground, min(piece if fit is None else piece & fit))
