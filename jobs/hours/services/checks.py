"""What every way of keeping time checks: the task, the day, the length of the day, what came before."""

import datetime as dt
import uuid
from collections.abc import Sequence
from decimal import Decimal

from django.utils import timezone

from jobs.hours.models import TimeEntry
from jobs.hours.queries import DAY_MINUTES, clock_minutes_on, minutes_on
from jobs.worklist.models import Job, Task
from workshop.calendar.words import day_words_year, minutes_words
from workshop.people.models import Person
from workshop.web.errors import Refused

OLDEST_DAYS = 60  # older hours are looked at by the manager first; our judgement
LONGEST_CLOCK = dt.timedelta(hours=14)  # a clock that runs longer was forgotten; our judgement
CLOSED_DAYS = 14  # hours forgotten when a task was closed are taken so long; our judgement


def day_of(at: dt.datetime) -> dt.date:
    """Return the day of a moment on the shop's wall."""
    return timezone.localtime(at).date()


def task_held(task: Task) -> Task:
    """Return a task with its row held until the transaction ends."""
    return Task.objects.select_for_update(of=("self",)).select_related("job__instrument").get(pk=task.pk)


def check_open(task: Task) -> None:
    """Raise Refused for a task that is left out or closed, or whose job is over."""
    _check_in_job(task)
    if task.state == Task.State.DONE:
        raise Refused(f"“{task.name}” was closed{_closed_on(task)}. Ask the manager if it must be opened again.")


def check_takes_time(task: Task, on: dt.date, today: dt.date) -> None:
    """Raise Refused as ``check_open`` does, but take hours forgotten when a task was closed not long ago."""
    _check_in_job(task)
    if task.state != Task.State.DONE:
        return
    closed = day_of(task.done_at) if task.done_at else None
    if closed is None or (today - closed).days > CLOSED_DAYS:
        raise Refused(
            f"“{task.name}” was closed{_closed_on(task)}, more than {CLOSED_DAYS} days ago. "
            "Show the hours to the manager."
        )
    if on > closed:
        raise Refused(f"“{task.name}” was closed{_closed_on(task)}: hours after that day belong to another task.")


def _check_in_job(task: Task) -> None:
    if task.state == Task.State.LEFT_OUT:
        raise Refused(f"“{task.name}” was left out of the job; no time belongs to it.")
    if task.job.state not in (Job.State.ACCEPTED, Job.State.IN_HOUSE, Job.State.READY):
        raise Refused(f"The job is {task.job.get_state_display()}; no more time is logged on it.")


def _closed_on(task: Task) -> str:
    return f" on {day_words_year(day_of(task.done_at))}" if task.done_at else ""


def check_day(on: dt.date, at: dt.datetime) -> None:
    """Raise Refused for a day that is still to come or long past."""
    today = day_of(at)
    if on > today:
        raise Refused(f"{day_words_year(on)} is still to come: hours are logged when they are worked.")
    if on < today - dt.timedelta(days=OLDEST_DAYS):
        raise Refused(f"{day_words_year(on)} is more than {OLDEST_DAYS} days ago. Look at the day again.")


def check_minutes(person: Person, on: dt.date, minutes: int, at: dt.datetime, without: int = 0) -> None:
    """Raise Refused for no time, or when a person's day would be longer than a day is.

    A clock that runs counts as far as it has come; one that was forgotten does not, since nobody knows its time yet.
    ``without`` are minutes of that day which the new ones replace.
    """
    if minutes <= 0:
        raise Refused("Write how long it took: more than nothing.")
    kept = minutes_on(person, on) - without
    clock = clock_minutes_on(person, on, at, longest=LONGEST_CLOCK)
    if kept + clock + minutes <= DAY_MINUTES:
        return
    there = [f"{minutes_words(kept)} kept"] if kept else []
    there += [f"{minutes_words(clock)} on the clock that runs"] if clock else []
    already = f" Besides these there are {' and '.join(there)}." if there else ""
    raise Refused(
        f"That would make {minutes_words(kept + clock + minutes)} on {day_words_year(on)}, more than a day has."
        f"{already} {_room_words(DAY_MINUTES - kept - clock)}"
    )


def _room_words(room: int) -> str:
    """Return what to enter instead, from the minutes a day still has."""
    if room <= 0:
        return "Look at the day: it is full, so correct what is kept on it first."
    return f"Look at the day, or enter {minutes_words(room)} at most."


def check_clock(person: Person, pieces: Sequence[tuple[dt.date, int]]) -> None:
    """Raise Refused when the time of a clock, (day, minutes) in order, makes a day longer than a day is.

    The sentence says how long the clock may really have been.
    """
    before = 0
    for on, minutes in pieces:
        kept = minutes_on(person, on)
        if kept + minutes > DAY_MINUTES:
            most = before + max(0, DAY_MINUTES - kept)
            raise Refused(
                f"This clock’s {minutes_words(minutes)} and the {minutes_words(kept)} kept make "
                f"{minutes_words(kept + minutes)} on {day_words_year(on)}, more than a day has. The clock runs on. "
                f"Say on the bench how long it really was, {minutes_words(most)} at most, or correct what is kept on "
                "that day."
            )
        before += minutes


def entry_known(key: uuid.UUID | None, person: Person, **said: object) -> TimeEntry | None:
    """Return the entry that came before under this key. Raises Refused when it said something else."""
    entry = TimeEntry.objects.filter(client_key=key).first() if key is not None else None
    if entry is None:
        return None
    if entry.person_id != person.pk or any(getattr(entry, name) != value for name, value in said.items()):
        raise Refused(
            "This entry was sent before with other content. Look at your day, and enter it again if it lacks."
        )
    return entry


def begin(task: Task, at: dt.datetime) -> None:
    """Mark a task as at work with its first time."""
    if task.state == Task.State.TO_COME:
        task.state, task.started_at = Task.State.AT_WORK, at
        task.save(update_fields=["state", "started_at"])


def spend(task: Task, minutes: int) -> None:
    """Take minutes off what was said to be left of a task, never below nought; fewer than none gives them back."""
    if task.hours_left is not None:
        left = task.hours_left - Decimal(minutes) / 60
        task.hours_left = max(Decimal(0), left).quantize(Decimal("0.01"))
        task.save(update_fields=["hours_left"])
