"""What is expected of tasks and on what evidence, wherever hours appear: a sentence, for whom, and a small picture.

However many tasks a page shows, their logs come with one question.
"""

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.db.models import Count, F, FloatField, Max, Min, Window
from django.db.models.functions import Cast, RowNumber

from jobs.estimating.calc.task_hours import TaskHours
from jobs.estimating.estimator import COUNTING
from jobs.estimating.models import HoursLog
from jobs.estimating.picture import SMALL_MOST, SmallPicture, small_picture
from jobs.estimating.services import hours_sentence
from jobs.intake.models import Instrument
from jobs.operations.models import Operation
from workshop.people.models import Person


@dataclass(frozen=True)
class HoursSaid:
    """What a page says of the hours of one task; ``whom``: "Computed for Corin." """

    sentence: str
    whom: str
    picture: SmallPicture


@dataclass(frozen=True)
class Asked:
    """One task a page shows: its work, how many units on what kind of instrument, its figures.

    ``technician``: whose logs speak, where they do (``TaskHours.own``).
    """

    operation: Operation
    quantity: Decimal
    kind: str
    hours: TaskHours
    technician: Person | None = None

    @property
    def size(self) -> float:
        """Return the hours of this task for one hour of a unit on a grand."""
        upright = float(self.operation.upright_factor) if self.kind == Instrument.Kind.UPRIGHT else 1.0
        return float(self.quantity) * upright


@dataclass(frozen=True)
class _Kept:
    """The logs of one work, hours of one unit: how many, the shortest and longest, the newest ones oldest first."""

    logs: int
    least: float
    most: float
    newest: tuple[float, ...]


def hours_said(asked: Sequence[Asked], *, until: dt.date | None = None) -> list[HoursSaid]:
    """Return what to say of some tasks, in their order; with ``until`` only logs finished by that day speak."""
    people = {one.technician.pk for one in asked if one.technician is not None and one.hours.own}
    kept = _kept({one.operation.pk for one in asked}, people, until)
    return [_said(one, kept) for one in asked]


def _said(one: Asked, kept: dict[tuple[int, int | None], _Kept]) -> HoursSaid:
    who = one.technician if one.hours.own else None
    found = kept.get((one.operation.pk, who.pk if who else None))
    hours, size = one.hours, one.size
    if found is None:
        hours = replace(hours, logs=0, least=None, most=None)
    else:
        hours = replace(hours, logs=found.logs, least=found.least * size, most=found.most * size)
    return HoursSaid(
        sentence=hours_sentence(hours, str(who) if who else ""),
        whom=f"Computed for {who}." if who else "Computed for the whole shop.",
        picture=small_picture(
            [each * size for each in found.newest] if found else [],
            norm=hours.norm,
            likely=hours.likely,
            figure_80=hours.figure_80,
        ),
    )


def _kept(
    operations: Collection[int], people: Collection[int], until: dt.date | None
) -> dict[tuple[int, int | None], _Kept]:
    """Return the logs that count of some works: of all people, and of each of those named."""
    rows = HoursLog.objects.filter(COUNTING, operation__in=operations)
    if until is not None:
        rows = rows.filter(finished_on__lte=until)
    unit = Cast("hours", FloatField()) * Cast("norm_of_unit", FloatField()) / Cast("norm_hours", FloatField())
    found: dict[tuple[int, int | None], _Kept] = {}
    wanted = [(rows, False)] + ([(rows.filter(technician__in=people), True)] if people else [])
    for some, own in wanted:
        within = [F("operation"), F("technician")] if own else [F("operation")]
        newest = (
            some.annotate(unit=unit)
            .annotate(
                place=Window(RowNumber(), partition_by=within, order_by=[F("finished_on").desc(), F("pk").desc()]),
                logs=Window(Count("pk"), partition_by=within),
                least=Window(Min("unit"), partition_by=within),
                most=Window(Max("unit"), partition_by=within),
            )
            .filter(place__lte=SMALL_MOST)
            .order_by("-place")
        )
        for key, who, hours, logs, least, most in newest.values_list(
            "operation", "technician", "unit", "logs", "least", "most"
        ):
            name = (key, who if own else None)
            before = found[name].newest if name in found else ()
            found[name] = _Kept(logs, least, most, (*before, hours))
    return found
