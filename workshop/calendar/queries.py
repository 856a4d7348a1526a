"""When the shop is open."""

from datetime import date, timedelta

from workshop.calendar.calc.working import ShopWeek
from workshop.calendar.holidays import public_holidays
from workshop.calendar.models import Closure
from workshop.house.models import Shop


def closed_days(shop: Shop, first: date, last: date) -> dict[date, str]:
    """Return the days from ``first`` to ``last``, both included, on which the shop is shut, with the reason.

    Public holidays of the shop's country and part, and its own closures (whose reason wins). Raises ValueError
    with a sentence for an unknown country or part, or when ``last`` comes before ``first``.
    """
    if last < first:
        raise ValueError(f"The days asked for end on {last} before they begin on {first}.")
    years = range(first.year, last.year + 1)
    found = {
        day: name
        for day, name in public_holidays(shop.country, shop.subdivision, years).items()
        if first <= day <= last
    }
    for closure in Closure.objects.filter(first_day__lte=last, last_day__gte=first):
        day = max(first, closure.first_day)
        while day <= min(last, closure.last_day):
            found[day] = closure.reason
            day += timedelta(days=1)
    return dict(sorted(found.items()))


def shop_week(shop: Shop, first: date, last: date) -> ShopWeek:
    """Return the shop's week with every closed day from ``first`` to ``last``; beyond, holidays are not known.

    Raises ValueError as ``closed_days`` does, and for a week nobody could work in.
    """
    return ShopWeek(
        workdays=frozenset(day + 1 for day in shop.workdays),
        opens=shop.opens,
        closes=shop.closes,
        closed_days=frozenset(closed_days(shop, first, last)),
        slot_minutes=shop.slot_minutes,
    )
