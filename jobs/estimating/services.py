"""Hours of work with a range, from the norms of the catalogue and what was really logged; what is kept to learn from.

The bundle takes what all tasks of one job share into account; see ``calc/bundle.py`` for the rule.
"""

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from jobs.estimating.calc import bundle
from jobs.estimating.calc.bundle import BundleHours, HoursBetween
from jobs.estimating.calc.task_hours import TaskHours, task_hours_from_norm
from jobs.estimating.estimator import Estimator, estimator
from jobs.estimating.models import HoursLog, QuoteOutcome
from jobs.operations.calc import catalogue as data
from jobs.operations.models import Operation
from workshop.calendar.words import hours_words
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

__all__ = [
    "BundleHours",
    "Estimator",
    "FinishedTask",
    "HoursBetween",
    "QuotedTask",
    "TaskHours",
    "bundle_hours",
    "estimator",
    "hours_between",
    "hours_for",
    "hours_sentence",
    "log_count_again",
    "log_leave_out",
    "logs_keep",
    "outcome_keep",
    "task_hours_from_norm",
]

HUNDREDTH = Decimal("0.01")


def hours_for(*, operation: Operation | data.Operation, quantity: Decimal | float, kind: str) -> TaskHours:
    """Return the hours of one operation as of today; for several, ask ``estimator()`` once. Raises Refused."""
    return estimator().hours_for(operation=operation, quantity=quantity, kind=kind)


def bundle_hours(hours: Iterable[TaskHours]) -> BundleHours:
    """Return the hours of all tasks together: likely, and the figure that holds 8 times in 10."""
    return estimator().bundle_hours(hours)


def hours_between(first: Iterable[TaskHours], second: Iterable[TaskHours]) -> HoursBetween:
    """Return how many more hours the second scope takes; what both share cancels with its uncertainty."""
    return bundle.hours_between(first, second)


def hours_sentence(hours: TaskHours, who: str = "") -> str:
    """Return what to expect, and on what evidence.

    E.g. "Norm 12 h. Logged 7 of these, 11.5 to 16.4 h. Expect 13.6 h; 8 in 10 stay under 15.8 h." ``who`` names
    the technician whose logs speak ("Corin"), where they do.
    """
    if not hours.logs or hours.least is None or hours.most is None:
        evidence = "Nothing logged yet."
    else:
        least, most = hours_words(hours.least), hours_words(hours.most)
        between = least if least == most else f"{least.removesuffix(' h')} to {most}"
        whose = f"{who} logged" if who and hours.own else "Logged"
        evidence = f"{whose} {hours.logs} of these, {between}."
    return (
        f"Norm {hours_words(hours.norm)}. {evidence} "
        f"Expect {hours_words(hours.likely)}; 8 in 10 stay under {hours_words(hours.figure_80)}."
    )


@dataclass(frozen=True)
class FinishedTask:
    """A finished task as the steps after this one hand it over: hours logged, and what was said before.

    ``norm_hours``, ``likely``, ``figure_80`` are those of the whole task on its day; hours are person-hours.
    """

    task_number: int
    job_number: int
    operation_id: int
    technician_id: int | None
    norm_hours: Decimal
    likely: Decimal
    figure_80: Decimal
    hours: Decimal
    finished_on: dt.date
    first_time: bool
    instrument_words: str


@transaction.atomic
def logs_keep(*, tasks: Sequence[FinishedTask], at: dt.datetime) -> int:
    """Keep finished tasks to learn from; one kept before is brought up to date. Return how many rows were written.

    A task without hours or without a norm says nothing and is not kept. Raises Refused.
    """
    units = dict(Operation.objects.values_list("pk", "hours_likely"))
    known = {row.task_number: row for row in HoursLog.objects.filter(task_number__in=[t.task_number for t in tasks])}
    fresh: list[HoursLog] = []
    written = 0
    for task in tasks:
        row = known.get(task.task_number)
        hours = task.hours.quantize(HUNDREDTH)
        if hours <= 0 or task.norm_hours <= 0:
            if row is not None:
                row.delete()
            continue
        if row is None:
            row = HoursLog(task_number=task.task_number, norm_of_unit=units[task.operation_id])
            fresh.append(row)
        elif (row.hours, row.technician_id, row.first_time) == (hours, task.technician_id, task.first_time):
            continue
        row.operation_id, row.technician_id = task.operation_id, task.technician_id
        row.job_number, row.instrument_words = task.job_number, task.instrument_words[:120]
        row.norm_hours, row.hours = task.norm_hours, hours
        row.said_likely, row.said_80 = task.likely, max(task.likely, task.figure_80)
        row.finished_on, row.first_time, row.changed_at = task.finished_on, task.first_time, at
        written += 1
        if row.pk:
            row_check(row)
            row.save()
    HoursLog.objects.bulk_create(fresh)
    return written


@transaction.atomic
def log_leave_out(*, log: HoursLog, reason: str, by: Person, at: dt.datetime) -> HoursLog:
    """Leave a log out of the figures, with the reason; the hours themselves stay. Raises Refused."""
    if not by.is_manager:
        raise Refused("Which hours count is settled by the manager. Tell them what was mistyped.")
    if not reason.strip():
        raise Refused("Say in a few words why these hours are not counted.")
    return _counting_write(log, reason.strip(), at)


@transaction.atomic
def log_count_again(*, log: HoursLog, by: Person, at: dt.datetime) -> HoursLog:
    """Count a log again that was left out. Raises Refused."""
    if not by.is_manager:
        raise Refused("Which hours count is settled by the manager.")
    return _counting_write(log, "", at)


def _counting_write(log: HoursLog, reason: str, at: dt.datetime) -> HoursLog:
    row = HoursLog.objects.select_for_update().get(pk=log.pk)
    row.left_out_because, row.changed_at = reason, at
    row_check(row)
    row.save(update_fields=["left_out_because", "changed_at"])
    return row


@dataclass(frozen=True)
class QuotedTask:
    """One operation of an accepted quote: the figures of the day, and the hours it took (None where not done)."""

    norm: float
    likely: float
    figure_80: float
    hours: float | None


@transaction.atomic
def outcome_keep(
    *,
    quote_number: int,
    tasks: Sequence[QuotedTask],
    likely: Decimal | None,
    figure_80: Decimal | None,
    finished_on: dt.date,
    instrument_words: str,
) -> QuoteOutcome | None:
    """Keep how a finished quote turned out, on the tasks that were really done; None where none was.

    ``likely`` and ``figure_80`` are the quote's own figures; they stand where all of its tasks were done, else the
    figures of the tasks that were. Raises Refused.
    """
    done = [task for task in tasks if task.hours and task.likely > 0]
    if not done:
        return None
    said = bundle.bundle_hours(
        TaskHours(task.norm, task.likely, max(task.figure_80, task.likely), str(place))
        for place, task in enumerate(done)
    )
    whole = len(done) == len(tasks) and likely and figure_80
    row = QuoteOutcome.objects.filter(quote_number=quote_number).first() or QuoteOutcome(quote_number=quote_number)
    row.mean, row.spread = said.mean, said.spread
    row.likely = likely if whole and likely else _hundredths(said.likely)
    row.figure_80 = figure_80 if whole and figure_80 else _hundredths(said.figure_80)
    row.hours = _hundredths(math.fsum(task.hours or 0.0 for task in done))
    row.tasks_left_out = len(tasks) - len(done)
    row.finished_on, row.instrument_words = finished_on, instrument_words[:120]
    row_check(row)
    row.save()
    return row


def _hundredths(hours: float) -> Decimal:
    return Decimal(str(hours)).quantize(HUNDREDTH)
