"""What was wound: how well it can be known, against figures worked out elsewhere and against a sampler."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from coil_sets import A1_PACKING, a1

from lodestring.proving.forward import CoilForward, forward, physical
from lodestring.proving.measurement import NINETY, Measurement, measurement
from lodestring.proving.posterior import FREEDOM, fit, log_density, numeric, posterior
from lodestring.proving.spreads import Spread, changed, own_spread, with_turns

PER_CENT = 0.01
CURVED = math.sqrt((FREEDOM + 1) / (FREEDOM + 3))
"""A reading with Student's t tells less than a normal one of the same sigma by this."""


@cache
def reference() -> CoilForward:
    return forward(a1(7600, f"{A1_PACKING:.6f}"), "bridge", "main")


def page() -> tuple[Spread, ...]:
    """What the page believes before: heights 0.1 mm, mu_r 15 %, bare diameter 4 %; turns and packing not known."""
    of = reference()
    return changed(
        with_turns(of.spreads, 3.0),
        Spread("bare", 63.5e-6, 0.04),
        Spread("permeability", 4.3, 0.15),
        Spread("window", 10.5e-3, 0.1 / 10.5),
        Spread("packing", A1_PACKING, 0.6),
        Spread("stretch", 1e-5, 0.01),
        Spread("film", 7.5e-6, 0.02),
        Spread("inner", 3.2e-3, 0.1 / 3.2),
        Spread("straight", 0.052, 0.1 / 52),
        Spread("capacitance", 70e-12, 1.0),
    )


def exact(name: str, sigma: float, **where: float | str) -> Measurement:
    """A reading of exactly what the middle foresees, with a standard deviation in all of `sigma` (1 for 1)."""
    of = reference()
    trial = measurement(name, 1.0, **where)  # type: ignore[arg-type]
    value = float(of.readings(physical(page(), np.zeros((1, len(page())))), [trial])[0, 0])
    own, flat = own_spread(name)
    sigma = sigma * value if name not in ("outer_length", "outer_width", "wire_mass") else sigma
    rest = math.sqrt(max(CURVED**2 * sigma**2 - math.hypot(own * value, flat) ** 2, 1e-18))
    return measurement(name, value, half_width=NINETY * rest, temperature=293.15, **where)  # type: ignore[arg-type]


R = ("resistance", 0.5 * PER_CENT, {})
L = ("inductance", 1 * PER_CENT, {"frequency": 1000.0, "mode": "series"})
SIZE = ("outer_length", 0.2e-3, {})  # 0.1 mm on each half
F1 = ("resonance", 1 * PER_CENT, {"capacitance": 0.0, "load": 1e7})
F2 = ("resonance", 1 * PER_CENT, {"capacitance": 470e-12, "load": 1e7})
MASS = ("wire_mass", 0.1e-3, {})

FISHER = {  # physics page, section 5: readings, sigma of ln turns
    "resistance and size": ([R, SIZE], 8.0),
    "resistance and inductance": ([R, L], 2.1),
    "and size and two resonances": ([R, L, SIZE, F1, F2], 1.9),
    "and the spool's mass": ([R, L, SIZE, F1, F2, MASS], 0.55),
}


@pytest.mark.parametrize(("rows", "wanted"), FISHER.values(), ids=FISHER)
def test_turns_are_known_as_well_as_the_page_worked_out(rows: list, wanted: float) -> None:  # type: ignore[type-arg]
    taken = [exact(name, sigma, **where) for name, sigma, where in rows]
    spreads = page()
    found = fit(reference(), spreads, taken)
    i = [s.name for s in spreads].index("turns")
    sd = 100 * float(np.sqrt(found.covariance[i, i])) * spreads[i].sigma
    assert sd == pytest.approx(wanted, rel=0.13)  # the page rounds, and does not print all its spreads
    if len(rows) == 6:
        bare = 100 * float(np.sqrt(found.covariance[1, 1])) * spreads[1].sigma
        assert spreads[1].name == "bare"
        assert bare == pytest.approx(0.24, rel=0.3)


def test_turns_and_permeability_hang_together_as_on_the_page() -> None:
    spreads = page()
    found = fit(reference(), spreads, [exact(n, s, **w) for n, s, w in FISHER["and size and two resonances"][0]])
    names = [s.name for s in spreads]
    i, j = names.index("turns"), names.index("permeability")
    c = found.covariance
    assert c[i, j] / math.sqrt(c[i, i] * c[j, j]) == pytest.approx(-0.95, abs=0.04)


