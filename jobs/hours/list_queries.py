"""The manager's list of hours: those on tasks and those of the house in one, as plain rows the database can sort."""

from typing import Any

from django.db.models import BooleanField, Case, CharField, F, IntegerField, Q, QuerySet, Sum, Value, When
from django.db.models.functions import Cast, Coalesce, NullIf

from jobs.hours.models import HouseTime, TimeEntry

TASK, ASSESSMENT, VISIT = "task", "assessment", "visit"
WORDS = {ASSESSMENT: "of the house: assessment", VISIT: "of the house: visit under guarantee"}
COLUMNS = (
    "source", "about", "on", "who", "number", "maker", "kind", "work", "minutes", "note",
    "gone", "was", "reason", "mended_by", "key",
)  # fmt: skip


def entries_listed() -> QuerySet[TimeEntry]:
    """Return the newest version of every entry on a task, with what it replaced; withdrawn ones too."""
    return TimeEntry.objects.filter(replaced_by=None, minutes__isnull=False).exclude(withdrawn=True, replaces=None)


def house_listed() -> QuerySet[HouseTime]:
    """Return all time of the house, what was taken back too."""
    return HouseTime.objects.all()


def minutes_together(entries: QuerySet[TimeEntry], house: QuerySet[HouseTime]) -> int:
    """Return the minutes that stand of some entries and some time of the house."""
    standing: tuple[QuerySet[Any], ...] = (entries.filter(withdrawn=False), house.filter(taken_back_at=None))
    return sum(rows.order_by().aggregate(total=Sum("minutes"))["total"] or 0 for rows in standing)


def hours_rows(entries: QuerySet[TimeEntry], house: QuerySet[HouseTime]) -> Any:
    """Return both as one query of dicts with COLUMNS.

    ``key`` is that of the entry, ``about`` that of the page it is mended on; ``gone``: withdrawn or taken back;
    ``was``: minutes before a correction; ``reason`` and ``mended_by``: of the correction.
    """
    return _entries(entries).union(_house(house), all=True)


def _entries(rows: QuerySet[TimeEntry]) -> Any:
    return (
        rows.order_by()
        .annotate(
            source=Value(TASK, CharField()),
            about=F("pk"),
            key=F("pk"),
            who=_name("person"),
            number=F("task__job__instrument__number"),
            maker=F("task__job__instrument__maker"),
            kind=F("task__job__instrument__kind"),
            work=F("task__name"),
            gone=F("withdrawn"),
            was=F("replaces__minutes"),
            reason=F("correction_reason"),
            mended_by=Coalesce(_name("corrected_by"), Value("")),
        )
        .values(*COLUMNS)
    )


def _house(rows: QuerySet[HouseTime]) -> Any:
    assessed = Q(assessment__isnull=False)
    return (
        rows.order_by()
        .annotate(
            source=Case(When(assessed, Value(ASSESSMENT)), default=Value(VISIT), output_field=CharField()),
            about=Coalesce("assessment", "job"),
            key=F("pk"),
            who=_name("person"),
            number=Coalesce("assessment__instrument__number", "job__instrument__number"),
            maker=Coalesce("assessment__instrument__maker", "job__instrument__maker"),
            kind=Coalesce("assessment__instrument__kind", "job__instrument__kind"),
            work=Case(When(assessed, Value(WORDS[ASSESSMENT])), default=Value(WORDS[VISIT]), output_field=CharField()),
            gone=Case(When(taken_back_at=None, then=False), default=True, output_field=BooleanField()),
            was=Cast(Value(None), IntegerField()),
            reason=F("taken_back_because"),
            mended_by=Coalesce(_name("taken_back_by"), Value("")),
        )
        .values(*COLUMNS)
    )


def _name(person: str) -> Coalesce:
    """Return the name of a person as everywhere: the first name, else the one they sign in with."""
    return Coalesce(NullIf(f"{person}__first_name", Value("")), f"{person}__username")
