"""Dates given to clients."""

import datetime as dt
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from jobs.scheduling.models import Promise
from jobs.worklist.models import Job
from workshop.calendar.words import day_words_year
from workshop.people.models import Person
from workshop.web.errors import Refused


@transaction.atomic
def promise_give(
    *,
    job: Job,
    date: dt.date,
    chance: Decimal | None,
    by: Person | None,
    at: dt.datetime,
    reason: str,
) -> Promise:
    """Give a client a date. Earlier promises stay readable.

    Raises Refused for a date in the past, for a job that is over, or for a date that moves without saying why.
    """
    if date < timezone.localdate(at):
        raise Refused(f"{day_words_year(date)} has passed: promise a day that is still to come.")
    if job.state in (Job.State.RETURNED, Job.State.STOPPED):
        raise Refused(f"{job.instrument} is {job.get_state_display()}: there is no date left to give.")
    standing = job.promises.first()
    if standing is not None and standing.date != date and not reason.strip():
        raise Refused(f"Say why the date moves from {day_words_year(standing.date)}: the client will ask.")
    promise = Promise(job=job, date=date, chance=chance, given_at=at, given_by=by, reason=reason.strip())
    promise.full_clean()
    promise.save()
    return promise
