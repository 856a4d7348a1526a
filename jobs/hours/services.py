"""Time: started, stopped, entered, corrected; tasks closed."""

import datetime as dt
import uuid
from collections.abc import Iterator
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from jobs.hours.models import TimeEntry
from jobs.hours.queries import minutes_on, running_of, standing
from jobs.worklist.models import Job, Task
from jobs.worklist.queries import held_tasks, open_before
from workshop.calendar.words import day_words_year, minutes_words
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

DAY_MINUTES = 24 * 60
OLDEST_DAYS = 60  # older hours are entered by the manager as a correction; our judgement


@transaction.atomic
def clock_start(*, task: Task, person: Person, at: dt.datetime, client_key: uuid.UUID | None = None) -> TimeEntry:
    """Start the clock of a person on a task; a clock that runs is stopped and kept first.

    Raises Refused for a task that is done, left out, or held by a variation nobody has answered.
    """
    Person.objects.select_for_update().get(pk=person.pk)
    known = _known(client_key, task=task, person=person, minutes=None)
    if known is not None:
        return known
    task = Task.objects.select_for_update(of=("self",)).select_related("job").get(pk=task.pk)
    _check_open(task)
    if task.pk in held_tasks(task.job):
        raise Refused(f"“{task.name}” is held until the client has answered a variation. Take another task.")
    running = running_of(person)
    if running is not None:
        if running.task_id == task.pk:
            return running
        clock_stop(person=person, at=at)
    entry = TimeEntry(
        task=task, person=person, on=_day(at), started_at=at, minutes=None, client_key=client_key, kept_at=at
    )
    row_check(entry)
    entry.save()
    _begin(task, at)
    return entry


@transaction.atomic
def clock_stop(*, person: Person, at: dt.datetime, extra_minutes: int = 0) -> list[TimeEntry]:
    """Stop a person's clock and keep its time; over midnight it is cut, a piece a day. Returns the entries kept.

    Less than half a minute is not kept. Raises Refused when no clock runs.
    """
    Person.objects.select_for_update().get(pk=person.pk)
    running = running_of(person)
    if running is None or running.started_at is None:
        raise Refused("No clock is running: start a task, or enter the hours by hand.")
    pieces = list(_pieces(running.started_at, max(at, running.started_at), extra_minutes))
    if not pieces:
        running.withdrawn, running.stopped_at, running.minutes = True, at, 1
        running.save(update_fields=["withdrawn", "stopped_at", "minutes"])
        return []
    kept = []
    for number, (start, stop, minutes) in enumerate(pieces):
        entry = running if number == 0 else TimeEntry(task=running.task, person=person, kept_at=at)
        entry.on, entry.started_at, entry.stopped_at, entry.minutes = _day(start), start, stop, minutes
        row_check(entry)
        entry.save()
        kept.append(entry)
    return kept


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
            yield begun, end, min(minutes, DAY_MINUTES)
        if last:
            return
        begun = end


@transaction.atomic
def time_enter(
    *,
    task: Task,
    person: Person,
    on: dt.date,
    minutes: int,
    at: dt.datetime,
    note: str = "",
    client_key: uuid.UUID | None = None,
) -> TimeEntry:
    """Keep hours entered by hand. The same ``client_key`` with the same content is the same entry.

    Raises Refused for no time, a day to come or long past, more than 24 h on one day, a task done before that
    day, or a key that came before with other content.
    """
    Person.objects.select_for_update().get(pk=person.pk)
    known = _known(client_key, task=task, person=person, minutes=minutes)
    if known is not None:
        return known
    task = Task.objects.select_for_update(of=("self",)).select_related("job").get(pk=task.pk)
    _check_day(on, at)
    _check_open(task)
    _check_minutes(person, on, minutes)
    entry = TimeEntry(
        task=task, person=person, on=on, minutes=minutes, note=note.strip(), client_key=client_key, kept_at=at
    )
    row_check(entry)
    entry.save()
    _begin(task, at)
    return entry


@transaction.atomic
def entry_correct(*, entry: TimeEntry, minutes: int, reason: str, by: Person, at: dt.datetime) -> TimeEntry:
    """Replace an entry by a corrected one; the old one stays readable behind it.

    Raises Refused without a reason, for an entry corrected before, somebody else's entry, or an impossible time.
    """
    entry = _to_correct(entry, by, reason)
    _check_minutes(entry.person, entry.on, minutes, without=entry.minutes or 0)
    return _replace(entry, minutes=minutes, withdrawn=False, reason=reason, by=by, at=at)


@transaction.atomic
def entry_withdraw(*, entry: TimeEntry, reason: str, by: Person, at: dt.datetime) -> TimeEntry:
    """Say that there was no such time; the entry stays readable. Raises Refused as correcting does."""
    entry = _to_correct(entry, by, reason)
    return _replace(entry, minutes=entry.minutes or 0, withdrawn=True, reason=reason, by=by, at=at)


def _to_correct(entry: TimeEntry, by: Person, reason: str) -> TimeEntry:
    entry = TimeEntry.objects.select_for_update(of=("self",)).select_related("task", "person").get(pk=entry.pk)
    if not by.is_manager and entry.person_id != by.pk:
        raise Refused(f"These are {entry.person}’s hours. Only they or the manager can correct them.")
    if entry.minutes is None:
        raise Refused("This clock still runs: stop it first, then correct the time.")
    if entry.withdrawn or TimeEntry.objects.filter(replaces=entry).exists():
        raise Refused("This entry was corrected before. Correct the newest one.")
    if not reason.strip():
        raise Refused("Say in a few words why the time is corrected.")
    return entry


