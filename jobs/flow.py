"""What follows what along the line of a job. Read this first.

Each function is one thing that happened, with its consequences in order, by plain calls. Views call these;
services never do. Background work is started when the transaction has ended.
"""

import datetime as dt
from decimal import Decimal
from typing import Any

import structlog
from django.conf import settings
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from jobs import tasks
from jobs.assessment import queries as assessment_queries
from jobs.assessment import services as assessment_services
from jobs.assessment.models import Assessment
from jobs.billing import services as billing_services
from jobs.billing.models import Invoice
from jobs.billing.queries import asks_of, money_of
from jobs.hours import queries as hours_queries
from jobs.hours import services as hours_services
from jobs.intake import services as intake_services
from jobs.intake.models import Instrument
from jobs.operations.models import Stage
from jobs.portal import services as portal_services
from jobs.quoting import services as quoting_services
from jobs.quoting.models import Answer, Quote, Scope, ScopeOperation
from jobs.scheduling import queries as scheduling_queries
from jobs.scheduling import services as scheduling_services
from jobs.scheduling import tryout, wishes
from jobs.scheduling.models import Plan, PlanWish, Promise
from jobs.supplies import queries as supplies_queries
from jobs.supplies import services as supplies_services
from jobs.updates import services as updates_services
from jobs.updates.models import Update
from jobs.verification import services as verification_services
from jobs.verification.models import Proof
from jobs.worklist import services as worklist_services
from jobs.worklist.models import Job, Task, Variation
from jobs.worklist.queries import stages_of
from parts.orders import services as orders_services
from parts.orders.models import OrderLine, PurchaseOrder, Receipt
from workshop.calendar.words import day_words_year
from workshop.money.words import money
from workshop.people.models import Person
from workshop.web.errors import Refused

log = structlog.get_logger(__name__)


@transaction.atomic
def instrument_changed(instrument: Instrument, *, by: Person, **fields: Any) -> Instrument:
    """Change what is known of an instrument; keys that were read stay inside its compass. Raises Refused."""
    keys = assessment_queries.keys_read(instrument)
    return intake_services.instrument_write(instrument=instrument, by=by, keys_read=keys, **fields)


@transaction.atomic
def assessment_finished(assessment: Assessment, by: Person, at: dt.datetime) -> Assessment:
    """Work out the findings of an assessment, then close it. Raises Refused as the two services do."""
    assessment_services.findings_work_out(assessment=assessment)
    return assessment_services.assessment_finish(assessment=assessment, by=by, at=at)


def quote_sent(quote: Quote, by: Person, at: dt.datetime) -> Quote:
    """Freeze a quote with a date for each way, then draft the letter about it. Raises Refused as sending does.

    The dates are tried out in the plan first, outside the transaction: that takes seconds and changes nothing.
    """
    ready = ready_dates(quote, at)
    with transaction.atomic():
        sent = quoting_services.quote_send(quote=quote, by=by, at=at, ready=ready)
        updates_services.update_draft(
            event=Update.Event.QUOTE_SENT,
            event_key=f"quote_sent:{sent.pk}",
            instrument=sent.instrument,
            job=None,
            happened_at=at,
            facts={"ways": sent.scopes.count(), "valid_until": sent.valid_until},
            written_from=f"quote {sent.number}, frozen",
        )
    return sent


def ready_dates(quote: Quote, at: dt.datetime) -> dict[int, tuple[dt.date, Decimal]]:
    """Return, for each way of a quote, the day it would be ready if accepted now, and the chance of keeping it."""
    rows = ScopeOperation.objects.filter(scope__quote=quote).exclude(because=ScopeOperation.Because.REFUSED)
    work: dict[int, dict[str, Decimal]] = {}
    for scope, code, quantity in rows.values_list("scope", "operation__code", "quantity"):
        work.setdefault(scope, {})[code] = quantity
    tries = [tryout.TryOut(str(scope), quote.instrument, operations) for scope, operations in work.items()]
    found = tryout.what_if_ready(
        tries, at=at, logged=hours_queries.minutes_of_open_tasks(), working=hours_queries.people_at_work()
    )
    return {int(name): (day, tryout.READY_CHANCE) for name, day in found.items()}


