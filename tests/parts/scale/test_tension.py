"""String tension and breaking load. The published strings are in the table of check values."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.assessment.calc.pitch import key_frequency
from parts.scale.calc.tension import (
    StringLevel,
    breaking_load,
    breaking_share,
    double_wound_linear_density,
    newtons,
    plain_linear_density,
    plain_tension,
    pounds_force,
    string_level,
    string_tension,
    wound_linear_density,
    wound_tension,
)
from parts.scale.calc.wire import american_size, minimum_tensile


def test_a_pound_force_is_its_defined_size():
    assert newtons(1) == pytest.approx(0.45359237 * 9.80665, rel=1e-12)


@given(st.floats(0.1, 5000))
def test_pounds_force_and_back(lbf):
    assert pounds_force(newtons(lbf)) == pytest.approx(lbf)


def test_a_worked_string_named_for_the_wrong_note():
    # Piano technicians' mailing list archive 2006-September/196115 calls its string "note 34, F sharp" and
    # uses 174.61 Hz, which is note 33; note 34 pulls 366 lbf by the same rule, not 326.
    assert key_frequency(33) == pytest.approx(174.61, abs=0.01)
    assert (key_frequency(34) * 82.2 * 0.178) ** 2 / 20000 == pytest.approx(366, abs=1)


def test_the_inch_and_mil_form_agrees_within_a_fifth_of_a_per_cent():
    # Same archive, 2000-March/060485: T lbf = (f L d / 20833)², inches and mils.
    printed = (440 * 15 * 38 / 20833) ** 2
    ours = plain_tension(frequency_hz=440, length_mm=15 * 25.4, diameter_mm=0.038 * 25.4)
    assert pounds_force(ours) == pytest.approx(printed, rel=0.002)


def test_the_wound_form_of_the_trade_agrees_within_half_a_per_cent():
    # Same source: (f L d / K)² (1 + 0.89 (D²/d² - 1)).
    core, overall = 1.30 / 25.4, 3.20 / 25.4
    printed = (55 * 1200 / 25.4 * core * 1000 / 20833) ** 2 * (1 + 0.89 * (overall**2 / core**2 - 1))
    ours = wound_tension(frequency_hz=55, length_mm=1200, core_mm=1.30, overall_mm=3.20)
    assert pounds_force(ours) == pytest.approx(printed, rel=0.006)


def test_winding_mass_is_that_of_the_wire_wound_on():
    # From geometry: one metre holds 1/w turns of wire w thick, each as long as a circle through its centre.
    core, winding = 1.0e-3, 0.8e-3
    copper = (pi / 4 * winding**2) * (pi * (core + winding)) / winding * 8930
    ours = wound_linear_density(core_mm=1.0, overall_mm=2.6) - plain_linear_density(1.0)
    assert ours == pytest.approx(copper, rel=1e-12)


def test_two_layers_of_one_metal_weigh_as_their_outer_diameter():
    single = wound_linear_density(core_mm=1.55, overall_mm=5.5)
    double = double_wound_linear_density(core_mm=1.55, inner_overall_mm=3.0, overall_mm=5.5)
    assert double == pytest.approx(single)


def test_an_iron_inner_layer_makes_a_double_wound_string_lighter():
    iron = double_wound_linear_density(core_mm=1.5, inner_overall_mm=3, overall_mm=5, inner_density=7870)
    copper = double_wound_linear_density(core_mm=1.5, inner_overall_mm=3, overall_mm=5)
    assert copper - iron == pytest.approx(pi**2 / 16 * (9 - 2.25) * 1e-6 * (8930 - 7870))


@pytest.mark.parametrize(("core", "inner", "outer"), [(1.5, 1.5, 5.0), (1.5, 5.0, 3.0), (0, 3.0, 5.0)])
def test_diameters_that_do_not_grow_outwards_are_refused(core, inner, outer):
    with pytest.raises(ValueError, match=r"grow from the core outwards|above nought"):
        double_wound_linear_density(core_mm=core, inner_overall_mm=inner, overall_mm=outer)


@given(st.floats(0.7, 1.6), st.floats(0.7, 1.6))
def test_stress_does_not_depend_on_diameter(one, other):
    stress = [plain_tension(frequency_hz=523.25, length_mm=330, diameter_mm=d) / (pi / 4 * d**2) for d in (one, other)]
    assert stress[0] == pytest.approx(stress[1])
    assert stress[0] == pytest.approx(4 * 7850 * (523.25 * 0.330) ** 2 / 1e6)


@pytest.mark.parametrize("number", [14, 15, 15.5, 16, 16.5, 17])
def test_six_sizes_at_one_note_stand_equally_near_to_breaking(number):
    # Mechanical music digest 1996.04.25.05 says 53 % for every size; against least strengths 54.4 to 55.9 %.
    wire = american_size(number)
    pull = plain_tension(frequency_hz=key_frequency(53), length_mm=14 * 25.4, diameter_mm=wire.mm)
    share = breaking_share(tension_n=pull, diameter_mm=wire.mm, tensile_mpa=minimum_tensile(wire.mm))
    assert 0.543 < share < 0.560
    assert string_level(share) is StringLevel.FINE


# An encyclopaedia of about 1920: English wire breaks at 225 lbf at 0.029 in and 650 lbf at 0.052 in, which
# makes 341 and 306 ksi.
@pytest.mark.parametrize(("inches", "ksi", "lbf"), [(0.029, 341, 225), (0.052, 306, 650)])
def test_breaking_loads_of_old_english_wire(inches, ksi, lbf):
    load = breaking_load(diameter_mm=inches * 25.4, tensile_mpa=ksi * 6.894757)
    assert pounds_force(load) == pytest.approx(lbf, rel=0.002)


@pytest.mark.parametrize(
    ("share", "level"),
    [(0.5, "fine"), (0.65, "fine"), (0.651, "warn"), (0.73, "warn"), (0.75, "warn"), (0.751, "refuse")],
)
def test_levels_start_above_their_shares(share, level):
    assert string_level(share) == level


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"frequency_hz": 0}, "The frequency of a string must be above nought; it is 0"),
        ({"length_mm": -1}, "The speaking length"),
        ({"diameter_mm": float("nan")}, "The diameter"),
    ],
)
def test_a_string_of_nothing_is_refused(wrong, sentence):
    with pytest.raises(ValueError, match=sentence):
        plain_tension(**({"frequency_hz": 440, "length_mm": 400, "diameter_mm": 1} | wrong))


def test_an_octave_up_at_half_the_length_pulls_the_same():
    low = string_tension(frequency_hz=220, length_mm=800, linear_density=0.0062)
    assert string_tension(frequency_hz=440, length_mm=400, linear_density=0.0062) == pytest.approx(low)
