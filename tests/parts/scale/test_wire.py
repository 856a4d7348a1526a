"""Wire sizes and least strengths against a supplier's ASTM A228 table, and the traps of gauge numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.scale.calc.tension import breaking_load
from parts.scale.calc.wire import WIRE_SIZES, american_size, minimum_tensile, nearest_wire

# size, inches, mm, least MPa, breaking load N. A supplier's ASTM A228 table as published; loads computed.
PUBLISHED = [
    (12, 0.029, 0.737, 2285, 974),
    (12.5, 0.030, 0.762, 2275, 1038),
    (13, 0.031, 0.787, 2265, 1103),
    (13.5, 0.032, 0.813, 2255, 1170),
    (14, 0.033, 0.838, 2244, 1238),
    (14.5, 0.034, 0.864, 2234, 1309),
    (15, 0.035, 0.889, 2223, 1380),
    (15.5, 0.036, 0.914, 2213, 1453),
    (16, 0.037, 0.940, 2203, 1528),
    (16.5, 0.038, 0.965, 2193, 1604),
    (17, 0.039, 0.991, 2182, 1682),
    (17.5, 0.040, 1.016, 2172, 1761),
    (18, 0.041, 1.041, 2165, 1844),
    (18.5, 0.042, 1.067, 2158, 1929),
    (19, 0.043, 1.092, 2149, 2013),
    (19.5, 0.044, 1.118, 2139, 2099),
    (20, 0.045, 1.143, 2130, 2186),
    (20.5, 0.046, 1.168, 2123, 2277),
    (21, 0.047, 1.194, 2117, 2369),
    (21.5, 0.048, 1.219, 2110, 2463),
    (22, 0.049, 1.245, 2103, 2558),
    (22.5, 0.050, 1.270, 2096, 2655),
    (23, 0.051, 1.295, 2089, 2753),
    (24, 0.055, 1.397, 2068, 3170),
    (25, 0.059, 1.499, 2041, 3600),
    (26, 0.063, 1.600, 2020, 4063),
]


@pytest.mark.parametrize(("number", "inches", "mm", "mpa", "load"), PUBLISHED)
def test_a_size_has_its_published_diameter_and_strength(number, inches, mm, mpa, load):
    size = next(size for size in WIRE_SIZES if size.number == number)
    assert size.inches == pytest.approx(inches)
    assert size.mm == pytest.approx(mm, abs=0.0006)
    assert minimum_tensile(size.mm) == pytest.approx(mpa, abs=1)
    assert breaking_load(diameter_mm=size.mm, tensile_mpa=minimum_tensile(size.mm)) == pytest.approx(load, abs=1.5)


@given(st.floats(0.737, 1.6))
def test_a_smooth_law_stays_close_above_the_table(diameter_mm):
    # Shigley, Mechanical Engineering Design, from memory: 201 ksi·in^m / d^m, m = 0.145; 0.5 to 2 % above.
    law = 201 / (diameter_mm / 25.4) ** 0.145 * 6.894757
    assert 1.0 < law / minimum_tensile(diameter_mm) < 1.025


# EN 10270-1 grade SM is weaker than music wire; least strengths as a spring maker prints them.
@pytest.mark.parametrize(("mm", "mpa"), [(0.8, 2050), (0.9, 2010), (1.0, 1980), (1.1, 1950), (1.2, 1920), (1.4, 1870)])
def test_spring_wire_of_grade_sm_is_weaker(mm, mpa):
    assert minimum_tensile(mm) > mpa * 1.05


@given(st.floats(0.737, 1.59), st.floats(0.0001, 0.01))
def test_thicker_wire_is_never_stronger_for_its_section(mm, more):
    assert minimum_tensile(min(mm + more, 1.6)) <= minimum_tensile(mm)


# Metric No. 14 is 0.825 mm and No. 20 is 1.125 mm (technicians' lists 2003 and 2009).
@pytest.mark.parametrize(("mm", "american"), [(0.825, "American 13½"), (1.125, "American 19½")])
def test_a_metric_number_is_not_the_american_size_of_that_number(mm, american):
    assert nearest_wire(mm).name == american


def test_above_23_the_american_rule_is_not_carried_on():
    # A list of 2003 prints 0.050 in beside 1.295 mm; 1.295 mm is 0.051 in.
    assert nearest_wire(1.295).inches == 0.051
    with pytest.raises(ValueError, match="runs from 12 to 23"):
        american_size(24)
    assert nearest_wire(1.4).name == "American music wire 24"


@pytest.mark.parametrize("number", [11.5, 23.5, 14.25])
def test_a_size_not_sold_is_refused(number):
    with pytest.raises(ValueError, match="is not one of these sizes"):
        american_size(number)


@given(st.sampled_from(WIRE_SIZES), st.floats(-0.012, 0.012))
def test_a_wire_measured_within_half_a_step_is_found(size, slip):
    assert nearest_wire(size.mm + slip) == size


def test_of_two_equally_near_the_thinner_is_taken():
    middle = (american_size(15).mm + american_size(15.5).mm) / 2
    assert nearest_wire(middle) == american_size(15)


@pytest.mark.parametrize("mm", [0.5, 0.70, 1.70, float("nan")])
def test_what_is_no_music_wire_is_refused(mm):
    with pytest.raises(ValueError, match="sizes run from 0.737 to 1.600 mm"):
        nearest_wire(mm)
    with pytest.raises(ValueError, match="outside it"):
        minimum_tensile(mm)
