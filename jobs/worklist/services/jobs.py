"""A job from acceptance to return."""

import datetime as dt

from django.db import transaction
from django.utils import timezone

from jobs.intake.models import Instrument
from jobs.operations.models import Stage
from jobs.quoting.models import Answer, Quote, ScopeOperation
from jobs.worklist.models import Job, Task
from jobs.worklist.queries import open_jobs
from jobs.worklist.services.tasks import Wanted, tasks_make
from workshop.calendar.words import day_words_year
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def job_open(*, quote: Quote, by: Person | None, at: dt.datetime) -> Job:
    """Make the job of an accepted quote, with its tasks in order. Called again it returns the same job.

    What the assessment already covered is done when the job begins. Raises Refused if nothing was
    accepted, and while another job of the instrument is open.
    """
    quote = Quote.objects.select_for_update(of=("self",)).select_related("instrument", "assessment").get(pk=quote.pk)
    existing = Job.objects.filter(quote=quote).first()
    if existing:
        return existing
    answer = Answer.objects.select_related("scope").filter(quote=quote, kind=Answer.Kind.ACCEPTED).first()
    if answer is None or answer.scope is None:
        raise Refused(f"Quote {quote.number} has not been accepted: there is no job to open yet.")
    check_no_open_job(quote.instrument)
    job = Job(
        instrument=quote.instrument,
        quote=quote,
        scope=answer.scope,
        accepted_on=timezone.localdate(at),
        agreed_total=answer.scope.total_likely or 0,
    )
    row_check(job)
    job.save()
    rows = answer.scope.operations.exclude(because=ScopeOperation.Because.REFUSED).select_related("operation__skill")
    tasks_make(job=job, wanted=[Wanted(row.operation, row.quantity, row.words) for row in rows])
    if quote.assessment is not None and quote.assessment.finished_at is not None:
        job.tasks.filter(stage=Stage.ASSESSING).update(
            state=Task.State.DONE, done_at=quote.assessment.finished_at, done_by=quote.assessment.by
        )
    return job


def check_no_open_job(instrument: Instrument) -> None:
    """Raise Refused while a job of an instrument is open: one piano, one job at a time."""
    job = open_jobs().filter(instrument=instrument).first()
    if job is not None:
        raise Refused(
            f"No. {instrument.number} is in our hands already: its job is {job.get_state_display()}. "
            "More work on it now is a variation of that job; a new quote can follow when it has gone home."
        )


@transaction.atomic
def job_book_in(*, job: Job, by: Person, on: dt.date) -> Job:
    """Note that the instrument has arrived. Raises Refused when it already has, or has gone again."""
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=job.pk)
    if job.booked_in_on is not None:
        raise Refused(
            f"{job.instrument} was booked in on {day_words_year(job.booked_in_on)}; it cannot arrive a second time."
        )
    if job.state != Job.State.ACCEPTED:
        raise Refused(f"The job of {job.instrument} is {job.get_state_display()}; it cannot be booked in.")
    job.state = Job.State.IN_HOUSE
    job.booked_in_on = on
    row_check(job)
    job.save(update_fields=["state", "booked_in_on"])
    return job


@transaction.atomic
def job_ready(*, job: Job, on: dt.date) -> Job:
    """Note that all work in the house is done and the instrument waits for its owner.

    Raises Refused when it is not in the house.
    """
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=job.pk)
    if job.state == Job.State.READY:
        return job
    if job.state != Job.State.IN_HOUSE:
        raise Refused(f"{job.instrument} is not in the house, so it cannot be ready: book it in first.")
    job.state = Job.State.READY
    job.finished_on = on
    job.save(update_fields=["state", "finished_on"])
    return job


@transaction.atomic
def job_return(*, job: Job, by: Person, on: dt.date) -> Job:
    """Note that the instrument has gone home. Raises Refused unless it was ready, or for a day before it came."""
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=job.pk)
    if job.state != Job.State.READY:
        raise Refused(f"{job.instrument} is not ready: sign its proof first, then it can go home.")
    if job.booked_in_on is not None and on < job.booked_in_on:
        raise Refused(
            f"It arrived on {day_words_year(job.booked_in_on)}: it cannot have gone home before. Mend the day."
        )
    job.state = Job.State.RETURNED
    job.returned_on = on
    job.save(update_fields=["state", "returned_on"])
    return job


@transaction.atomic
def job_stop(*, job: Job, by: Person, reason: str) -> Job:
    """Stop a job for good, with a reason that stays readable. Raises Refused without one."""
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=job.pk)
    if not reason.strip():
        raise Refused("Say in a sentence why the job is stopped.")
    if job.state in (Job.State.RETURNED, Job.State.STOPPED):
        raise Refused(f"{job.instrument} is {job.get_state_display()} already.")
    job.state = Job.State.STOPPED
    job.note = f"{job.note}\nStopped by {by}: {reason.strip()}".strip()
    job.save(update_fields=["state", "note"])
    return job


@transaction.atomic
def task_agreed_write(*, task: Task, agreed: str, by: Person) -> Task:
    """Write what exactly was agreed for one task. Raises Refused once the task is done."""
    task = Task.objects.select_for_update().get(pk=task.pk)
    if task.state == Task.State.DONE:
        raise Refused(f"“{task.name}” is done; what was agreed for it stays as it was.")
    task.agreed = agreed.strip()
    row_check(task)
    task.save(update_fields=["agreed"])
    return task
