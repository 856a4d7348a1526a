"""Inharmonicity, with E/rho of 2.55e7 m²/s² (200 GPa at 7850 kg/m³) unless a test says otherwise."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.scale.calc.inharmonicity import (
    inharmonicity,
    inharmonicity_from_stretch,
    partial_frequency,
    plain_inharmonicity,
    stretch_cents,
    young_constant,
)
from parts.scale.calc.tension import plain_tension, pounds_force

MIDDLE_C = {"frequency_hz": 261.6256, "length_mm": 620.0, "diameter_mm": 1.0}


# Computed from f_n = n f0 sqrt(1 + B n²), Fletcher and Rossing.
@pytest.mark.parametrize(("partial", "cents"), [(2, 1.35), (4, 5.37), (8, 21.3), (16, 82.1)])
def test_partials_of_a_middle_c_stand_sharp(partial, cents):
    assert stretch_cents(plain_inharmonicity(**MIDDLE_C), partial) == pytest.approx(cents, abs=0.05)


# R. W. Young 1952: 1.2 cents for mode 2 at middle C, doubling every eight semitones; B computed from that.
@pytest.mark.parametrize(("octaves", "coefficient"), [(0, 3.47e-4), (1, 9.8e-4), (2, 2.8e-3), (3, 7.8e-3), (4, 2.2e-2)])
def test_youngs_doubling_gives_the_coefficients_of_the_cs(octaves, coefficient):
    found = inharmonicity_from_stretch(1.2 * 2 ** (12 * octaves / 8), 2)
    assert found == pytest.approx(coefficient, rel=0.012)


@given(st.floats(60, 4200), st.floats(45, 1500), st.floats(0.7, 1.6))
def test_both_forms_agree_on_plain_wire(frequency, length, diameter):
    pull = plain_tension(frequency_hz=frequency, length_mm=length, diameter_mm=diameter, density=7850)
    from_tension = inharmonicity(core_mm=diameter, length_mm=length, tension_n=pull, modulus_pa=2.55e7 * 7850)
    from_pitch = plain_inharmonicity(frequency_hz=frequency, length_mm=length, diameter_mm=diameter)
    assert from_tension == pytest.approx(from_pitch)


def test_the_class_handout_form_agrees_within_two_per_cent():
    # Piano technicians' mailing list archive 2000-March/060485: d⁴ / (81 L² T), mils, inches, lbf; mode 1.
    pull = pounds_force(plain_tension(**MIDDLE_C))
    printed = (1 / 0.0254) ** 4 / (81 * (620 / 25.4) ** 2 * pull)
    assert stretch_cents(plain_inharmonicity(**MIDDLE_C), 1) == pytest.approx(printed, rel=0.02)


def test_youngs_law_in_centimetres_gives_the_same_cents():
    cents = young_constant() * 2**2 * 0.1**2 / (261.6256**2 * 62**4)
    assert cents == pytest.approx(stretch_cents(plain_inharmonicity(**MIDDLE_C), 2), rel=0.002)


@given(st.floats(0, 0.03), st.integers(1, 20))
def test_partial_frequency_and_stretch_say_the_same(coefficient, partial):
    ratio = partial_frequency(100.0, coefficient, partial) / (100.0 * partial)
    assert ratio == pytest.approx(2 ** (stretch_cents(coefficient, partial) / 1200))


@pytest.mark.parametrize("compute", [stretch_cents, inharmonicity_from_stretch])
def test_there_is_no_partial_nought(compute):
    with pytest.raises(ValueError, match="there is no partial 0"):
        compute(0.001, 0)


def test_a_string_of_nothing_is_refused():
    with pytest.raises(ValueError, match="above nought"):
        plain_inharmonicity(**(MIDDLE_C | {"length_mm": 0}))
    with pytest.raises(ValueError, match="above nought"):
        inharmonicity(core_mm=1, length_mm=600, tension_n=0)
