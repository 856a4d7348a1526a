import datetime as dt

import pytest

from workshop.calendar.models import Closure
from workshop.calendar.queries import closed_days, shop_week
from workshop.house.queries import the_shop

pytestmark = pytest.mark.django_db
FIRST, LAST = dt.date(2027, 1, 1), dt.date(2027, 12, 31)


def test_public_holidays_of_england_close_the_shop():
    # gov.uk, "UK bank holidays", England and Wales, 2027: eight days, Christmas Day and Boxing Day in lieu.
    assert [day.isoformat() for day in closed_days(the_shop(), FIRST, LAST) if day.weekday() < 5] == [
        "2027-01-01", "2027-03-26", "2027-03-29", "2027-05-03", "2027-05-31", "2027-08-30", "2027-12-27", "2027-12-28",
    ]  # fmt: skip


def test_own_closures_are_added_and_cut_to_the_days_asked_for():
    Closure.objects.create(first_day=dt.date(2027, 8, 9), last_day=dt.date(2027, 8, 20), reason="summer")
    Closure.objects.create(first_day=dt.date(2026, 12, 30), last_day=dt.date(2027, 1, 4), reason="stocktaking")
    days = closed_days(the_shop(), dt.date(2027, 1, 1), dt.date(2027, 8, 10))
    assert days[dt.date(2027, 1, 1)] == "stocktaking"
    assert days[dt.date(2027, 1, 4)] == "stocktaking"
    assert [day for day, why in days.items() if why == "summer"] == [dt.date(2027, 8, 9), dt.date(2027, 8, 10)]
    assert min(days) == dt.date(2027, 1, 1)


def test_the_week_counts_monday_as_one_and_knows_the_hours():
    shop = the_shop()
    shop.workdays, shop.opens, shop.closes = [0, 1, 2, 5], dt.time(7, 30), dt.time(15, 0)
    week = shop_week(shop, FIRST, LAST)
    assert week.workdays == {1, 2, 3, 6}
    assert (week.open_minutes, week.slots_per_day) == (450, 15)
    assert week.is_open(dt.date(2027, 1, 9))
    assert not week.is_open(dt.date(2027, 1, 8))


def test_a_holiday_moves_the_next_working_day():
    week = shop_week(the_shop(), FIRST, LAST)
    # Maundy Thursday 2027; Good Friday and Easter Monday are holidays in England.
    assert week.add_working_days(dt.date(2027, 3, 25), 1) == dt.date(2027, 3, 30)


def test_days_in_the_wrong_order_are_refused():
    with pytest.raises(ValueError, match="before they begin"):
        closed_days(the_shop(), LAST, FIRST)
