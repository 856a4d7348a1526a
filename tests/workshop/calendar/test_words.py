from datetime import date
from decimal import Decimal

import pytest

from workshop.calendar.words import (
    chance_words,
    clock_words,
    count_words,
    day_words,
    day_words_year,
    hours_exact,
    hours_in_column,
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
        (2.5, "2.5 h"),
        (0.25, "0.25 h"),
        (Decimal("0.5"), "0.5 h"),
        (Decimal("18.42"), "18.4 h"),
        (3, "3 h"),
        (100, "100 h"),
        (1.25, "1.3 h"),
        (0.996, "1 h"),
        (0, "0 h"),
        (2.3, "2.3 h"),
        (2.98, "3 h"),
        (-2.5, "−2.5 h"),
        (-0.001, "0 h"),
        (41.95, "42 h"),
    ],
)
def test_hours_in_a_sentence_have_no_noughts_at_the_end(hours, words):
    assert hours_words(hours) == words


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        (29.5, "29.5 h"),
        (8, "8.0 h"),
        (Decimal("0.25"), "0.3 h"),
        (1240, "1,240.0 h"),
        (0, "0.0 h"),
        (-2.5, "−2.5 h"),
        (-0.01, "0.0 h"),
    ],
)
def test_hours_in_a_column_all_have_one_decimal(hours, words):
    assert hours_in_column(hours) == words


def test_a_norm_is_written_to_the_hundredth():
    assert (hours_in_column(Decimal("2.25"), 2), hours_exact(Decimal("2.25")), hours_exact(8)) == (
        "2.25 h", "2.25 h", "8 h",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(84, "1 h 24"), (45, "45 min"), (60, "1 h"), (125, "2 h 05"), (0, "0 min"), (545_145, "9,085 h 45")],
)
def test_minutes_are_said_as_on_a_clock(minutes, words):
    assert minutes_words(minutes) == words


@pytest.mark.parametrize(
    ("hours", "words"), [(0.42, "25 min"), (Decimal("3.3"), "3 h 20"), (2, "2 h"), (0.01, "5 min"), (0.98, "1 h")]
)
def test_likely_hours_are_said_at_the_bench_as_time_is_kept_there(hours, words):
    assert clock_words(hours) == words


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
