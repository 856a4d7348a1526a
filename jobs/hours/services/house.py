"""Time of the house kept and taken back: what no task stands for and no client pays."""

import datetime as dt
import uuid

from django.db import transaction

from jobs.assessment.models import Assessment
from jobs.hours.models import HouseTime
from jobs.hours.services.checks import check_day, check_minutes
from jobs.worklist.models import Job
from workshop.calendar.words import day_words_year
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def house_time_keep(
    *,
    about: Assessment | Job,
    person: Person,
    on: dt.date,
    minutes: int,
    by: Person,
    at: dt.datetime,
    note: str = "",
    client_key: uuid.UUID | None = None,
) -> HouseTime:
    """Keep time spent on a first assessment, or on a visit under guarantee to a job that went home.

    The same ``client_key`` is the same entry. Raises Refused for an impossible time or day, for somebody else's hours
    unless the manager writes them, for an assessment inside a job (its tasks take the time), and for a visit before
    the return.
    """
    Person.objects.select_for_update().get(pk=person.pk)
    known = HouseTime.objects.filter(client_key=client_key).first() if client_key else None
    if known is not None:
        return known
    if person != by and not by.is_manager:
        raise Refused("Write down your own hours; the manager can write those of others.")
    check_day(on, at)
    _check_about(about, on)
    check_minutes(person, on, minutes, at)
    row = HouseTime(
        assessment=about if isinstance(about, Assessment) else None,
        job=about if isinstance(about, Job) else None,
        person=person,
        on=on,
        minutes=minutes,
        note=note.strip(),
        client_key=client_key,
        kept_at=at,
        kept_by=by,
    )
    row_check(row)
    row.save()
    return row


@transaction.atomic
def house_time_take_back(*, row: HouseTime, reason: str, by: Person, at: dt.datetime) -> HouseTime:
    """Say that there was no such time; the entry stays readable. Raises Refused without a reason, or a second time."""
    row = HouseTime.objects.select_for_update().get(pk=row.pk)
    if not by.is_manager and row.person_id != by.pk:
        raise Refused("These are somebody else’s hours. Only they or the manager take them back.")
    if row.taken_back_at is not None:
        raise Refused("This time was taken back before.")
    if not reason.strip():
        raise Refused("Say in a few words why the time is taken back.")
    row.taken_back_at, row.taken_back_by, row.taken_back_because = at, by, reason.strip()
    row_check(row)
    row.save(update_fields=["taken_back_at", "taken_back_by", "taken_back_because"])
    return row


def _check_about(about: Assessment | Job, on: dt.date) -> None:
    if isinstance(about, Assessment):
        if about.purpose != Assessment.Purpose.FIRST:
            raise Refused("This assessment is part of a job: log its hours on the task that asks for it.")
        return
    if about.state != Job.State.RETURNED or about.returned_on is None:
        raise Refused("The instrument has not gone home yet: log the hours on the task they belong to.")
    if on < about.returned_on:
        raise Refused(f"It went home on {day_words_year(about.returned_on)}: a visit under guarantee comes after.")
