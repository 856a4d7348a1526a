"""Touch weights. Published down and up weights are in the table of check values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.assessment.calc.touch import (
    TouchCause,
    TouchRanges,
    balance_from_parts,
    balance_weight,
    friction,
    front_weight_for,
    lead_moment,
    strike_ratio,
    touch_cause,
)

RANGES = TouchRanges(down_high=54, up_low=20, balance_low=35, balance_high=40, friction_high=15)
grams = st.floats(0, 120)


@given(grams, grams, st.floats(0, 10))
def test_added_friction_leaves_the_balance_weight_alone(one, other, more):
    down, up = max(one, other), min(one, other)
    up_after = max(0.0, up - more)
    more = up - up_after
    assert balance_weight(down + more, up_after) == pytest.approx(balance_weight(down, up))
    assert friction(down + more, up_after) == pytest.approx(friction(down, up) + more)


parts = st.fixed_dictionaries(
    {
        "strike_weight": st.floats(4, 14),
        "wippen_weight": st.floats(12, 24),
        "key_ratio": st.floats(0.4, 0.6),
    }
)


@given(parts, st.floats(4, 7), st.floats(0, 45))
def test_the_balance_equation_goes_round(weighed, ratio, front):
    balance = balance_from_parts(**weighed, strike_ratio=ratio, front_weight=front)
    assert strike_ratio(**weighed, balance=balance, front_weight=front) == pytest.approx(ratio)
    assert front_weight_for(**weighed, strike_ratio=ratio, balance=balance) == pytest.approx(front, abs=1e-9)


def test_one_gram_in_front_is_one_gram_less_balance():
    weighed = {"strike_weight": 11.0, "strike_ratio": 5.5, "wippen_weight": 18.0, "key_ratio": 0.5}
    assert front_weight_for(**weighed, balance=38.0) == 31.5
    assert balance_from_parts(**weighed, front_weight=32.5) == 37.0


def test_a_lead_counts_by_its_distance():
    assert lead_moment(14, 160, 240) == pytest.approx(9.333, abs=0.001)  # moments about the balance pin
    assert lead_moment(14, -60, 240) == pytest.approx(-3.5)


@pytest.mark.parametrize(("distance", "arm", "sentence"), [(160, 0, "front arm"), (250, 240, "beyond the front")])
def test_a_lead_where_no_key_is_gets_refused(distance, arm, sentence):
    with pytest.raises(ValueError, match=sentence):
        lead_moment(14, distance, arm)


@pytest.mark.parametrize(
    ("down", "up", "cause"),
    [
        (50, 24, TouchCause.NONE),
        (62, 14, TouchCause.FRICTION),  # 38 balance, 24 friction
        (60, 36, TouchCause.WEIGHT),  # 48 and 12
        (70, 30, TouchCause.BOTH),  # 50 and 20
        (54.8, 25, TouchCause.EDGE),  # 39.9 and 14.9
        (44, 16, TouchCause.LIGHT),  # 30 and 14: comes back too weakly
        (52, 18, TouchCause.FRICTION),  # 35 and 17: not heavy, but slow
        (60, None, TouchCause.UNKNOWN),
        (50, None, TouchCause.NONE),
    ],
)
def test_the_cause_of_a_heavy_or_slow_key(down, up, cause):
    assert touch_cause(down, up, RANGES).cause is cause


def test_a_verdict_carries_its_figures():
    verdict = touch_cause(62, 14, RANGES)
    assert (verdict.balance_g, verdict.friction_g) == (38, 24)
    assert touch_cause(60, None, RANGES).friction_g is None


def test_swapped_weights_are_noticed():
    with pytest.raises(ValueError, match="were the two swapped"):
        touch_cause(28, 52, RANGES)
    with pytest.raises(ValueError, match="not below nought"):
        friction(-1, -2)


def test_a_hammer_without_weight_has_no_ratio():
    with pytest.raises(ValueError, match="strike weight must be above nought"):
        strike_ratio(balance=38, front_weight=30, wippen_weight=18, key_ratio=0.5, strike_weight=0)
