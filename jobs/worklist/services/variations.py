"""Variations: found on opening up, priced, sent, answered once by the client in writing."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Mapping
from decimal import Decimal

from django.db import transaction

from jobs.estimating.services import bundle_hours, hours_for
from jobs.operations.models import Operation
from jobs.worklist.models import Job, Task, Variation, VariationOperation
from jobs.worklist.services.tasks import Wanted, kept_hours, tasks_make, tasks_order
from workshop.house.queries import the_shop
from workshop.money.calc import round_money
from workshop.people.models import Person
from workshop.web.errors import Refused

OPEN_STATES = (Variation.State.FOUND, Variation.State.SENT)


@transaction.atomic
def variation_report(*, job: Job, found: str, affects: Iterable[Task], by: Person, at: dt.datetime) -> Variation:
    """Keep what was found. The tasks it affects are held until the client has answered; the rest goes on.

    Raises Refused without words, or for a task of another job.
    """
    job = Job.objects.select_for_update().get(pk=job.pk)
    held = list(affects)
    if not found.strip():
        raise Refused("Say in a sentence what was found, where, and how bad it is.")
    if any(task.job_id != job.pk for task in held):
        raise Refused("A variation can only hold tasks of its own job.")
    last = job.variations.order_by("-number").first()
    variation = Variation(job=job, number=last.number + 1 if last else 1, found=found.strip(), found_at=at, found_by=by)
    variation.full_clean()
    variation.save()
    variation.affects.set(held)
    return variation


@transaction.atomic
def variation_price(
    *,
    variation: Variation,
    operations: Mapping[str, Decimal],
    leaves_out: Iterable[str],
    words: str,
    by: Person,
) -> Variation:
    """Work out hours and price of a variation: operations it adds (code -> count) and those it leaves out.

    The price is labour at the rate of the quote, and VAT as the quote has it. Raises Refused for an unknown
    operation, one that is not in the job (to leave out), or a variation that has been sent.
    """
    variation = (
        Variation.objects.select_for_update(of=("self",))
        .select_related("job__instrument", "job__quote")
        .get(pk=variation.pk)
    )
    _refuse_unless(variation, Variation.State.FOUND, "has been sent, and what was sent does not change")
    out = set(leaves_out)
    codes = set(operations) | out
    found = {row.code: row for row in Operation.objects.filter(code__in=codes).select_related("skill")}
    if missing := sorted(codes - found.keys()):
        raise Refused(f"The catalogue holds no operation {', '.join(missing)}.")
    in_job = set(variation.job.tasks.filter(state=Task.State.TO_COME).values_list("operation__code", flat=True))
    if wrong := sorted(out - in_job):
        raise Refused(f"“{found[wrong[0]].name}” is not waiting to be done on this job, so it cannot be left out.")
    variation.operations.all().delete()
    rate = variation.job.quote.hourly_rate if variation.job.quote else the_shop().hourly_rate
    rows = []
    for code in [*operations, *sorted(out)]:
        adds = code not in out
        quantity = operations.get(code, Decimal(1))
        if adds:
            hours = hours_for(operation=found[code], quantity=quantity, kind=variation.job.instrument.kind)
            likely, high = kept_hours(hours.likely), kept_hours(hours.figure_80)
        else:
            tasks = variation.job.tasks.filter(operation=found[code], state=Task.State.TO_COME)
            likely = -sum((task.hours_likely for task in tasks), Decimal(0))
            high = -sum((task.hours_80 for task in tasks), Decimal(0))
        rows.append(
            VariationOperation(
                variation=variation,
                operation=found[code],
                quantity=quantity,
                adds=adds,
                hours_likely=likely,
                hours_80=high,
                net=round_money(likely * rate),
                words=found[code].in_plain_words,
            )
        )
    VariationOperation.objects.bulk_create(rows)
    _sum_up(variation, rows)
    variation.words = words.strip()
    variation.full_clean()
    variation.save()
    return variation


def _sum_up(variation: Variation, rows: list[VariationOperation]) -> None:
    """Write hours, net, VAT and total of the rows into the variation."""
    quote = variation.job.quote
    percent = quote.vat_percent if quote else the_shop().vat_percent
    kind = variation.job.instrument.kind
    added = [hours_for(operation=row.operation, quantity=row.quantity, kind=kind) for row in rows if row.adds]
    less = sum((row.hours_likely for row in rows if not row.adds), Decimal(0))
    bundle = bundle_hours(added)
    variation.hours_likely = kept_hours(bundle.likely) + less
    variation.hours_80 = kept_hours(bundle.figure_80) + less
    variation.net = sum((row.net for row in rows), Decimal(0))
    variation.vat = round_money(variation.net * percent / 100)
    variation.total = variation.net + variation.vat


def variation_content(variation: Variation) -> str:
    """Return the hash over everything the client reads of a variation (SHA-256, hex)."""
    rows = [
        [row.operation.code, str(row.quantity), row.adds, str(row.net), row.words]
        for row in variation.operations.select_related("operation")
    ]
    page = {
        "job": variation.job_id,
        "number": variation.number,
        "found": variation.found,
        "words": variation.words,
        "net": str(variation.net),
        "vat": str(variation.vat),
        "total": str(variation.total),
        "ready_on": str(variation.ready_on),
        "rows": rows,
    }
    return hashlib.sha256(json.dumps(page, sort_keys=True).encode()).hexdigest()


@transaction.atomic
def variation_send(*, variation: Variation, by: Person, at: dt.datetime, ready_on: dt.date | None) -> Variation:
    """Freeze a priced variation for the client. Raises Refused when there is nothing to read or it was sent."""
    variation = Variation.objects.select_for_update().get(pk=variation.pk)
    _refuse_unless(variation, Variation.State.FOUND, "was sent already")
    if not variation.words or not variation.operations.exists():
        raise Refused("Write what you propose and choose at least one operation before sending it.")
    variation.ready_on = ready_on
    variation.state = Variation.State.SENT
    variation.sent_at = at
    variation.save()
    variation.refresh_from_db()
    variation.content_hash = variation_content(variation)
    variation.full_clean()
    variation.save(update_fields=["content_hash"])
    return variation


@transaction.atomic
def variation_answer(*, variation: Variation, agree: bool, name: str, at: dt.datetime, content_hash: str) -> Variation:
    """Keep the client's answer, once. Agreed: tasks are added or left out and the agreed total changes.

    Raises Refused for a second answer, a variation that was not sent, changed content, or no name.
    """
    variation = Variation.objects.select_for_update(of=("self",)).select_related("job__instrument").get(pk=variation.pk)
    if variation.state in (Variation.State.AGREED, Variation.State.DECLINED):
        raise Refused(
            f"{variation.answered_name} answered this on {variation.answered_at:%d %b %Y}: "
            f"{variation.get_state_display()}. Telephone the workshop to change it."
        )
    _refuse_unless(variation, Variation.State.SENT, "is not open for an answer")
    if not name.strip():
        raise Refused("Write your name, so that we know who agreed.")
    if content_hash != variation.content_hash or variation_content(variation) != variation.content_hash:
        raise Refused("This page has changed since you opened it. Read it again, then answer.")
    variation.state = Variation.State.AGREED if agree else Variation.State.DECLINED
    variation.answered_at = at
    variation.answered_name = name.strip()
    variation.full_clean()
    variation.save(update_fields=["state", "answered_at", "answered_name"])
    if agree:
        _carry_out(variation)
    return variation


def _carry_out(variation: Variation) -> None:
    """Add and leave out the tasks of an agreed variation and change the agreed total of the job."""
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=variation.job_id)
    rows = list(variation.operations.select_related("operation__skill"))
    gone = [row.operation_id for row in rows if not row.adds]
    job.tasks.filter(operation_id__in=gone, state=Task.State.TO_COME).update(state=Task.State.LEFT_OUT)
    added = [Wanted(row.operation, row.quantity, row.words) for row in rows if row.adds]
    if added:
        tasks_make(job=job, wanted=added, variation=variation)
    else:
        tasks_order(job=job)
    job.agreed_total += variation.total
    job.save(update_fields=["agreed_total"])


@transaction.atomic
def variation_withdraw(*, variation: Variation, by: Person) -> Variation:
    """Take back a variation that nobody has answered; its tasks are free again."""
    variation = Variation.objects.select_for_update().get(pk=variation.pk)
    if variation.state not in OPEN_STATES:
        raise Refused(f"Variation {variation.number} is {variation.get_state_display()} and stays as it is.")
    variation.state = Variation.State.WITHDRAWN
    variation.save(update_fields=["state"])
    return variation


def _refuse_unless(variation: Variation, state: str, otherwise: str) -> None:
    """Raise Refused unless the variation is in that state."""
    if variation.state != state:
        raise Refused(f"Variation {variation.number} {otherwise}.")
