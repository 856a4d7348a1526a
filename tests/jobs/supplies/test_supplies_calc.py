"""Order days and quantities: no database, no clock.

Days are checked against rules stated apart from the code under test: an order on the last safe day arrives in time,
one on the next open day does not. Public holidays from the published list of England for 2027 (Good Friday 26 March,
Easter Monday 29 March).
"""

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.supplies.calc import arrival_day, covered, last_safe_order_day, needed_quantity, order_slip
from workshop.calendar.calc.working import ShopWeek

EASTER = frozenset({dt.date(2027, 3, 26), dt.date(2027, 3, 29)})
WEEK = ShopWeek(closed_days=EASTER)


@pytest.mark.parametrize(
    ("needed", "lead", "last"),
    [
        (dt.date(2027, 2, 15), 35, dt.date(2027, 1, 11)),  # a Monday, five weeks
        (dt.date(2027, 1, 18), 5, dt.date(2027, 1, 13)),
        (dt.date(2027, 1, 18), 2, dt.date(2027, 1, 15)),  # Saturday is not open: Friday
        (dt.date(2027, 3, 30), 1, dt.date(2027, 3, 25)),  # Easter between
        (dt.date(2027, 3, 26), 1, dt.date(2027, 3, 24)),  # needed on a closed day: there the day before
        (dt.date(2027, 1, 12), 0, dt.date(2027, 1, 12)),
    ],
)
def test_the_last_safe_day_counts_back_over_closed_days(needed, lead, last):
    assert last_safe_order_day(needed, lead, WEEK) == last


@given(
    needed=st.dates(dt.date(2027, 3, 1), dt.date(2027, 5, 1)),
    lead=st.integers(0, 90),
    workdays=st.sets(st.integers(1, 7), min_size=1),
)
def test_the_last_safe_day_arrives_in_time_and_the_next_open_day_does_not(needed, lead, workdays):
    week = ShopWeek(workdays=frozenset(workdays), closed_days=EASTER)
    last = last_safe_order_day(needed, lead, week)
    assert week.is_open(last)
    assert arrival_day(last, lead, week) <= needed
    assert arrival_day(week.add_working_days(last, 1), lead, week) > needed


@pytest.mark.parametrize(
    ("today", "days", "words"),
    [
        (dt.date(2027, 1, 11), 0, "today is the last safe day"),
        (dt.date(2027, 1, 8), -1, "one working day in hand"),
        (dt.date(2027, 1, 4), -5, "five working days in hand"),
        (dt.date(2027, 1, 12), 1, "comes one working day late: the work waits until Tue 16 Feb"),
        (dt.date(2027, 1, 25), 10, "comes ten working days late: the work waits until Mon 1 Mar"),
    ],
)
def test_what_slips_is_said_in_working_days(today, days, words):
    slip = order_slip(ordered_on=today, needed_on=dt.date(2027, 2, 15), lead_days=35, week=WEEK)
    assert (slip.days, slip.words) == (days, words)
    assert slip.last_safe_day == dt.date(2027, 1, 11)
    assert slip.is_late is (days > 0)


def test_a_lead_time_below_nought_is_refused():
    with pytest.raises(ValueError, match="below nought"):
        arrival_day(dt.date(2027, 1, 11), -1, WEEK)


@pytest.mark.parametrize(
    ("quantity", "per_unit", "units", "sold_by", "expected"),
    [
        ("1", False, "11", "set", "1"),
        ("0.42", True, "11", "litre", "4.62"),
        ("0.13", True, "3", "m²", "0.39"),
        ("1.5", True, "3", "piece", "5"),
        ("0.3", False, "1", "set", "1"),
        ("0.001", True, "1", "kg", "0.01"),
    ],
)
def test_quantities_are_rounded_as_the_part_is_sold(quantity, per_unit, units, sold_by, expected):
    assert needed_quantity(
        quantity=Decimal(quantity), per_unit=per_unit, units=Decimal(units), sold_by=sold_by
    ) == Decimal(expected)


def test_no_quantity_is_refused():
    with pytest.raises(ValueError, match="not above nought"):
        needed_quantity(quantity=Decimal(1), per_unit=True, units=Decimal(0), sold_by="m")


@given(st.lists(st.integers(1, 9), max_size=8), st.integers(0, 30))
def test_what_is_covered_never_exceeds_what_is_there(wanted, available):
    here = covered([Decimal(each) for each in wanted], Decimal(available))
    left = available - sum(each for each, is_here in zip(wanted, here, strict=True) if is_here)
    assert left >= 0
    assert all(each > left for each, is_here in zip(wanted, here, strict=True) if not is_here)
