"""What client and shop agree: quotes and variations, sent and answered, and the dates on them."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from jobs.billing import services as billing_services
from jobs.billing.models import Invoice
from jobs.billing.queries import asks_of
from jobs.flow.handed import work_in_hand
from jobs.flow.plan import plan_wanted
from jobs.quoting import services as quoting_services
from jobs.quoting.models import Answer, Quote, Scope, ScopeOperation
from jobs.scheduling import services as scheduling_services
from jobs.scheduling import tryout
from jobs.supplies import services as supplies_services
from jobs.updates import services as updates_services
from jobs.updates.models import Update
from jobs.verification import services as verification_services
from jobs.worklist import services as worklist_services
from jobs.worklist.models import Job, Variation
from workshop.people.models import Person

ANSWER_TIME = dt.timedelta(days=14)  # a letter is read, thought over and answered within two weeks; our judgement


def quote_sent(quote: Quote, by: Person, at: dt.datetime) -> Quote:
    """Freeze a quote with a date for each way, then draft the letter about it. Raises Refused as sending does.

    The dates are tried out in the plan first, outside the transaction: that takes seconds and changes nothing.
    Also refused while a job of the instrument is open, which the client's answer could not join.
    """
    worklist_services.check_no_open_job(quote.instrument)
    ready, answer_by = letter_dates(quote, at)
    with transaction.atomic():
        sent = quoting_services.quote_send(quote=quote, by=by, at=at, ready=ready, answer_by=answer_by)
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


def letter_dates(quote: Quote, at: dt.datetime) -> tuple[dict[int, tuple[dt.date, Decimal]], dict[int, dt.date]]:
    """Return what a quote sent now may say of each way: the day it is ready with its chance, and an answer by when.

    The day holds for an answer within two weeks, since a letter has to be read and thought over; no other work in the
    house moves for it. Up to the end of the quote every seventh day is tried: the last for which the day still holds
    is the day to answer by. A way that cannot be planned is left out.
    """
    today, last = timezone.localdate(at), quoting_services.valid_until(at)
    usual = min(today + ANSWER_TIME, last)
    weekly = (today + dt.timedelta(days=number) for number in range(0, (last - today).days, 7))
    answers = sorted({*weekly, usual, last})
    found = quote_dates(quote, at=at, answers=answers, calm_only=True)
    ready, by = {}, {}
    for scope, days in found.items():
        told = next(each.calm.day for each in days if each.answer == usual)
        ready[scope] = told, tryout.READY_CHANCE
        by[scope] = max(each.answer for each in days if each.calm.day <= told)
    return ready, by


def ready_dates(quote: Quote, at: dt.datetime) -> dict[int, tuple[dt.date, Decimal]]:
    """Return, for each way of a quote, the day a letter sent now may name, and the chance of keeping it."""
    return letter_dates(quote, at)[0]


def quote_dates(
    quote: Quote, *, at: dt.datetime, answers: Sequence[dt.date], calm_only: bool = False
) -> dict[int, list[tryout.WhatIf]]:
    """Return, for each way of a quote, what an answer on each of some days would lead to, for it and for other jobs.

    ``answers`` in order; ``calm_only``: only what moves nobody is tried. A way that cannot be planned is left out.
    Nothing is written.
    """
    rows = ScopeOperation.objects.filter(scope__quote=quote).exclude(because=ScopeOperation.Because.REFUSED)
    work: dict[int, dict[str, Decimal]] = {}
    for scope, code, quantity in rows.values_list("scope", "operation__code", "quantity"):
        work.setdefault(scope, {})[code] = quantity
    tries = [tryout.TryOut(str(scope), quote.instrument, operations) for scope, operations in work.items()]
    found = tryout.what_if(tries, at=at, answers=answers, calm_only=calm_only, **work_in_hand())
    return {int(name): days for name, days in found.items()}


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
    today = timezone.localdate(at)
    in_time = answer.scope.answer_by is None or today <= answer.scope.answer_by
    if answer.scope.ready_on is not None and answer.scope.ready_on >= today and in_time:
        scheduling_services.promise_give(
            job=job,
            date=answer.scope.ready_on,
            chance=answer.scope.ready_chance,
            by=by,
            at=at,
            reason=f"as in quote {quote.number}",
        )
    billing_services.earlier_invoices_take_up(job=job, at=at)
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
