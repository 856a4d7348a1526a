"""Moisture and climate. The Wood Handbook row at 70 °F is in the table of check values; the grid is computed
from the coefficients published by Simpson, 1998, in °C."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.assessment.calc.climate import (
    Trust,
    TrustReason,
    equilibrium_moisture,
    expected_pitch_drift,
    reading_trust,
)

HUMIDITIES = (20, 30, 35, 40, 42, 45, 50, 55, 60, 65, 70, 80)
GRID = {
    10: (4.60, 6.31, 7.10, 7.87, 8.19, 8.66, 9.47, 10.32, 11.24, 12.27, 13.43, 16.38),
    15: (4.56, 6.26, 7.04, 7.81, 8.12, 8.59, 9.38, 10.23, 11.14, 12.15, 13.30, 16.23),
    20: (4.51, 6.19, 6.96, 7.72, 8.03, 8.49, 9.27, 10.10, 11.00, 12.00, 13.13, 16.04),
    25: (4.43, 6.10, 6.86, 7.61, 7.91, 8.36, 9.13, 9.95, 10.83, 11.81, 12.93, 15.81),
}


@pytest.mark.parametrize("temp_c", GRID)
def test_moisture_over_ordinary_rooms(temp_c):
    for rh, percent in zip(HUMIDITIES, GRID[temp_c], strict=True):
        assert equilibrium_moisture(temp_c, rh) == pytest.approx(percent, abs=0.006)


def test_65_per_cent_at_70_fahrenheit_makes_12_per_cent():
    # Read in a woodworkers' thread on air-dried wood; also the Wood Handbook.
    assert equilibrium_moisture(21.1, 65) == pytest.approx(12, abs=0.05)


@given(st.floats(-1, 99), st.floats(0, 99), st.floats(0.1, 1))
def test_damper_air_always_makes_damper_wood(temp_c, rh, more):
    assert equilibrium_moisture(temp_c, rh + more) > equilibrium_moisture(temp_c, rh)


def test_dry_air_leaves_no_moisture():
    assert equilibrium_moisture(20, 0) == 0


@pytest.mark.parametrize(
    ("temp_c", "rh", "sentence"),
    [(140, 55, "Fahrenheit"), (20, 101, "101 %"), (20, -1, "-1 %"), (20, float("nan"), "nan")],
)
def test_an_impossible_room_is_refused(temp_c, rh, sentence):
    with pytest.raises(ValueError, match=sentence):
        equilibrium_moisture(temp_c, rh)


@pytest.mark.parametrize(
    ("temp_c", "rh", "lived_in", "trust", "reasons"),
    [
        (20, 50, 50, Trust.GOOD, ()),
        (20, 50, None, Trust.GOOD, ()),
        (20, 50, 65, Trust.GOOD, ()),
        (20, 35, 45, Trust.TODAY_ONLY, (TrustReason.DRY,)),
        (8, 70, 65, Trust.TODAY_ONLY, (TrustReason.DAMP, TrustReason.COLD)),
        (31, 50, 50, Trust.TODAY_ONLY, (TrustReason.WARM,)),
        (20, 49, 65, Trust.TAKE_AGAIN, (TrustReason.DRIER_THAN_USED_TO,)),
        (20, 66, 50, Trust.TAKE_AGAIN, (TrustReason.DAMP, TrustReason.DAMPER_THAN_USED_TO)),
    ],
)
def test_what_a_reading_is_worth_today(temp_c, rh, lived_in, trust, reasons):
    verdict = reading_trust(temp_c, rh, lived_in)
    assert verdict.trust is trust
    assert verdict.reasons == reasons


def test_a_verdict_tells_the_moisture_here_and_before():
    verdict = reading_trust(20, 40, 60)
    assert verdict.moisture_here == pytest.approx(7.72, abs=0.006)
    assert verdict.moisture_lived_in == pytest.approx(11.00, abs=0.006)
    assert reading_trust(20, 40, None).moisture_lived_in is None


def test_five_points_of_humidity_are_four_cents():
    # Piano technicians' college list archive 2009-May/002605, a 45-inch upright at A4.
    assert expected_pitch_drift(45, 50) == pytest.approx(4)
    assert expected_pitch_drift(60, 40) == pytest.approx(-16)
    with pytest.raises(ValueError, match="105 %"):
        expected_pitch_drift(45, 105)
