"""Readings along the compass, checked against numpy and made-up instruments with planted trouble."""

import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.assessment.calc.findings.words import along_words
from jobs.assessment.calc.ranges import Bend, MeasureRange, choose_range, side_of
from jobs.assessment.calc.series import (
    coverage,
    jumps,
    outliers,
    read_next,
    region_of,
    region_shares,
    stretch,
    trend,
)
from workshop.keyboard.calc.notes import Compass

COMPASS = Compass(1, 85, last_wound=28, bars_above=(28, 52))
DICE = random.Random(11)
NOISY = {key: 50 + 0.05 * key + DICE.gauss(0, 1) for key in COMPASS}


@pytest.mark.parametrize("last", [82, 85, 88])
def test_coverage_is_of_the_instruments_own_compass(last):
    assert coverage(dict.fromkeys(range(1, 42), 50.0), Compass(1, last)) == pytest.approx(41 / last)


def test_an_extended_compass_counts_its_low_notes():
    assert coverage(dict.fromkeys(range(-8, 89), 50.0), Compass(-8, 88)) == 1


def test_planted_outliers_are_found_and_nothing_else():
    planted = NOISY | {20: 75.0, 60: 30.0}
    assert outliers(planted, COMPASS) == [20, 60]


def test_a_smooth_curve_has_no_outliers_even_with_a_step_at_the_break():
    curve = {key: (80 if key <= 28 else 40) - 0.3 * key for key in COMPASS}
    assert outliers(curve, COMPASS) == []


def test_one_wrong_reading_on_a_perfect_line_is_found():
    assert outliers({k: 2.0 * k + (0.5 if k == 50 else 0) for k in COMPASS}, COMPASS) == [50]


def test_a_departure_too_small_to_matter_is_left():
    assert outliers({k: 2.0 * k + (0.5 if k == 50 else 0) for k in COMPASS}, COMPASS, least=1.0) == []


def test_few_readings_have_no_outliers():
    assert outliers({1: 50, 40: 90, 85: 50}, COMPASS) == []


@given(st.floats(-3, 3), st.floats(-50, 50))
def test_the_trend_of_a_straight_line_is_its_slope(slope, start):
    found = trend({key: start + slope * key for key in range(1, 30)})
    fitted = np.polyfit(np.arange(1, 30), [start + slope * key for key in range(1, 30)], 1)
    assert found.per_octave == pytest.approx(12 * fitted[0], abs=1e-6)
    assert found.clear == (abs(slope) > 1e-9) or abs(slope) < 1e-6


def test_the_trend_of_noise_is_seldom_clear():
    dice = random.Random(5)
    runs = [trend({key: dice.gauss(0, 1) for key in range(1, 25)}).clear for _ in range(400)]
    # a test at 1 in 20: of 400 runs about 20, at most 35 (more than three standard errors above)
    assert sum(runs) <= 35


def test_one_wild_value_does_not_turn_the_trend():
    values = {key: 0.1 * key for key in range(1, 40)} | {39: -500.0}
    assert trend(values).per_octave == pytest.approx(1.2, abs=0.05)


def test_a_jump_at_the_break_is_found_with_its_size():
    stepped = {key: value + (9 if key > 28 else 0) for key, value in NOISY.items()}
    found = {jump.below: jump for jump in jumps(stepped, COMPASS)}
    assert found[28].at == "break"
    assert found[28].clear
    assert found[28].size == pytest.approx(9, abs=2)
    assert not found[52].clear


def test_no_jump_is_told_where_one_side_was_not_read():
    assert jumps({key: 50.0 for key in range(1, 20)}, COMPASS) == []


def test_regions_follow_the_break_of_the_instrument():
    assert [region_of(key, COMPASS) for key in (28, 29, 51, 52)] == ["bass", "middle", "middle", "treble"]
    assert region_of(26, Compass(1, 88, last_wound=20)) == "middle"
    shares = region_shares(range(1, 86), [1, 2, 60], COMPASS)
    assert (shares["bass"].outside, shares["bass"].read, shares["treble"].outside) == (2, 28, 1)


@pytest.mark.parametrize(
    ("outside", "words"),
    [
        (range(1, 41), " from the bottom to about C4"),
        (range(60, 86), " from about G♯5 to the top"),
        (range(30, 50), " from about D3 to about A4"),
        (range(1, 86), " all along the keyboard"),
        ([3, 40], " at B0 and C4"),
        (list(range(1, 28, 3)) + [80], ", mostly in the bass"),
        (range(1, 86, 9), " here and there"),
        ([], ""),
    ],
)
def test_where_trouble_lies_is_said_in_words(outside, words):
    assert along_words(range(1, 86), list(outside), COMPASS) == words


def test_a_stretch_bears_a_few_good_notes_within():
    assert stretch(range(1, 86), [k for k in range(1, 41) if k not in (7, 19, 30)]) == (1, 40)


def test_the_next_notes_are_the_sides_of_the_break_then_the_border_of_trouble():
    told = read_next({1: 60.0, 40: 60.0, 64: 50.0, 85: 50.0}, [1, 40], COMPASS)
    assert [item.key for item in told][:5] == [28, 29, 52, 53, 20]
    assert told[0].why == "last wound note"


def test_the_border_of_trouble_is_halved():
    read = dict.fromkeys((1, 28, 29, 40, 52, 53, 64, 85), 50.0)
    told = read_next(read, [1, 28, 29, 40], COMPASS)
    assert (told[0].key, told[0].why) == (46, "between C4 and C5, where the readings change")


def test_nothing_is_left_to_read_when_all_is_read():
    assert read_next({key: 50.0 for key in COMPASS}, [], COMPASS) == []


RANGES = [
    MeasureRange("grand", "modern", 46, 54),
    MeasureRange("grand", "modern", 44, 60, own=True),
    MeasureRange("grand", "old", 45, 55),
]


@pytest.mark.parametrize(("kind", "era", "high"), [("grand", "modern", 60), ("grand", "old", 55)])
def test_the_own_range_is_chosen_first(kind, era, high):
    assert choose_range(RANGES, kind, era).high == high


def test_no_range_of_another_kind_stands_in():
    assert choose_range(RANGES, "upright", "modern") is None


def test_a_bent_range_runs_straight_between_its_keys_and_says_nothing_outside():
    bent = MeasureRange("grand", "modern", 2, None, (Bend(28, 4, None), Bend(88, 2, None)))
    assert bent.limits(58) == (pytest.approx(3), None)
    assert bent.limits(10) == (None, None)
    assert bent.limits(None) == (2, None)


@pytest.mark.parametrize(("value", "side"), [(46, ""), (54, ""), (45.9, "under"), (54.1, "over")])
def test_both_ends_of_a_range_are_ordinary(value, side):
    assert side_of(value, 46, 54) == side
