"""Inductance, capacitance and losses of a coil from a sweep: the circuit whose curve lies closest to the recorded one.

The coil is R + s L(s) with C across it. L(s) = L (1 - sum k_i s T_i / (1 + s T_i)) falls with frequency as eddy
currents in pole pieces and covers push the field out (Foster's form of an R-L one-port, three terms whose times stand a
factor 5 apart, shares k_i of 0 and more). C has a loss tangent. One fixed L in place of L(s) is a trap: two resonances,
with and without an added capacitor, then tell a C that is some per cent off (the project's physics page, section 5).

Residuals are complex, weighed by the recording's own noise and a floor for what the model leaves out; a loss that grows
slower than the square (soft L1) keeps hum lines and other strangers from pulling the fit.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

FLOOR = 3e-3
"""Relative: what three terms of L(s) and one capacitor leave out of a real coil's curve (checked on our own coils)."""
STEP = 5.0
"""Between the times of neighbouring terms."""
TERMS = 3
FAR = 5.0
"""Weighed residuals above which a point is told as a stranger."""
SPREAD_C = 3e-3
"""Relative standard deviation of C that comes of three terms standing for a pole piece's own law."""
Z90 = 1.6449
REACH = np.array([1.0, 1.0, 4.0, *[12.0] * TERMS, 1.5, 6.0])
"""How far each logarithm may move from the first guess."""
NAMES = ("resistance", "inductance", "eddy_time", *(f"eddy_share_{i + 1}" for i in range(TERMS)), "capacitance", "loss")


