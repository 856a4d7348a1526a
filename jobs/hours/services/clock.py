"""The clock of a person: one runs at a time, true minutes are kept, a piece for each local day."""

import datetime as dt
import uuid
from collections.abc import Iterator

from django.db import transaction
from django.utils import timezone

from jobs.hours.models import TimeEntry
from jobs.hours.queries import running_of, standing
from jobs.hours.services.checks import (
    LONGEST_CLOCK,
    begin,
    check_clock,
    check_open,
    day_of,
    entry_known,
    spend,
    task_held,
)
from jobs.worklist.models import Task
from jobs.worklist.queries import held_tasks
from workshop.calendar.words import day_words, minutes_words
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def clock_start(*, task: Task, person: Person, at: dt.datetime, client_key: uuid.UUID | None = None) -> TimeEntry:
    """Start the clock of a person on a task; a clock that runs is stopped and kept first.

    Raises Refused for a task that is done, left out, or held by a variation nobody has answered, and as stopping
    does for a clock that was forgotten.
    """
    Person.objects.select_for_update().get(pk=person.pk)
    known = entry_known(client_key, person, task_id=task.pk)
    if known is not None and known.started_at is not None:
        return known
    task = task_held(task)
    check_open(task)
    if task.pk in held_tasks(task.job):
        raise Refused(f"“{task.name}” is held until the client has answered a variation. Take another task.")
    running = running_of(person)
    if running is not None:
        if running.task_id == task.pk:
            return running
        clock_stop(person=person, at=at)
    entry = TimeEntry(
        task=task, person=person, on=day_of(at), started_at=at, minutes=None, client_key=client_key, kept_at=at
    )
    row_check(entry)
    entry.save()
    begin(task, at)
    return entry


@transaction.atomic
def clock_stop(
    *, person: Person, at: dt.datetime, extra_minutes: int = 0, worked_minutes: int | None = None
) -> list[TimeEntry]:
    """Stop a person's clock and keep its time; over midnight it is cut, a piece a day. Returns the entries kept.

    ``extra_minutes`` were worked besides; ``worked_minutes`` say how long it really was, counted from the start.
    Less than half a minute is not kept. Raises Refused when no clock runs, when a forgotten one stops without a word
    how long it really was, and for more than a day's hours.
    """
    Person.objects.select_for_update().get(pk=person.pk)
    running = running_of(person)
    if running is None or running.started_at is None:
        raise Refused("No clock is running: start a task, or enter the hours by hand.")
    begun, stop = running.started_at, max(at, running.started_at)
    if worked_minutes is not None:
        if not 0 <= worked_minutes <= (stop - begun) / dt.timedelta(minutes=1) + 1:
            raise Refused(f"The clock ran for {_since(begun, stop)}: write how long it really was, within that.")
        stop = begun + dt.timedelta(minutes=worked_minutes)
    elif stop - begun > LONGEST_CLOCK:
        raise Refused(
            f"{person}’s clock on “{running.task.name}” runs since {day_words(day_of(begun))}, "
            f"{timezone.localtime(begun):%H:%M}: it was forgotten. Say on the bench how long it really was."
        )
    pieces = list(_pieces(begun, stop, extra_minutes))
    check_clock(person, [(day_of(start), minutes) for start, _, minutes in pieces])
    return _keep(running, pieces, at) if pieces else _let_go(running, at)


def _keep(running: TimeEntry, pieces: list[tuple[dt.datetime, dt.datetime, int]], at: dt.datetime) -> list[TimeEntry]:
    """Write the pieces of a clock as entries."""
    kept = []
    for number, (start, stop, minutes) in enumerate(pieces):
        entry = running if number == 0 else TimeEntry(task=running.task, person=running.person, kept_at=at)
        entry.on, entry.started_at, entry.stopped_at, entry.minutes = day_of(start), start, stop, minutes
        row_check(entry)
        entry.save()
        kept.append(entry)
    spend(running.task, sum(minutes for _, _, minutes in pieces))
    return kept


def _let_go(running: TimeEntry, at: dt.datetime) -> list[TimeEntry]:
    """Withdraw a clock that was pressed by mistake; a task nobody else has begun is to come again."""
    running.withdrawn, running.stopped_at, running.minutes = True, max(at, running.started_at or at), 0
    running.save(update_fields=["withdrawn", "stopped_at", "minutes"])
    task = task_held(running.task)
    if task.state == Task.State.AT_WORK and not standing().filter(task=task).exists():
        task.state, task.started_at = Task.State.TO_COME, None
        task.save(update_fields=["state", "started_at"])
    return []


def _pieces(start: dt.datetime, stop: dt.datetime, extra: int) -> Iterator[tuple[dt.datetime, dt.datetime, int]]:
    """Yield (start, stop, minutes) for each local day; true minutes, also over a change of the clocks."""
    begun = start
    while begun < stop or extra > 0:
        local = timezone.localtime(begun)
        midnight = timezone.make_aware(dt.datetime.combine(local.date() + dt.timedelta(days=1), dt.time()))
        end = min(max(stop, begun), midnight)
        last = end >= stop
        minutes = round((end - begun).total_seconds() / 60) + (extra if last else 0)
        if minutes > 0:
            yield begun, end, minutes
        if last:
            return
        begun = end


def _since(begun: dt.datetime, stop: dt.datetime) -> str:
    return minutes_words(int((stop - begun).total_seconds() // 60))
