"""The dates of a quote: when each way would be finished, and whose work would end later for it.

What the plan says is handed over by ``flow`` as plain data; here it is only put in order for the page.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from jobs.quoting.models import Quote, Scope
from workshop.calendar.words import count_words, day_words

LATER_DAYS = 14
KINDS = (
    ("calm", "Nobody else moves", "all other work stays where it is"),
    ("kept", "Others give way, every promise kept", "as far as nobody ends after a promise"),
    ("first", "It goes first", "whatever that costs the others; the next ten working days stay"),
)


@dataclass(frozen=True)
class Taking:
    """One way of taking the work in, with what it leads to for each day of the answer; None where it wins no day."""

    words: str
    hint: str
    cells: tuple[tuple[str, Any], ...]


@dataclass(frozen=True)
class WayDates:
    """One way of the quote. ``takings`` is empty when it cannot be planned."""

    scope: Scope
    takings: tuple[Taking, ...]
    later: str


@dataclass(frozen=True)
class DatesPage:
    """Everything on the page of a quote's dates."""

    quote: Quote
    answer: dt.date
    both: bool
    heads: tuple[str, ...]
    arrives: dt.date | None
    calm_only: bool
    ways: tuple[WayDates, ...]
    sentence: str

    @property
    def second(self) -> dt.date:
        """Return the day of the later answer."""
        return self.answer + dt.timedelta(days=LATER_DAYS)


def answer_days(answer: dt.date) -> tuple[dt.date, dt.date]:
    """Return the two days tried for an answer: the day itself, and two weeks later."""
    return answer, answer + dt.timedelta(days=LATER_DAYS)


def dates_page(
    quote: Quote, found: Mapping[int, Sequence[Any]], *, answer: dt.date, today: dt.date, both: bool
) -> DatesPage:
    """Return the page of a quote's dates. ``found``: for each way what follows from the day, or from both."""
    first, second = answer_days(answer)
    told = f"on {day_words(first)}" if first != today else "today"
    heads = (f"If the answer comes {told}", f"If it comes two weeks later, {day_words(second)}")[: 1 + both]
    ways = tuple(_way(scope, found.get(scope.pk, ()), heads) for scope in quote.scopes.all())
    arrives = next((days[0].arrives for days in found.values()), None)
    calm_only = any(day.calm_only for days in found.values() for day in days)
    return DatesPage(quote, answer, both, heads, arrives, calm_only, ways, _sentence(ways, found, told))


def _way(scope: Scope, days: Sequence[Any], heads: Sequence[str]) -> WayDates:
    if not days:
        return WayDates(scope, (), "")
    takings = []
    for name, words, hint in KINDS:
        cells = tuple((head, getattr(day, name)) for head, day in zip(heads, days, strict=False))
        if any(cell for _, cell in cells):
            takings.append(Taking(words, hint, cells))
    return WayDates(scope, tuple(takings), _later(days) if len(heads) > 1 else "")


def _later(days: Sequence[Any]) -> str:
    """Return what two weeks of waiting cost while nobody else moves."""
    lost = (days[1].calm.day - days[0].calm.day).days
    if lost <= 0:
        return "Two weeks of waiting cost nothing while nobody else moves: it is the same day."
    return f"Two weeks of waiting cost {count_words(lost)} day{'' if lost == 1 else 's'} while nobody else moves."


def _sentence(ways: Sequence[WayDates], found: Mapping[int, Sequence[Any]], told: str) -> str:
    """Return the dates nobody else moves for, in one sentence."""
    days = sorted({found[way.scope.pk][0].calm.day for way in ways if way.takings})
    if not days:
        return "No date can be given: the work cannot be planned as things stand."
    if len(days) == 1:
        which = "it would be finished" if len(ways) == 1 else "each way would be finished"
        return f"If the answer comes {told}, {which} on {day_words(days[0])}, and nobody else moves."
    return (
        f"If the answer comes {told}, it would be finished between {day_words(days[0])} and {day_words(days[-1])}, "
        "and nobody else moves."
    )