@dataclass(frozen=True, slots=True)
class Fitted:
    """One quantity: value with its 90 % interval, SI."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class SweepFit:
    """What a sweep says of a coil. `inductance`: at 1 kHz, series; `resonance`: of the coil alone [Hz], `q` there.

    `frequency`, `measured`, `model`, `residual` (f,): impedances [ohm] and their weighed differences; `strangers`:
    frequencies [Hz] the fit does not explain. `misfit`: root mean square of the residuals, 1 where noise and floor
    explain all.
    """

    resistance: Fitted
    inductance: Fitted
    capacitance: Fitted
    resonance: Fitted
    q: Fitted
    frequency: Array
    measured: Complex
    model: Complex
    residual: Array
    strangers: tuple[float, ...]
    misfit: float
    parameters: tuple[float, ...]


def coil_curve(frequency: Array, parameters: Array) -> Complex:
    """Impedance [ohm] at frequencies (f,) [Hz] of parameters (8,) in the order of NAMES: R [ohm], L [H], T of the
    slowest term [s], the shares k, C [F], loss tangent."""
    series, across = _branches(frequency, parameters)
    return np.asarray(1.0 / (1.0 / series + across))


def induced_curve(frequency: Array, parameters: Array, load: Complex) -> Complex:
    """Mutual inductance times the network's response [H] at frequencies (f,) of parameters (10,): the coil's eight,
    the mutual inductance [H], and how much more of it than of L the eddy currents take; `load` (f,): the input [S].

    The drive coil's field reaches the coil through the same pole pieces, so it falls with the same times.
    """
    series, across = _branches(frequency, parameters[:8])
    through = 1.0 - parameters[9] * _fall(frequency, parameters)
    return np.asarray(parameters[8] * through / (1.0 + series * (across + load)))


def _branches(frequency: Array, parameters: Array) -> tuple[Complex, Complex]:
    """Series impedance [ohm] and admittance across [S]."""
    r, l, c, loss = (float(parameters[i]) for i in (0, 1, 6, 7))
    s = 2j * np.pi * frequency
    return np.asarray(r + s * l * (1.0 - _fall(frequency, parameters))), np.asarray(s * c * (1.0 - 1j * loss))


def _fall(frequency: Array, parameters: Array) -> Complex:
    s = 2j * np.pi * frequency
    times = [float(parameters[2]) / STEP**i for i in range(TERMS)]
    shares = [float(k) for k in parameters[3 : 3 + TERMS]]
    return np.asarray(sum((k * s * t / (1.0 + s * t) for t, k in zip(times, shares, strict=True)), np.zeros_like(s)))


def fit_impedance(
    frequency: Array, impedance: Complex, sigma: Array, resistance: tuple[float, float] | None = None
) -> SweepFit:
    """Fit impedances (f,) [ohm] with standard deviation `sigma` (f,) of each part over a band that holds the resonance.

    resistance: what the meter read [ohm] and its standard deviation, counted as one more point. Raises DomainError for
    fewer than 20 points, a band without a resonance, or a curve that no coil has.
    """
    _check(frequency, impedance, sigma)
    start = _start(frequency, impedance, resistance)
    return _solve(frequency, impedance, sigma, start, REACH, resistance, lambda x: coil_curve(frequency, _natural(x)))


def fit_induced(
    frequency: Array, induced: Complex, sigma: Array, load: Complex, resistance: tuple[float, float]
) -> SweepFit:
    """Fit what a drive coil induced (f,) [H] (signal/methods.induced); `load` (f,) [S]: the input across the pickup.

    The meter's resistance is needed: a resonance alone tells L times C, and L and C apart only through losses that are
    known. Give the sweep a known input or a known capacitor, and read C with a wide interval. Raises DomainError.
    """
    _check(frequency, induced, sigma)
    peak = int(np.argmax(np.abs(induced)))
    below = frequency < 0.25 * frequency[peak]
    if peak in (0, len(frequency) - 1) or int(below.sum()) < 4:
        raise DomainError(
            "the sweep covers the coil's own resonance",
            f"its highest point at {frequency[peak]:.0f} Hz, at the band's end",
        )
    mutual = float(np.median(np.abs(induced[below])))
    w = 2.0 * math.pi * float(frequency[peak])
    # At the peak the response is near R_input / (w L): a first guess of L; C follows.
    l = min(20.0, max(0.05, 1.0 / (abs(load[peak]) * w * float(np.abs(induced[peak])) / mutual)))
    c = max(1e-12, 1.0 / (l * w**2))
    time = 1.0 / (0.3 * w)
    start = np.array([*np.log([resistance[0], l, time]), *np.log([0.02] * TERMS), math.log(c), math.log(0.01)])
    start = np.concatenate([start, [math.log(mutual), 0.0]])
    reach = np.concatenate([REACH, [1.0, 3.0]])

    def curve(x: Array) -> Complex:
        return induced_curve(frequency, np.concatenate([_natural(x[:8]), np.exp(x[8:])]), load)

    return _solve(frequency, induced, sigma, start, reach, resistance, curve)


def _solve(
    frequency: Array,
    measured: Complex,
    sigma: Array,
    start: Array,
    reach: Array,
    resistance: tuple[float, float] | None,
    curve: Callable[[Array], Complex],
) -> SweepFit:
    from scipy.optimize import least_squares

    weight = 1.0 / np.hypot(sigma, FLOOR * np.abs(measured))

    def residuals(x: Array) -> Array:
        off = (curve(x) - measured) * weight
        # Weak ties keep what the curve cannot tell near the usual; each is wide against what it can tell.
        ties = [(x[2] - start[2]) / 2.0, (math.exp(x[7]) - 0.01) / 0.02, *(x[8:] - start[8:])]
        if resistance is not None:
            ties.append((math.exp(x[0]) - resistance[0]) / resistance[1])
        return np.concatenate([off.real, off.imag, ties])

    bounds = (start - reach, start + reach)
    found = least_squares(residuals, start, bounds=bounds, loss="soft_l1", x_scale="jac", max_nfev=400)
    x = np.asarray(found.x)
    at = residuals(x)
    count = len(frequency)
    each = np.hypot(at[:count], at[count : 2 * count]) / math.sqrt(2.0)
    misfit = math.sqrt(float(np.median(each**2)) / math.log(2.0))  # the median of an exponential law is ln 2
    covariance = np.linalg.pinv(found.jac.T @ found.jac) * max(1.0, misfit) ** 2
    return _told(frequency, measured, curve(x), x[:8], covariance[:8, :8], each, misfit)


def _natural(x: Array) -> Array:
    """Parameters of the curve from those the search moves: logarithms, and shares that stay below 1 together."""
    shares = np.exp(x[3 : 3 + TERMS])
    return np.concatenate([np.exp(x[:3]), shares / (1.0 + shares.sum()), [math.exp(x[-2]), math.exp(x[-1])]])


def _start(frequency: Array, impedance: Complex, resistance: tuple[float, float] | None) -> Array:
    """A first guess: L from the rise well below the peak, C from the peak, R from the lowest points or the meter."""
    peak = int(np.argmax(np.abs(impedance)))
    below = frequency < 0.35 * frequency[peak]
    if peak in (0, len(frequency) - 1) or int(below.sum()) < 4:
        raise DomainError(
            "the sweep covers the coil's own resonance",
            f"the highest impedance at {frequency[peak]:.0f} Hz, at the band's end",
            "a wider band, or a small known capacitor across the coil, which moves the resonance down",
        )
    w = 2.0 * np.pi * frequency
    l = float(np.median(impedance.imag[below] / w[below]))
    if l <= 0.0:
        raise DomainError("a coil's impedance rises with frequency", "one that falls", "the channels and the resistor")
    r = resistance[0] if resistance is not None else max(float(np.min(impedance.real[below])), 1e-3 * l)
    c = 1.0 / (l * float(w[peak]) ** 2)
    time = 1.0 / (2.0 * np.pi * 0.3 * float(frequency[peak]))
    return np.array([*np.log([r, l, time]), *np.log([0.02] * TERMS), math.log(c), math.log(0.01)])


def _told(
    frequency: Array,
    measured: Complex,
    model: Complex,
    x: Array,
    covariance: Array,
    each: Array,
    misfit: float,
) -> SweepFit:
    def spread(what: str, known: float = 0.0) -> Fitted:
        here = _derived(_natural(x))[what]
        slope = np.zeros(len(x))
        for i in range(len(x)):
            step = np.zeros(len(x))
            step[i] = 1e-4
            up, down = (_derived(_natural(x + d))[what] for d in (step, -step))
            slope[i] = (math.log(up) - math.log(down)) / 2e-4
        wide = math.exp(Z90 * math.hypot(known, math.sqrt(max(0.0, float(slope @ covariance @ slope)))))
        return Fitted(here, here / wide, here * wide)

    return SweepFit(
        spread("resistance"),
        spread("inductance"),
        spread("capacitance", SPREAD_C),
        spread("resonance"),
        spread("q"),
        frequency,
        measured,
        model,
        each,
        tuple(float(f) for f in frequency[each > FAR]),
        misfit,
        tuple(float(p) for p in _natural(x)),
    )


def _derived(parameters: Array) -> dict[str, float]:
    """What is told, each above 0: L at 1 kHz, and the peak of the impedance with its sharpness."""
    z = coil_curve(np.array([1000.0]), np.array([*parameters[:-2], 0.0, 0.0]))[0]
    f = _peak(parameters)
    at = coil_curve(np.array([f]), parameters)[0]
    return {
        "resistance": float(parameters[0]),
        "inductance": float(z.imag) / (2.0 * math.pi * 1000.0),
        "capacitance": float(parameters[-2]),
        "resonance": f,
        "q": float(abs(at)) * 2.0 * math.pi * f * float(parameters[-2]),
    }


def _peak(parameters: Array) -> float:
    """Frequency of the highest impedance [Hz]: a grid round 1/sqrt(LC), then the top of the parabola."""
    middle = 1.0 / (2.0 * math.pi * math.sqrt(float(parameters[1]) * float(parameters[-2])))
    low, high = 0.5 * middle, 3.0 * middle
    for _ in range(4):
        f = np.geomspace(low, high, 41)
        size = np.abs(coil_curve(f, parameters))
        i = int(np.clip(np.argmax(size), 1, len(f) - 2))
        low, high = float(f[i - 1]), float(f[i + 1])
    u, y = np.log(f[i - 1 : i + 2]), np.log(size[i - 1 : i + 2])
    bend = y[0] - 2.0 * y[1] + y[2]
    return float(math.exp(u[1] + (0.5 * (y[0] - y[2]) / bend * (u[1] - u[0]) if bend < 0.0 else 0.0)))


def _check(frequency: Array, impedance: Complex, sigma: Array) -> None:
    if frequency.ndim != 1 or len(frequency) < 20 or not impedance.shape == frequency.shape == sigma.shape:
        raise DomainError("a sweep has 20 or more frequencies, each with its impedance", f"{frequency.size}")
    if not (bool(np.isfinite(impedance).all()) and bool((sigma >= 0.0).all()) and bool(np.all(np.diff(frequency) > 0))):
        raise DomainError("frequencies rise and impedances are numbers", "some that do not", "recording again")
