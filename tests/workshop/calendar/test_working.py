"""Working-day arithmetic, held against numpy's business days."""

from datetime import date, time, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.calendar.calc.working import ShopWeek

FRIDAY = date(2027, 3, 12)
GOOD_FRIDAY, EASTER_MONDAY = date(2027, 3, 26), date(2027, 3, 29)
days = st.dates(date(2024, 1, 1), date(2030, 12, 31))


@st.composite
def weeks(draw):
    workdays = draw(st.frozensets(st.integers(1, 7), min_size=1))
    return ShopWeek(workdays=workdays, closed_days=draw(st.frozensets(days, max_size=30)))


def numpy_calendar(week):
    mask = [day in week.workdays for day in range(1, 8)]
    return np.busdaycalendar(weekmask=mask, holidays=sorted(week.closed_days))


def test_easter_closes_the_shop_for_four_days():
    week = ShopWeek(closed_days=frozenset({GOOD_FRIDAY, EASTER_MONDAY}))
    assert week.is_open(date(2027, 3, 25))
    assert not week.is_open(GOOD_FRIDAY)
    assert week.next_open(GOOD_FRIDAY) == date(2027, 3, 30)
    assert week.add_working_days(date(2027, 3, 25), 1) == date(2027, 3, 30)
    assert week.working_days_between(date(2027, 3, 22), date(2027, 4, 3)) == 8


def test_a_saturday_counts_as_the_next_open_day():
    saturday = FRIDAY + timedelta(days=1)
    week = ShopWeek()
    assert week.add_working_days(saturday, 0) == date(2027, 3, 15)
    assert week.add_working_days(saturday, 1) == date(2027, 3, 16)
    assert week.add_working_days(saturday, -1) == FRIDAY


@given(weeks(), days, st.integers(-60, 60))
def test_adding_working_days_agrees_with_numpy(week, day, n):
    expected = np.busday_offset(day, n, roll="forward", busdaycal=numpy_calendar(week))
    assert week.add_working_days(day, n) == expected.astype(date)


@given(weeks(), days, st.integers(0, 200))
def test_counting_working_days_agrees_with_numpy(week, day, span):
    end = day + timedelta(days=span)
    counted = week.working_days_between(day, end)
    assert counted == np.busday_count(day, end, busdaycal=numpy_calendar(week))
    assert week.working_days_between(end, day) == -counted


@pytest.mark.parametrize(
    ("opens", "closes", "minutes", "slots"),
    [
        (time(8), time(17), 30, 18),
        (time(8, 30), time(16, 45), 30, 16),
        (time(9), time(12), 60, 3),
        (time(9), time(9, 30), 30, 1),
    ],
)
def test_only_whole_slots_count(opens, closes, minutes, slots):
    assert ShopWeek(opens=opens, closes=closes, slot_minutes=minutes).slots_per_day == slots


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"workdays": frozenset()}, "at least one working day"),
        ({"workdays": frozenset({0, 1, 2, 3, 4})}, "1 for Monday to 7 for Sunday"),
        ({"opens": time(17), "closes": time(8)}, "closing must come later"),
        ({"slot_minutes": 0}, "does not fit a day"),
        ({"slot_minutes": 600}, "does not fit a day of 540 minutes"),
    ],
)
def test_a_week_nobody_could_work_in_is_refused(wrong, sentence):
    with pytest.raises(ValueError, match=sentence):
        ShopWeek(**wrong)


def test_a_shop_that_never_opens_again_is_told_so():
    closed = frozenset(FRIDAY + timedelta(days=n) for n in range(3700))
    with pytest.raises(ValueError, match="look through the closures"):
        ShopWeek(closed_days=closed).next_open(FRIDAY)
