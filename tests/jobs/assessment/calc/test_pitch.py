"""Pitch. Equal temperament on A4 = 440 Hz, ISO 16:1975; cents are 1200 log2 of a ratio."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.assessment.calc.pitch import (
    beats_at,
    cents_between,
    cents_from_beats,
    key_frequency,
    overpull_cents,
    raise_plan,
    tension_ratio,
)


@pytest.mark.parametrize(
    ("beats", "cents"), [(0.5, -1.968), (1, -3.939), (2, -7.887), (3, -11.844), (5, -19.786), (10, -39.80)]
)
def test_beats_flat_at_a4_are_about_four_cents_each(beats, cents):
    assert cents_from_beats(-beats, 49) == pytest.approx(cents, abs=0.005)


def test_the_cents_of_a_beat_halve_with_each_octave_up():
    small = [cents_from_beats(0.001, key) for key in (37, 49, 61, 73)]
    for lower, upper in zip(small, small[1:], strict=False):
        assert lower / upper == pytest.approx(2, rel=1e-4)


# Hertz of one cent, computed from the definition.
@pytest.mark.parametrize(("key", "hz"), [(1, 0.0159), (37, 0.1271), (40, 0.1512), (49, 0.2542), (88, 2.4186)])
def test_one_cent_in_beats_along_the_compass(key, hz):
    assert beats_at(1, key) == pytest.approx(hz, abs=0.00006)


# Beats of tempered intervals at 440, without inharmonicity: tables of temperament, computed.
@pytest.mark.parametrize(
    ("lower", "upper", "ratio", "beats"),
    [(33, 37, (5, 4), 6.93), (40, 44, (5, 4), 10.38), (37, 42, (4, 3), 0.99), (37, 44, (3, 2), -0.74)],
)
def test_tempered_intervals_beat_as_the_tables_say(lower, upper, ratio, beats):
    top, bottom = ratio
    assert bottom * key_frequency(upper) - top * key_frequency(lower) == pytest.approx(beats, abs=0.006)


def test_an_extended_bass_goes_on_below_a0():
    assert key_frequency(-8) == pytest.approx(16.352, abs=0.001)  # C0, any table of equal temperament
    assert key_frequency(49, 435) == 435


@given(st.integers(-8, 88), st.floats(-200, 200), st.floats(400, 470))
def test_beats_and_cents_go_back_and_forth(key, cents, a4):
    assert cents_from_beats(beats_at(cents, key, a4), key, a4) == pytest.approx(cents, abs=1e-6)


def test_impossible_pitches_are_refused():
    with pytest.raises(ValueError, match="440 beats per second flat is not possible at A4"):
        cents_from_beats(-440, 49)
    with pytest.raises(ValueError, match="above nought"):
        cents_between(0, 440)
    with pytest.raises(ValueError, match="pitch of A4"):
        key_frequency(49, 0)


@pytest.mark.parametrize(("cents", "ratio"), [(10, 1.0116), (20, 1.0234), (50, 1.0595), (100, 1.1225)])
def test_tension_grows_with_the_square_of_frequency(cents, ratio):
    assert tension_ratio(cents) == pytest.approx(ratio, abs=0.00005)
    assert tension_ratio(cents) == pytest.approx((key_frequency(49) * 2 ** (cents / 1200) / 440) ** 2)


def test_overpull_is_a_share_of_the_flatness_only():
    assert overpull_cents(-40, 0.30) == pytest.approx(12)
    assert overpull_cents(15) == 0
    with pytest.raises(ValueError, match="An overpull of 50%"):
        overpull_cents(-40, 0.5)


# Passes: piano technicians' mailing list archive 2000-January/057345 (over 50 cents) and /057420 (over 20).
@pytest.mark.parametrize(
    ("offset", "passes"), [(0, 1), (-5, 1), (-6, 2), (-20, 2), (-21, 3), (-60, 3), (4, 1), (30, 2)]
)
def test_the_flatter_the_more_passes(offset, passes):
    assert len(raise_plan(offset, old_wire=False).passes) == passes


def test_more_than_fifty_cents_flat_goes_to_pitch_first():
    first, second, third = raise_plan(-60, old_wire=False).passes
    assert first.aim_cents == 0
    assert first.expected_cents == pytest.approx(-18)
    assert second.aim_cents == pytest.approx(4.5)
    assert abs(third.expected_cents) < 1


def test_forty_cents_flat_is_overpulled_at_once():
    first = raise_plan(-40, old_wire=False).passes[0]
    assert first.aim_cents == pytest.approx(10)
    assert first.expected_cents == pytest.approx(-2)


def test_old_wire_asks_for_a_limit_before_the_first_pass():
    plan = raise_plan(-80, old_wire=True)
    assert plan.agree_first
    assert "agree a limit with the owner before the first pass" in plan.stop_rule
    assert plan.tension_ratio == pytest.approx(2 ** (80 / 600))


def test_an_agreed_limit_ends_the_raise_there():
    plan = raise_plan(-120, old_wire=True, limit_cents=-50)
    assert plan.tension_ratio == pytest.approx(tension_ratio(70))
    assert plan.passes[-1].expected_cents == pytest.approx(-50, abs=1)
    assert "Stop at 50 cents flat as agreed" in plan.stop_rule


def test_an_instrument_already_above_the_limit_is_not_let_down():
    plan = raise_plan(-30, old_wire=True, limit_cents=-50)
    assert len(plan.passes) == 1
    assert plan.tension_ratio == 1


def test_a_limit_above_pitch_is_refused():
    with pytest.raises(ValueError, match="lies above pitch"):
        raise_plan(-30, old_wire=True, limit_cents=10)


@given(st.floats(-200, 60), st.booleans(), st.sampled_from([0.2, 0.25, 0.3]))
def test_every_plan_ends_near_pitch_and_says_to_protect_the_eyes(offset, old_wire, share):
    plan = raise_plan(offset, old_wire=old_wire, share=share)
    assert abs(plan.passes[-1].expected_cents) < 2
    assert "eye protection" in plan.stop_rule