# ---- a sampler that shares nothing with the fit ----

CASES = {
    "a coil with 3 per cent fewer turns": [
        ("resistance", 5440.0, {}), ("outer_length", 65.2e-3, {}), ("inductance", 2.26, L[2]),
        ("wire_mass", 28.6e-3, {}),
    ],
    "a coil with more turns of thin wire": [
        ("resistance", 6120.0, {}), ("outer_length", 66.2e-3, {}), ("inductance", 2.58, L[2]),
        ("wire_mass", 30.1e-3, {}),
    ],
}  # fmt: skip


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_the_posterior_is_that_of_a_sampler(case: list) -> None:  # type: ignore[type-arg]
    emcee = pytest.importorskip("emcee", reason="pip install emcee, a sampler")
    of = reference()
    keep = ("turns", "bare", "packing", "permeability", "inner")
    spreads = tuple(
        s if s.name in keep else Spread(s.name, s.centre, 1e-9 if s.log else 1e-15, s.log)
        for s in with_turns(of.spreads, 0.3)
    )
    taken = [measurement(n, v, temperature=293.15, **w) for n, v, w in case]
    numbers, sigma = of.observed(taken)
    free = [i for i, s in enumerate(spreads) if s.name in keep]

    def height(batch: np.ndarray) -> np.ndarray:
        z = np.zeros((len(batch), len(spreads)))
        z[:, free] = batch
        off = (of.readings(physical(spreads, z), taken) - numbers) / sigma
        return log_density(off).sum(axis=1) - 0.5 * (batch**2).sum(axis=1)

    rng = np.random.default_rng(11)
    found = fit(of, spreads, taken)
    start = found.z[free] + 0.3 * rng.standard_normal((32, len(free)))
    sampler = emcee.EnsembleSampler(32, len(free), height, vectorize=True)
    sampler.random_state = np.random.RandomState(5).get_state()
    sampler.run_mcmc(start, 1500)
    drawn = sampler.get_chain(discard=400, thin=5, flat=True)
    for k, i in enumerate(free):
        sd = float(np.sqrt(found.covariance[i, i]))
        # 32 walkers, 1,100 steps at a correlation of about 60: some 500 samples, 0.05 sd; Laplace leaves out the skew
        assert drawn[:, k].mean() == pytest.approx(found.z[i], abs=0.35 * sd), spreads[i].name
        assert drawn[:, k].std() == pytest.approx(sd, rel=0.30), spreads[i].name


def test_the_evidence_of_one_reading_is_the_normal_integral() -> None:
    # one reading, one spread, both narrow: p(y) is the prior folded with the reading, here by quadrature
    of = reference()
    spreads = tuple(Spread(s.name, s.centre, 0.01 if s.name == "turns" else 1e-9, s.log) for s in of.spreads)
    taken = [measurement("resistance", 5650.0, temperature=293.15)]
    z = np.linspace(-7, 7, 4001)
    trials = np.zeros((len(z), len(spreads)))
    trials[:, [s.name for s in spreads].index("turns")] = z
    numbers, sigma = of.observed(taken)
    off = ((of.readings(physical(spreads, trials), taken) - numbers) / sigma)[:, 0]
    whole = np.trapezoid(np.exp(log_density(off) - 0.5 * z * z) / math.sqrt(2 * math.pi) / sigma[0], z)
    assert fit(of, spreads, taken).log_evidence == pytest.approx(math.log(whole), abs=0.12)  # Laplace on Student's t


def test_one_slip_of_the_meter_does_not_pull_the_coil_along() -> None:
    of = reference()
    true = [exact(n, s, **w) for n, s, w in FISHER["and the spool's mass"][0]]
    slip = [measurement("wire_mass", 1.25 * true[-1].number, half_width=0.1e-3)]
    right = posterior(of, true).of("turns")
    wrong = posterior(of, true[:-1] + slip).of("turns")
    without = posterior(of, true[:-1]).of("turns")
    assert abs(wrong.value / right.value - 1) < 0.04  # a mass off by a quarter would ask for a quarter more wire
    assert without.low < wrong.value < without.high


def test_words_and_open_readings_are_no_numbers_for_the_fit() -> None:
    taken = [measurement("kick", "plus"), measurement("resistance", "open"), measurement("pole_resistance", 1e6)]
    assert numeric([*taken, measurement("shape", "fat")]) == (measurement("shape", "fat"),)
