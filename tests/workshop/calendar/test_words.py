from datetime import date
from decimal import Decimal

import pytest

from workshop.calendar.words import (
    chance_words,
    count_words,
    day_words,
    day_words_year,
    hours_words,
    minutes_words,
    weekdays_words,
)


def test_days_carry_their_weekday():
    assert day_words(date(2027, 3, 12)) == "Fri 12 Mar"
    assert day_words(date(2026, 9, 1)) == "Tue 1 Sep"
    assert day_words_year(date(2027, 3, 12)) == "Fri 12 Mar 2027"


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        (2.5, "2½ h"),
        (0.25, "¼ h"),
        (Decimal("1.75"), "1¾ h"),
        (3, "3 h"),
        (0, "0 h"),
        (2.3, "2.3 h"),
        (2.98, "3 h"),
        (-2.5, "−2½ h"),
        (-0.001, "0 h"),
        (41.95, "42 h"),
    ],
)
def test_hours_use_quarters_where_they_are_exact(hours, words):
    assert hours_words(hours) == words


@pytest.mark.parametrize(
    ("minutes", "words"), [(84, "1 h 24"), (45, "45 min"), (60, "1 h"), (125, "2 h 05"), (0, "0 min")]
)
def test_minutes_are_said_as_on_a_clock(minutes, words):
    assert minutes_words(minutes) == words


def test_minutes_below_nought_are_refused():
    with pytest.raises(ValueError, match="below nought"):
        minutes_words(-1)


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.8, "8 in 10"),
        (0.849, "8 in 10"),
        (0.85, "9 in 10"),
        (0.5, "5 in 10"),
        (0.05, "1 in 10"),
        (0.049, "less than 1 in 10"),
        (0.0, "less than 1 in 10"),
        (0.951, "more than 9 in 10"),
        (1.0, "more than 9 in 10"),
    ],
)
def test_a_chance_is_never_said_as_a_certainty(chance, words):
    assert chance_words(chance) == words


@pytest.mark.parametrize("chance", [-0.1, 1.1, float("nan")])
def test_what_is_no_chance_is_refused(chance):
    with pytest.raises(ValueError, match="between 0 and 1"):
        chance_words(chance)


def test_counts_are_words_up_to_twelve():
    assert [count_words(n) for n in (0, 1, 3, 12, 13, 1240)] == [
        "no",
        "one",
        "three",
        "twelve",
        "13",
        "1,240",
    ]


@pytest.mark.parametrize(
    ("days", "words"),
    [
        ([0, 1, 2, 3, 4], "Monday to Friday"),
        ([0, 1, 4], "Monday, Tuesday and Friday"),
        ([5, 6], "Saturday and Sunday"),
        ([2], "Wednesday"),
        ([], "on no day"),
    ],
)
def test_weekdays_are_said_as_a_stretch_where_they_are_one(days, words):
    assert weekdays_words(days) == words
