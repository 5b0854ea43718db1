"""An inductance that falls with frequency as a passive chain of coils and resistors, for export to any circuit program.

    L(w) = L_inf + sum c_i / (1 + j w T_i),   T_i > 0, L_inf and c_i >= 0

Each term is an inductor c_i with a resistor c_i / T_i across it, all in series: passive by construction. L_inf and c_i
come from least squares without negative values (Lawson & Hanson 1974) on a fixed logarithmic grid of T, so there is no
fit of poles that could fail. For coupled coils every c_i is a matrix that is positive semidefinite: a sum of shorted
loops, each coupled to both coils in a fixed ratio.

L_inf is the fit's, not the physical limit: it holds for the frequencies fitted, 20 Hz to 50 kHz unless others are
given. Source: the project's design; Foster's form of an R-L one-port.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.poles import Numbers
from lodestring.physics.ring import Array

GRID = 120
"""Time constants on the grid; a coarser one gives fewer sections and a greater error (16: about 2e-5 for steel)."""
DIRECTIONS = 24
"""Ratios of coupling that a shorted loop between two coils may have."""
WIDER = 30.0
"""The grid reaches so far beyond 1/w of the frequencies given."""
LITTLE = 1e-9


def export_frequencies(count: int = 80) -> Array:
    """20 Hz to 50 kHz in equal steps of the logarithm (count,) [Hz]."""
    return np.geomspace(20.0, 50e3, count)


@dataclass(frozen=True)
class Ladder:
    """`inductance_inf` [H] in series with sections (L_i [H], R_i [ohm]), each a coil with a resistor across it.

    `error`: greatest |L - fit| / |L| over the frequencies fitted.
    """

    inductance_inf: float
    sections: tuple[tuple[float, float], ...]
    error: float

    def inductance(self, frequency: Array) -> Numbers:
        """L (f,) [H], complex, at frequencies (f,) [Hz]."""
        s = 2j * np.pi * np.asarray(frequency, dtype=float)
        return self.inductance_inf + sum((l / (1.0 + s * (l / r)) for l, r in self.sections), np.zeros_like(s))


@dataclass(frozen=True)
class CoupledLadder:
    """Two coils: matrix L_inf (2, 2) [H] and shorted loops (T [s], (m_1, m_2) [sqrt(H)]).

    A loop adds m_i m_j / (1 + j w T) to L_ij: the field it lets through at low frequency. As a circuit: a closed loop
    of inductance l and resistance l / T, any l > 0, coupled to coil i by m_i sqrt(l), beside coils of the full
    inductances `still`. `error`: greatest |L_ij - fit| / sqrt(|L_ii L_jj|) over the frequencies fitted.
    """

    inductance_inf: Array
    loops: tuple[tuple[float, tuple[float, float]], ...]
    error: float

    @property
    def still(self) -> Array:
        """(2, 2) [H] at frequency 0: what the two coils of the circuit have."""
        out = self.inductance_inf.copy()
        for _, m in self.loops:
            out += np.outer(m, m)
        return out

    def inductance(self, frequency: Array) -> Numbers:
        """L (f, 2, 2) [H], complex, at frequencies (f,) [Hz]."""
        s = 2j * np.pi * np.asarray(frequency, dtype=float)
        out: Numbers = np.zeros((len(s), 2, 2), dtype=complex) + self.inductance_inf
        for t, m in self.loops:
            out = out + np.outer(m, m) / (1.0 + s * t)[:, None, None]
        return out


def fit_ladder(
    inductance: Numbers | Callable[[Array], Numbers], frequency: Array | None = None, grid: int = GRID
) -> Ladder:
    """The ladder of a complex inductance (f,) [H] at frequencies (f,) [Hz], or of a function of them.

    Raises DomainError for values that no passive coil has: a real part not above 0, or an imaginary part above 0.
    """
    frequency = export_frequencies() if frequency is None else np.asarray(frequency, dtype=float)
    values = np.asarray(inductance(frequency) if callable(inductance) else inductance, dtype=complex)
    _check(values, frequency)
    scale = 1.0 / np.abs(values)
    right = _real(scale * values)

    def solve(t: Array) -> tuple[Array, float]:
        found = _nnls(_real(scale[:, None] * _terms(t, frequency)), right)
        return found, float(np.max(np.abs(scale * (_terms(t, frequency) @ found - values))))

    t = _grid(frequency, grid)
    found, error = solve(t)
    while True:  # two neighbours on the grid stand for one time constant between them
        merged = _merged(t, found[1:])
        if merged is None:
            break
        again, worse = solve(merged)
        if worse > max(1.1 * error, LITTLE):
            break
        t, found, error = merged, again, worse
    sections = tuple((float(c), float(c / tau)) for tau, c in zip(t, found[1:], strict=True) if c > 0.0)
    return Ladder(float(found[0]), sections, error)


def fit_coupled(inductance: Numbers, frequency: Array, grid: int = 80) -> CoupledLadder:
    """The ladder of two coupled coils, complex inductances (f, 2, 2) [H], symmetric, at frequencies (f,) [Hz].

    Every loop's ratio of coupling comes from a fan of directions, so each term is positive semidefinite whatever the
    data; L_inf may have a mutual part of either sign. Raises DomainError as `fit_ladder`, for a mutual inductance that
    differs from one side to the other, and for more than two coils.
    """
    values, frequency = np.asarray(inductance, dtype=complex), np.asarray(frequency, dtype=float)
    if values.shape != (len(frequency), 2, 2):
        raise DomainError("a coupled ladder has an inductance of two by two at each frequency", f"{values.shape}")
    for i in range(2):
        _check(values[:, i, i], frequency)
    if not np.allclose(values[:, 0, 1], values[:, 1, 0], rtol=1e-6, atol=1e-9 * float(np.abs(values).max())):
        raise DomainError("a mutual inductance is the same from either coil", "two that differ")
    own = np.sqrt(np.abs(values[:, [0, 1], [0, 1]]))  # (f, 2)
    level = own.mean(axis=0)
    t = _grid(frequency, grid)
    angle = np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    fan = np.stack([np.cos(angle), np.sin(angle)], axis=1) * level  # (d, 2)
    # L_inf as loops too fast to act: positive semidefinite as the rest
    terms = _terms(t, frequency)
    rows, right = [], []
    for i, j in ((0, 0), (0, 1), (1, 1)):
        scale = 1.0 / (own[:, i] * own[:, j])
        rows.append(
            _real(np.einsum("ft,d->ftd", scale[:, None] * terms, fan[:, i] * fan[:, j]).reshape(len(scale), -1))
        )
        right.append(_real(scale * values[:, i, j]))
    found = _nnls(np.concatenate(rows), np.concatenate(right)).reshape(len(t) + 1, DIRECTIONS)
    inf = np.einsum("d,di,dj->ij", found[0], fan, fan)
    loops: list[tuple[float, tuple[float, float]]] = []
    for tau, share in zip(t, found[1:], strict=True):
        if not share.any():
            continue
        # neighbouring directions stand for one between them: the matrix has at most two
        weights, axes = np.linalg.eigh(np.einsum("d,di,dj->ij", share, fan, fan))
        for weight, axis in zip(weights, axes.T, strict=True):
            if weight > 1e-12 * float(np.max(level) ** 2):
                m = math.sqrt(weight) * axis
                loops.append((float(tau), (float(m[0]), float(m[1]))))
    fit = CoupledLadder(inf, tuple(loops), 0.0)
    off = np.abs(fit.inductance(frequency) - values) / (own[:, :, None] * own[:, None, :])
    return CoupledLadder(inf, tuple(loops), float(off.max()))


def _check(values: Numbers, frequency: Array) -> None:
    if frequency.ndim != 1 or len(frequency) < 4 or not np.all((frequency > 0.0) & np.isfinite(frequency)):
        raise DomainError("a ladder is fitted to four frequencies above 0 or more", f"{frequency.shape}")
    if values.shape != frequency.shape or not np.all(np.isfinite(values)):
        raise DomainError("one finite inductance for each frequency", f"{values.shape} for {frequency.shape}")
    if np.any(values.real <= 0.0) or np.any(values.imag > 1e-9 * np.abs(values)):
        worst = int(np.argmax(np.where(values.real <= 0.0, np.inf, values.imag)))
        raise DomainError(
            "a passive coil has an inductance above 0 and loses energy (imaginary part of L not above 0)",
            f"{values[worst]:.4g} H at {frequency[worst]:g} Hz",
        )


def _grid(frequency: Array, count: int) -> Array:
    w = 2.0 * np.pi * frequency
    return np.geomspace(1.0 / (WIDER * w.max()), WIDER / w.min(), count)


def _terms(t: Array, frequency: Array) -> Numbers:
    """(f, t + 1): 1 and 1 / (1 + j w T)."""
    return np.asarray(1.0 / (1.0 + 2j * np.pi * frequency[:, None] * np.concatenate([[0.0], t])))


def _real(values: Numbers) -> Array:
    return np.concatenate([values.real, values.imag])


def _nnls(matrix: Array, right: Array) -> Array:
    from scipy.optimize import nnls

    size = np.linalg.norm(matrix, axis=0)
    found, _ = nnls(matrix / size, right, maxiter=50 * matrix.shape[1])
    return np.asarray(found / size)


def _merged(t: Array, c: Array) -> Array | None:
    """The time constants in use, the closest pair of them made one; None if all stand apart."""
    used, share = t[c > 0.0], c[c > 0.0]
    if len(used) < 2:
        return None if len(used) == len(t) else used
    gap = np.diff(np.log(used))
    k = int(np.argmin(gap))
    middle = math.exp(float(np.average(np.log(used[k : k + 2]), weights=share[k : k + 2])))
    return np.concatenate([used[:k], [middle], used[k + 2 :]])
