"""One instrument's date: how sure it is, what decides it, what would help."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from django.utils.safestring import SafeString

from jobs.scheduling.models import JobEnd, Promise
from jobs.worklist.models import Job
from workshop.calendar.words import chance_words, count_words, day_words
from workshop.web.figures import draw_dots

SURE = Decimal("0.8")


@dataclass(frozen=True)
class ShareRow:
    """One kind of thing that decides the date, which one of it most often, and in which share of the futures."""

    label: str
    words: str
    share: float


@dataclass(frozen=True)
class DatePage:
    """Everything on the page of one instrument's date."""

    job: Job
    end: JobEnd | None
    promise: Promise | None
    chance: Decimal | None
    picture: SafeString | None
    days: tuple[tuple[str, dt.date], ...]
    shares: tuple[ShareRow, ...]

    @property
    def unsure(self) -> bool:
        """Tell whether the promise holds less often than 8 times in 10."""
        return self.chance is not None and self.chance < SURE


def date_page(job: Job, end: JobEnd | None, promise: Promise | None) -> DatePage:
    """Return the page of a job's date from what the plan in force keeps of it."""
    chance = end.chance_by(promise.date) if end and promise else None
    return DatePage(
        job=job,
        end=end,
        promise=promise,
        chance=chance,
        picture=_picture(end, promise) if end and end.day_80 else None,
        days=_days(end),
        shares=share_rows(end),
    )


def _days(end: JobEnd | None) -> tuple[tuple[str, dt.date], ...]:
    if end is None:
        return ()
    known = ((0.5, end.day_50), (0.8, end.day_80), (0.9, end.day_90))
    return tuple((chance_words(chance), day) for chance, day in known if day is not None)


def _picture(end: JobEnd, promise: Promise | None) -> SafeString:
    day = promise.date if promise else end.day_80
    assert day is not None
    title = f"Twenty equally likely ends of no. {end.job.instrument.number}"
    return draw_dots(end.dots, day, title=title, word="promised" if promise else "8 in 10")


def share_rows(end: JobEnd | None) -> tuple[ShareRow, ...]:
    """Return what decides a date, the most frequent first; what is rarer than 1 in 20 is left out."""
    return tuple(
        ShareRow(JobEnd.Decider(one["kind"]).label, one["words"], one["share"])
        for one in (end.shares if end else ())
        if one["share"] >= 0.05
    )


def often_words(end: JobEnd | None) -> str:
    """Return what decides a date most often in the futures, e.g. "a person in 6 of 10 futures", "so in 8 of 10"."""
    rows = share_rows(end)
    if end is None or not rows:
        return ""
    times = chance_words(rows[0].share).replace(" in ", " of ")
    same = end.shares[0]["kind"] == end.decider
    return f"{'so' if same else rows[0].label} in {times} futures"


def help_words(end: JobEnd | None) -> str:
    """Return the one change that helps most, e.g. "one more bench: 3 days sooner"; empty where none was tried."""
    if end is None or end.help_days is None:
        return ""
    if not end.help_days:
        return "nothing single"
    return f"{end.help_words}: {count_words(end.help_days)} day{'' if end.help_days == 1 else 's'} sooner"


def band(end: JobEnd | None) -> tuple[dt.date, dt.date] | None:
    """Return the days reached 2 times and 8 times in 10; None where no futures were tried."""
    dots = end.dots if end else []
    return (dots[3], dots[15]) if len(dots) == 20 else None


def promise_words(promise: Promise, end: JobEnd | None) -> str:
    """Return a promise and its chance now, e.g. "Fri 5 Mar, 7 in 10"."""
    chance = end.chance_by(promise.date) if end else None
    return day_words(promise.date) + (f", {chance_words(float(chance))}" if chance is not None else "")