@transaction.atomic
def quote_answered(
    quote: Quote,
    *,
    scope: Scope | None,
    name: str,
    words: str,
    at: dt.datetime,
    via: str,
    content_hash: str,
) -> Answer:
    """Keep the answer to a quote; accepted, it becomes a job with needs, a first promise and a deposit to pay.

    Raises Refused as answering does; then nothing has happened.
    """
    answer = quoting_services.quote_answer(
        quote=quote, scope=scope, name=name, words=words, at=at, via=via, content_hash=content_hash
    )
    if answer.scope is None:
        return answer
    by = quote.sent_by or quote.created_by
    job = worklist_services.job_open(quote=quote, by=by, at=at)
    supplies_services.needs_work_out(job=job)
    verification_services.targets_write(job=job)
    if answer.scope.ready_on is not None and answer.scope.ready_on >= timezone.localdate(at):
        scheduling_services.promise_give(
            job=job,
            date=answer.scope.ready_on,
            chance=answer.scope.ready_chance,
            by=by,
            at=at,
            reason=f"as in quote {quote.number}",
        )
    deposit = _deposit(job, by, at)
    updates_services.update_draft(
        event=Update.Event.ACCEPTED,
        event_key=f"accepted:{job.pk}",
        instrument=job.instrument,
        job=job,
        happened_at=at,
        facts={"scope": answer.scope.title, "deposit": deposit.total if deposit else None},
        written_from=f"the answer of {answer.name}",
    )
    plan_wanted(by=by, at=at, why=f"quote {quote.number} was accepted")
    return answer


def _deposit(job: Job, by: Person, at: dt.datetime) -> Invoice | None:
    if not any(ask.point == "deposit" for ask in asks_of(job)):
        return None
    return billing_services.invoice_issue(job=job, point="deposit", by=by, on=timezone.localdate(at))


@transaction.atomic
def client_wants_to_talk(quote: Quote, *, words: str, at: dt.datetime) -> None:
    """Note that a client would like to talk before deciding; it stands on Today until an answer is kept."""
    quoting_services.quote_talk(quote=quote, words=words, at=at)


@transaction.atomic
def variation_sent(variation: Variation, by: Person, at: dt.datetime, ready_on: dt.date | None = None) -> Variation:
    """Freeze a priced variation, then draft the letter about it. Raises Refused as sending does."""
    sent = worklist_services.variation_send(variation=variation, by=by, at=at, ready_on=ready_on)
    updates_services.update_draft(
        event=Update.Event.VARIATION,
        event_key=f"variation:{sent.pk}",
        instrument=sent.job.instrument,
        job=sent.job,
        happened_at=at,
        facts={"found": sent.found, "total": sent.total, "ready_on": sent.ready_on},
        written_from=f"variation {sent.number}, priced",
    )
    return sent


@transaction.atomic
def variation_answered(
    variation: Variation, *, agree: bool, name: str, at: dt.datetime, content_hash: str
) -> Variation:
    """Keep the answer to a variation; agreed, its tasks and needs join the job, and the plan is worked out anew."""
    answered = worklist_services.variation_answer(
        variation=variation, agree=agree, name=name, at=at, content_hash=content_hash
    )
    supplies_services.needs_work_out(job=answered.job)
    verification_services.targets_write(job=answered.job)
    plan_wanted(by=None, at=at, why=f"variation {answered.number} was answered")
    return answered


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
def task_closed(task: Task, by: Person, at: dt.datetime, no_hours_because: str = "") -> Task:
    """Close a task; when it was the last of its stage, draft the message about the stage. Raises Refused."""
    closed = hours_services.task_close(task=task, by=by, at=at, no_hours_because=no_hours_because)
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


def plan_wanted(by: Person | None, at: dt.datetime, why: str) -> PlanWish:
    """Ask for a new plan of the house; it is worked out in the background when this transaction has ended."""
    wish = wishes.wish_ask(by=by, at=at, why=why)
    transaction.on_commit(lambda: _nudge(wish.pk))
    return wish


def _nudge(wish: int) -> None:
    """Tell a worker of a wish. A broker that is away only delays it: the worker's clock looks again."""
    try:
        tasks.plan_make.apply_async(args=[wish], retry=False)
    except Exception as error:  # whatever ails the broker, the row is written and the page must not fail
        log.warning("plan.nudge_lost", error=str(error))


def plan_worked_out(wish: PlanWish, at: dt.datetime) -> Plan | None:
    """Work out the plan a wish asks for, put it in force, and draft a message for each promise that moved."""
    if not wishes.wish_take(wish=wish, at=at):
        return None
    try:
        plan = scheduling_services.plan_make(
            by=wish.asked_by,
            at=at,
            why=wish.why,
            logged=hours_queries.minutes_of_open_tasks(),
            working=hours_queries.people_at_work(),
        )
    except Refused as error:
        wishes.wish_done(wish=wish, at=timezone.now(), plan=None, trouble=str(error))
        return None
    except Exception:
        # Left open, the wish would stand on the page as being worked on, and be tried again for ever.
        words = "Something went wrong while it was worked out. The log of the worker says what."
        wishes.wish_done(wish=wish, at=timezone.now(), plan=None, trouble=words)
        raise
    wishes.wish_done(wish=wish, at=timezone.now(), plan=plan)
    scheduling_services.plans_thin(at=at)
    return plan


