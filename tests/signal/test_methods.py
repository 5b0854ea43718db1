"""From ratios to the coil: against circuits written out in full."""

from __future__ import annotations

import numpy as np
import pytest

from lodestring.errors import DomainError
from lodestring.signal.methods import coil_impedance, impedance_sigma, induced, input_admittance, without_capacitance

F = np.geomspace(50.0, 15e3, 60)
S = 2j * np.pi * F
COIL = 1.0 / (1.0 / (6e3 + S * 2.5) + S * 100e-12)


def test_the_impedance_of_a_coil_comes_out_of_the_divider_whatever_the_input_loads() -> None:
    for r_in, c_in in ((10e3, 200e-12), (47e3, 0.0), (1e6, 30e-12)):
        # Node by node (Kirchhoff): the coil and the input share a node behind 100 kohm.
        node = np.array(
            [
                np.linalg.solve([[1 / 100e3 + 1 / z + 1 / r_in + s * c_in]], [1 / 100e3])[0]
                for z, s in zip(COIL, S, strict=True)
            ]
        )
        got = coil_impedance(F, node, 100e3, r_in, c_in)
        assert float(np.max(np.abs(got / COIL - 1))) < 1e-9


def test_the_resonance_read_off_the_impedance_is_the_coils_own() -> None:
    # 2.5 H, 6 kohm, 100 pF: R + jwL beside C is a pure resistance at w0^2 = 1/(LC) - R^2/L^2.
    w0 = np.sqrt(1 / (2.5 * 100e-12) - (6e3 / 2.5) ** 2)
    f = np.array([w0 / (2 * np.pi)])
    z = np.array([1.0 / (1.0 / (6e3 + 1j * w0 * 2.5) + 1j * w0 * 100e-12)])
    loaded = 1.0 / (1.0 / z + 1.0 / 20e3)
    got = coil_impedance(f, loaded / (220e3 + loaded), 220e3, 20e3)
    assert abs(float(np.angle(got[0]))) < 1e-9
    assert abs(float(np.angle(loaded[0]))) < 1e-9


def test_the_spread_of_an_impedance_is_that_of_repeated_readings() -> None:
    rng = np.random.default_rng(3)
    ratio = COIL / (100e3 + COIL)
    noise = 2e-4
    made = np.array(
        [
            coil_impedance(F, ratio + noise * (rng.standard_normal(60) + 1j * rng.standard_normal(60)), 100e3, 1e9)
            for _ in range(400)
        ]
    )
    told = impedance_sigma(COIL, ratio, np.full(60, noise), 100e3)
    seen = made.real.std(axis=0)
    assert float(np.mean(seen / told)) == pytest.approx(1.0, abs=0.05)


def test_an_induced_voltage_is_freed_of_its_rise_and_a_low_input_is_refused() -> None:
    m = 2e-3  # H
    ratio = S * m / 10.0  # across the pickup over the voltage on 10 ohm
    assert np.allclose(induced(F, ratio, 10.0, 1e6), m)
    with pytest.raises(DomainError, match=r"47 kohm.*impedance method"):
        induced(F, ratio, 10.0, 47e3)


def test_turning_the_drive_coil_over_parts_what_is_induced_from_what_is_capacitive() -> None:
    magnetic, electric = S * 1e-3, 0.02 * S / S
    a, b = without_capacitance(magnetic + electric, -magnetic + electric)
    assert np.allclose(a, magnetic)
    assert np.allclose(b, electric)


@pytest.mark.parametrize("call", [
    lambda: coil_impedance(F, COIL / 1e6, 0.0, 1e6),
    lambda: input_admittance(F, 0.0, 0.0),
    lambda: input_admittance(F, 1e6, -1e-12),
    lambda: induced(F, COIL, -1.0, 1e6),
], ids=["no resistor", "no input", "less than no capacitance", "a drive resistor below 0"])  # fmt: skip
def test_parts_that_cannot_be_are_refused(call: object) -> None:
    with pytest.raises(DomainError, match="; came "):
        call()  # type: ignore[operator]