def _replace(entry: TimeEntry, *, minutes: int, withdrawn: bool, reason: str, by: Person, at: dt.datetime) -> TimeEntry:
    new = TimeEntry(
        task=entry.task,
        person=entry.person,
        on=entry.on,
        started_at=entry.started_at,
        stopped_at=entry.stopped_at,
        minutes=minutes,
        note=entry.note,
        first_time=entry.first_time,
        kept_at=at,
        replaces=entry,
        correction_reason=reason.strip(),
        corrected_by=by,
        withdrawn=withdrawn,
    )
    row_check(new)
    new.save()
    return new


@transaction.atomic
def task_close(*, task: Task, by: Person, at: dt.datetime, no_hours_because: str = "") -> Task:
    """Mark a task as done. A clock that runs on it is stopped and kept.

    Raises Refused while something before it is open, a variation holds it, or no hours were logged and nobody
    says why none were needed.
    """
    task = Task.objects.select_for_update(of=("self",)).select_related("job__instrument").get(pk=task.pk)
    if task.state == Task.State.DONE:
        return task
    _check_open(task)
    before = open_before(task)
    if before:
        raise Refused(f"“{task.name}” cannot be closed: “{before[0].name}” comes before it and is not done.")
    if task.pk in held_tasks(task.job):
        raise Refused(f"“{task.name}” is held until the client has answered a variation.")
    for entry in TimeEntry.objects.filter(task=task, minutes=None, withdrawn=False).select_related("person"):
        clock_stop(person=entry.person, at=at)
    if not standing().filter(task=task).exists() and not no_hours_because.strip():
        raise Refused(f"No hours are logged on “{task.name}”. Enter them first, or say why none were needed.")
    if no_hours_because.strip():
        task.agreed = f"{task.agreed}\nNo hours logged: {no_hours_because.strip()}".strip()
    task.state, task.done_at, task.done_by = Task.State.DONE, at, by
    task.hours_left = None
    row_check(task)
    task.save(update_fields=["state", "done_at", "done_by", "agreed", "hours_left"])
    return task


@transaction.atomic
def hours_left_say(*, task: Task, hours: Decimal, by: Person) -> Task:
    """Keep how many hours a task still needs, as whoever works on it thinks now. Raises Refused below nought."""
    task = Task.objects.select_for_update().get(pk=task.pk)
    _check_open(task)
    if not 0 <= hours <= 1000:
        raise Refused("Hours still to work lie between nought and a thousand.")
    task.hours_left = hours
    row_check(task)
    task.save(update_fields=["hours_left"])
    return task


def _begin(task: Task, at: dt.datetime) -> None:
    """Mark a task as at work with its first time; a figure for what is left is spent by new hours."""
    if task.state == Task.State.TO_COME:
        task.state, task.started_at = Task.State.AT_WORK, at
        task.save(update_fields=["state", "started_at"])


def _check_open(task: Task) -> None:
    if task.state == Task.State.LEFT_OUT:
        raise Refused(f"“{task.name}” was left out of the job; no time belongs to it.")
    if task.state == Task.State.DONE:
        day = f" on {day_words_year(timezone.localtime(task.done_at).date())}" if task.done_at else ""
        raise Refused(f"“{task.name}” was closed{day}. Ask the manager if it must be opened again.")
    if task.job.state not in (Job.State.ACCEPTED, Job.State.IN_HOUSE, Job.State.READY):
        raise Refused(f"The job is {task.job.get_state_display()}; no more time is logged on it.")


def _check_day(on: dt.date, at: dt.datetime) -> None:
    today = _day(at)
    if on > today:
        raise Refused(f"{day_words_year(on)} is still to come: hours are logged when they are worked.")
    if on < today - dt.timedelta(days=OLDEST_DAYS):
        raise Refused(f"{day_words_year(on)} is more than {OLDEST_DAYS} days ago. Look at the day again.")


def _check_minutes(person: Person, on: dt.date, minutes: int, without: int = 0) -> None:
    if minutes <= 0:
        raise Refused("Write how long it took: more than nothing.")
    total = minutes_on(person, on) - without + minutes
    if total > DAY_MINUTES:
        raise Refused(
            f"That would make {minutes_words(total)} on {day_words_year(on)}, more than a day has. "
            "Look at the hours and at the day."
        )


def _known(key: uuid.UUID | None, *, task: Task, person: Person, minutes: int | None) -> TimeEntry | None:
    """Return the entry that came before under this key. Raises Refused when it said something else."""
    if key is None:
        return None
    entry = TimeEntry.objects.filter(client_key=key).first()
    if entry is None:
        return None
    same = entry.task_id == task.pk and entry.person_id == person.pk and (minutes is None or entry.minutes == minutes)
    if not same:
        raise Refused(
            "This entry was sent before with other content. Look at your day, and enter it again if it lacks."
        )
    return entry


def _day(at: dt.datetime) -> dt.date:
    return timezone.localtime(at).date()
