"""Hours entered by hand, and corrections that leave what was written readable."""

import datetime as dt
import uuid

from django.db import transaction

from jobs.hours.models import TimeEntry
from jobs.hours.services.checks import (
    begin,
    check_day,
    check_minutes,
    check_takes_time,
    day_of,
    entry_known,
    spend,
    task_held,
)
from jobs.worklist.models import Task
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


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

    Hours forgotten when a task was closed are taken for a while. Raises Refused for no time, a day to come or long
    past, more than 24 h on one day, a task closed long ago or before that day, or a key that came before with other
    content.
    """
    Person.objects.select_for_update().get(pk=person.pk)
    known = entry_known(client_key, person, task_id=task.pk, minutes=minutes, on=on, note=note.strip())
    if known is not None:
        return known
    task = task_held(task)
    check_day(on, at)
    check_takes_time(task, on, day_of(at))
    check_minutes(person, on, minutes, at)
    entry = TimeEntry(
        task=task, person=person, on=on, minutes=minutes, note=note.strip(), client_key=client_key, kept_at=at
    )
    row_check(entry)
    entry.save()
    begin(task, at)
    spend(task, minutes)
    return entry


@transaction.atomic
def entry_correct(
    *, entry: TimeEntry, minutes: int, reason: str, by: Person, at: dt.datetime, on: dt.date | None = None
) -> TimeEntry:
    """Replace an entry by a corrected one, on another day if ``on`` says so; the old one stays readable behind it.

    Raises Refused without a reason, for an entry corrected before, somebody else's entry, or an impossible time.
    """
    Person.objects.select_for_update().get(pk=entry.person_id)
    old = _to_correct(entry, by, reason)
    day = old.on if on is None else on
    if day != old.on:
        check_day(day, at)
    check_minutes(old.person, day, minutes, at, without=(old.minutes or 0) if day == old.on else 0)
    new = _replace(old, on=day, minutes=minutes, withdrawn=False, reason=reason, by=by, at=at)
    spend(task_held(old.task), minutes - (old.minutes or 0))
    return new


@transaction.atomic
def entry_withdraw(*, entry: TimeEntry, reason: str, by: Person, at: dt.datetime) -> TimeEntry:
    """Say that there was no such time; the entry stays readable. Raises Refused as correcting does."""
    Person.objects.select_for_update().get(pk=entry.person_id)
    old = _to_correct(entry, by, reason)
    new = _replace(old, on=old.on, minutes=old.minutes or 0, withdrawn=True, reason=reason, by=by, at=at)
    spend(task_held(old.task), -(old.minutes or 0))
    return new


def _to_correct(entry: TimeEntry, by: Person, reason: str) -> TimeEntry:
    entry = TimeEntry.objects.select_for_update(of=("self",)).select_related("task", "person").get(pk=entry.pk)
    if not by.is_manager and entry.person_id != by.pk:
        raise Refused(f"These are {entry.person}’s hours. Only they or the manager can correct them.")
    if entry.withdrawn or TimeEntry.objects.filter(replaces=entry).exists():
        raise Refused("This entry was corrected before. Correct the newest one.")
    if entry.minutes is None:
        raise Refused("This clock still runs: stop it first, then correct the time.")
    if not reason.strip():
        raise Refused("Say in a few words why the time is corrected.")
    return entry


def _replace(
    entry: TimeEntry, *, on: dt.date, minutes: int, withdrawn: bool, reason: str, by: Person, at: dt.datetime
) -> TimeEntry:
    same_day = on == entry.on
    new = TimeEntry(
        task=entry.task,
        person=entry.person,
        on=on,
        started_at=entry.started_at if same_day else None,
        stopped_at=entry.stopped_at if same_day else None,
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
