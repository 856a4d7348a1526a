"""Hours teach the norms: what was logged on closed tasks is handed back to the step that estimates."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal

from django.db import transaction
from django.db.models import Q, Sum
from django.utils import timezone

from jobs.estimating.services import FinishedTask, QuotedTask, logs_keep, outcome_keep
from jobs.hours import services as hours_services
from jobs.hours.models import TimeEntry
from jobs.hours.queries import standing
from jobs.quoting.models import ScopeOperation
from jobs.worklist.models import Job, Task
from workshop.people.models import Person

OPEN = (Task.State.TO_COME, Task.State.AT_WORK)


@transaction.atomic
def hours_closed(tasks: Iterable[Task], at: dt.datetime) -> int:
    """Hand closed tasks to the learner, and jobs whose last task is closed to what corrects quotes.

    Return how many tasks were new or changed. Raises Refused.
    """
    closed = {task.pk for task in tasks if task.state == Task.State.DONE}
    rows = list(Task.objects.filter(pk__in=closed).select_related("job__instrument", "job__quote", "job__scope"))
    logged = _logged(closed)
    nothing = (Decimal(0), None, False)
    written = logs_keep(tasks=[_finished(row, *logged.get(row.pk, nothing)) for row in rows], at=at)
    jobs = {row.job_id: row.job for row in rows if row.job.scope_id and row.job.quote_id}
    still_open = set(Task.objects.filter(job__in=jobs, state__in=OPEN).values_list("job", flat=True))
    for key, job in jobs.items():
        if key not in still_open:
            _outcome(job)
    return written


@transaction.atomic
def hours_corrected(
    entry: TimeEntry, minutes: int, reason: str, by: Person, at: dt.datetime, on: dt.date | None = None
) -> TimeEntry:
    """Correct an entry; what a closed task taught is corrected with it. Raises Refused as correcting does."""
    new = hours_services.entry_correct(entry=entry, minutes=minutes, reason=reason, by=by, at=at, on=on)
    hours_closed([new.task], at)
    return new


@transaction.atomic
def hours_withdrawn(entry: TimeEntry, reason: str, by: Person, at: dt.datetime) -> TimeEntry:
    """Say that there was no such time; what it taught goes with it. Raises Refused as correcting does."""
    new = hours_services.entry_withdraw(entry=entry, reason=reason, by=by, at=at)
    hours_closed([new.task], at)
    return new


def hours_gathered(at: dt.datetime) -> int:
    """Hand every closed task of the house to the learner; running it again changes nothing that is kept."""
    return hours_closed(Task.objects.filter(state=Task.State.DONE), at)


def _logged(tasks: set[int]) -> dict[int, tuple[Decimal, int, bool]]:
    """Return task -> hours, the person who gave most of them, and whether it was somebody's first time."""
    rows = (
        standing()
        .filter(task__in=tasks, minutes__isnull=False)
        .order_by()
        .values_list("task", "person")
        .annotate(total=Sum("minutes"))
    )
    people: dict[int, list[tuple[int, int]]] = {}
    for task, person, minutes in rows:
        people.setdefault(task, []).append((minutes, person))
    first = set(standing().filter(task__in=tasks, first_time=True).values_list("task", flat=True))
    return {
        task: (Decimal(sum(minutes for minutes, _ in gave)) / 60, max(gave)[1], task in first)
        for task, gave in people.items()
    }


def _finished(task: Task, hours: Decimal, person: int | None, first_time: bool) -> FinishedTask:
    return FinishedTask(
        task_number=task.pk,
        job_number=task.job_id,
        operation_id=task.operation_id,
        technician_id=person,
        norm_hours=task.norm_hours,
        likely=task.hours_likely,
        figure_80=task.hours_80,
        hours=hours,
        finished_on=timezone.localdate(task.done_at) if task.done_at else timezone.localdate(),
        first_time=first_time,
        instrument_words=str(task.job.instrument),
    )


def _outcome(job: Job) -> None:
    """Keep how a quote turned out: its operations against the hours of the same operations, variations apart."""
    if job.scope is None or job.quote is None:
        return
    tasks = list(job.tasks.filter(state=Task.State.DONE, variation=None))
    minutes = dict(
        standing()
        .filter(task__in=tasks, minutes__isnull=False)
        .order_by()
        .values_list("task__operation")
        .annotate(total=Sum("minutes"))
    )
    halved = set(job.tasks.filter(Q(state=Task.State.LEFT_OUT) & Q(variation=None)).values_list("operation", flat=True))
    quoted = [
        QuotedTask(
            norm=float(row.norm_hours),
            likely=float(row.hours_likely),
            figure_80=float(row.hours_80),
            hours=None if row.operation_id in halved else minutes.get(row.operation_id, 0) / 60 or None,
        )
        for row in job.scope.operations.exclude(because=ScopeOperation.Because.REFUSED)
    ]
    outcome_keep(
        quote_number=job.quote.number,
        tasks=quoted,
        likely=job.scope.hours_likely,
        figure_80=job.scope.hours_80,
        finished_on=max((timezone.localdate(task.done_at) for task in tasks if task.done_at), default=job.accepted_on),
        instrument_words=str(job.instrument),
    )
