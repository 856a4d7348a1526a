"""The instrument in the house: booked in, worked on stage by stage, proved, sent home."""

import datetime as dt

from django.db import transaction
from django.utils import timezone

from jobs.billing.queries import money_of
from jobs.flow.learning import hours_closed
from jobs.flow.plan import plan_wanted
from jobs.hours import services as hours_services
from jobs.operations.models import Stage
from jobs.updates import services as updates_services
from jobs.updates.models import Update
from jobs.verification import services as verification_services
from jobs.verification.models import Proof
from jobs.worklist import services as worklist_services
from jobs.worklist.models import Job, Task
from jobs.worklist.queries import stages_of
from workshop.money.words import money
from workshop.people.models import Person
from workshop.web.errors import Refused


@transaction.atomic
def job_booked_in(job: Job, by: Person, on: dt.date, at: dt.datetime) -> Job:
    """Note that an instrument has arrived, then draft the message about it. Raises Refused as booking in does."""
    booked = worklist_services.job_book_in(job=job, by=by, on=on)
    updates_services.update_draft(
        event=Update.Event.BOOKED_IN,
        event_key=f"booked_in:{job.pk}",
        instrument=job.instrument,
        job=booked,
        happened_at=at,
        facts={"on": on},
        written_from="the booking-in",
    )
    plan_wanted(by=by, at=at, why=f"no. {job.instrument.number} has arrived")
    return booked


@transaction.atomic
def task_closed(
    task: Task, by: Person, at: dt.datetime, no_hours_because: str = "", *, first_time: bool = False
) -> Task:
    """Close a task and let its hours teach; when it ends its stage, draft the message. Raises Refused."""
    closed = hours_services.task_close(
        task=task, by=by, at=at, no_hours_because=no_hours_because, first_time=first_time
    )
    hours_closed([closed], at)
    stages = stages_of(closed.job)
    place = next(number for number, one in enumerate(stages) if one.stage == closed.stage)
    if stages[place].is_done and closed.stage not in (Stage.ASSESSING, Stage.FINISH):
        opened = closed.stage == Stage.OPENING
        following = next((one.words for one in stages[place + 1 :] if not one.is_done), None)
        updates_services.update_draft(
            event=Update.Event.OPENED_UP if opened else Update.Event.STAGE_DONE,
            event_key=f"stage_done:{closed.job_id}:{closed.stage}",
            instrument=closed.job.instrument,
            job=closed.job,
            happened_at=at,
            facts={"stage": stages[place].words, "next_stage": following},
            written_from=f"“{closed.name}”, closed by {by}",
        )
    return closed


@transaction.atomic
def proof_signed(job: Job, by: Person, at: dt.datetime, words: str) -> Proof:
    """Sign the proof of a job: it is ready then, and the message about it is drafted. Raises Refused."""
    proof = verification_services.proof_sign(job=job, by=by, at=at, words=words)
    worklist_services.job_ready(job=job, on=timezone.localdate(at))
    updates_services.update_draft(
        event=Update.Event.READY,
        event_key=f"ready:{job.pk}",
        instrument=job.instrument,
        job=job,
        happened_at=at,
        facts={"met": proof.notes_met, "read": proof.notes_read},
        written_from=f"the proof, signed by {by}",
    )
    return proof


@transaction.atomic
def job_returned(job: Job, by: Person, on: dt.date, at: dt.datetime, in_spite_of_balance: str = "") -> Job:
    """Note that an instrument went home. Raises Refused while its balance is open and nobody says why it may go."""
    still = money_of(job).balance_open
    if still > 0 and not in_spite_of_balance.strip():
        raise Refused(
            f"A balance of {money(still)} is open. Keep the payment first, or say why it may go home all the same."
        )
    returned = worklist_services.job_return(job=job, by=by, on=on)
    if still > 0:
        returned.note = (
            f"{returned.note}\nWent home with {money(still)} open: {in_spite_of_balance.strip()} ({by})".strip()
        )
        returned.save(update_fields=["note"])
    plan_wanted(by=by, at=at, why=f"no. {job.instrument.number} went home")
    return returned