@transaction.atomic
def date_moved(job: Job, date: dt.date, by: Person, at: dt.datetime, reason: str, chance: Decimal | None) -> Promise:
    """Give a client a new date, then draft the message that says so. Raises Refused as promising does."""
    old = scheduling_queries.promise_of(job)
    promise = scheduling_services.promise_give(job=job, date=date, chance=chance, by=by, at=at, reason=reason)
    if old is not None and old.date != date:
        updates_services.update_draft(
            event=Update.Event.DATE_MOVED,
            event_key=f"date_moved:{promise.pk}",
            instrument=job.instrument,
            job=job,
            happened_at=at,
            facts={"old": old.date, "new": date, "why": reason},
            written_from=f"the promise of {day_words_year(date)}, given by {by}",
        )
    return promise


def minutes_logged(job: Job) -> dict[int, int]:
    """Return task -> minutes logged, for steps that come before hours."""
    return hours_queries.hours_of(job)


def parts_on_card(job: Job, stage: str = "") -> list[tuple[str, str, str]]:
    """Return the parts of a job, or of one stage, for its card: part, measure, state; for the step before supplies."""
    needs = [need for need in supplies_queries.needs_of(job) if stage in ("", need.task.stage)]
    return [(str(need.part), need.measure or "–", str(need.get_state_display())) for need in needs]


@transaction.atomic
def update_released(update: Update, by: Person, at: dt.datetime) -> Update:
    """Put a message into the outbox with a fresh private link in it. Raises Refused as releasing does."""
    token = portal_services.link_make(client=update.client, instrument=update.instrument, at=at)
    link = settings.SITE_URL + reverse("portal-enter", args=[token])
    return updates_services.update_release(update=update, by=by, at=at, link_url=link)


@transaction.atomic
def invoice_issued(
    job: Job, point: str, by: Person, on: dt.date, at: dt.datetime, *, all_the_same: bool = False
) -> Invoice:
    """Issue the invoice of one point of a job, then draft the message about it. Raises Refused as issuing does."""
    invoice = billing_services.invoice_issue(job=job, point=point, by=by, on=on, all_the_same=all_the_same)
    updates_services.update_draft(
        event=Update.Event.INVOICE,
        event_key=f"invoice:{invoice.pk}",
        instrument=job.instrument,
        job=job,
        happened_at=at,
        facts={
            "number": invoice.number,
            "total": invoice.total,
            "about": invoice.about,
            "due_on": invoice.due_on,
        },
        written_from=f"invoice {invoice.number}",
    )
    return invoice


@transaction.atomic
def order_sent(order: PurchaseOrder, by: Person, at: dt.datetime) -> PurchaseOrder:
    """Send an order to its supplier, then mark what jobs need of it as ordered. Raises Refused as sending does."""
    order = orders_services.order_send(order=order, by=by, at=at)
    supplies_services.needs_ordered(order=order)
    plan_wanted(by=by, at=at, why=f"order {order.number} was sent")
    return order


@transaction.atomic
def order_called_off(order: PurchaseOrder, reason: str, by: Person, at: dt.datetime) -> PurchaseOrder:
    """Call off what has not arrived of an order, then open the needs again that waited for it."""
    order = orders_services.order_cancel(order=order, reason=reason, by=by, at=at)
    supplies_services.needs_called_off(order=order, by=by, at=at)
    plan_wanted(by=by, at=at, why=f"order {order.number} was called off")
    return order


@transaction.atomic
def goods_received(
    line: OrderLine, quantity: Decimal, on: dt.date, by: Person, at: dt.datetime, note: str = ""
) -> Receipt:
    """Keep what arrived, hand it to jobs that wait, shelve the rest; draft word to who has all now. Raises Refused."""
    receipt = orders_services.receipt_keep(line=line, quantity=quantity, on=on, by=by, at=at, note=note, shelve=False)
    came = supplies_services.receipt_share_out(receipt=receipt, by=by, at=at)
    for job in supplies_queries.jobs_now_complete(came):
        updates_services.update_draft(
            event=Update.Event.PARTS_HERE,
            event_key=f"parts_here:{job.pk}",
            instrument=job.instrument,
            job=job,
            happened_at=at,
            facts={},
            written_from=f"what arrived on {day_words_year(on)}, unpacked by {by}",
        )
    plan_wanted(by=by, at=at, why=f"{line.name} arrived"[:200])
    return receipt


def work_begins() -> dict[int, dt.date]:
    """Return task id -> the day its first stint begins in the plan in force, for steps that come before the plan."""
    return scheduling_queries.planned_starts()
