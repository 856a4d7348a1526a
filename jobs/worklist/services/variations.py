"""Variations: found on opening up, priced, sent, answered once by the client in writing."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Mapping
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from jobs.operations.queries import catalogue, operations_by_code
from jobs.worklist.models import Job, Task, Variation
from jobs.worklist.queries import OPEN_STATES
from jobs.worklist.services.choices import check_left_out, entries_added
from jobs.worklist.services.prices import TENTH, rates_of, rows_added, rows_left_out
from jobs.worklist.services.tasks import Wanted, tasks_make, tasks_order
from workshop.calendar.words import day_words_year
from workshop.money.calc import round_money
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def variation_report(*, job: Job, found: str, affects: Iterable[Task], by: Person, at: dt.datetime) -> Variation:
    """Keep what was found. The tasks it affects are held until the client has answered; the rest goes on.

    Raises Refused without words, for a task of another job or one that is done, and once the job is over.
    """
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=job.pk)
    wanted = {task.pk for task in affects}
    held = list(job.tasks.filter(pk__in=wanted))
    if not found.strip():
        raise Refused("Say in a sentence what was found, where, and how bad it is.")
    _refuse_over(job)
    if len(held) != len(wanted):
        raise Refused("A variation can only hold tasks of its own job.")
    closed = [task for task in held if task.state in (Task.State.DONE, Task.State.LEFT_OUT)]
    if closed:
        raise Refused(f"“{closed[0].name}” is {closed[0].get_state_display()}; it cannot wait for an answer any more.")
    last = job.variations.order_by("-number").first()
    variation = Variation(job=job, number=last.number + 1 if last else 1, found=found.strip(), found_at=at, found_by=by)
    row_check(variation)
    variation.save()
    variation.affects.set(held)
    return variation


@transaction.atomic
def variation_price(
    *,
    variation: Variation,
    operations: Mapping[str, Decimal],
    leaves_out: Iterable[str] = (),
    parts_bought: Iterable[str] = (),
    words: str,
    by: Person,
) -> Variation:
    """Work out hours and price of a variation: operations it adds (code -> count) and those it leaves out.

    Work and parts are priced as in the quote of the job. What is left out is taken off again, parts too unless its
    code is in ``parts_bought``. Raises Refused for an operation that is unknown, does not fit, is an alternative to
    one that stays, or is not waiting (to leave out); without words or operations; and once it was sent.
    """
    row = _held(variation)
    _refuse_unless(row, Variation.State.FOUND, "has been sent, and what was sent does not change")
    out = dict.fromkeys(leaves_out)
    if not words.strip():
        raise Refused("Write what you propose; the owner reads it.")
    if not operations and not out:
        raise Refused("Choose at least one operation to add or to leave out.")
    cat = catalogue()
    counts = {code: Decimal(count).quantize(TENTH) for code, count in operations.items()}
    entries = entries_added(row.job, cat, counts, set(out))
    check_left_out(row, list(out))
    rows = operations_by_code(cat.operations)
    wanted = {code: counts[code] for code in entries if code in counts}
    row.operations.all().delete()
    bought = set(parts_bought)
    added = rows_added(row, entries, wanted, rows)
    left = rows_left_out(row, {code: code in bought for code in out}, rows)
    for one in (*added, *left):
        row_check(one)
        one.save()
    less = sum((one.hours_likely for one in left), Decimal(0))
    row.hours_likely, row.hours_80 = row.hours_likely + less, row.hours_80 + less
    row.net = sum((one.net for one in (*added, *left)), Decimal(0))
    row.vat = round_money(row.net * rates_of(row.job).vat / 100)
    row.total = row.net + row.vat
    row.words = words.strip()
    row_check(row)
    row.save()
    return row


def _held(variation: Variation) -> Variation:
    """Return a variation with its row held until the transaction ends."""
    held = Variation.objects.select_for_update(of=("self",))
    return held.select_related("job__instrument", "job__quote", "job__scope").get(pk=variation.pk)


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
    """Freeze a priced variation for the client; what it would leave out is held from now on.

    Raises Refused when there is nothing to read, it was sent, its work to leave out was begun since it was priced,
    or the new day is past.
    """
    row = _held(variation)
    _refuse_unless(row, Variation.State.FOUND, "was sent already")
    _refuse_over(row.job)
    if not row.words or not row.operations.exists():
        raise Refused("Write what you propose and choose at least one operation before sending it.")
    if ready_on is not None and ready_on < timezone.localdate(at):
        raise Refused(f"{day_words_year(ready_on)} is past: it cannot be home again by then. Write a later day.")
    out = list(row.operations.filter(adds=False).values_list("operation__code", flat=True))
    check_left_out(row, out, since_priced=True)
    row.affects.add(*row.job.tasks.filter(operation__code__in=out, state=Task.State.TO_COME))
    row.ready_on, row.state, row.sent_at = ready_on, Variation.State.SENT, at
    row.content_hash = variation_content(row)
    row_check(row)
    row.save(update_fields=["ready_on", "state", "sent_at", "content_hash"])
    return row


@transaction.atomic
def variation_answer(*, variation: Variation, agree: bool, name: str, at: dt.datetime, content_hash: str) -> Variation:
    """Keep the client's answer, once. Agreed: tasks are added or left out and the agreed total changes.

    Raises Refused for a second answer, a variation that was not sent, changed content, no name, or a job that is
    over.
    """
    row = _held(variation)
    if row.state in (Variation.State.AGREED, Variation.State.DECLINED) and row.answered_at is not None:
        day = day_words_year(timezone.localdate(row.answered_at))
        raise Refused(
            f"{row.answered_name} answered this on {day}: {row.get_state_display()}. "
            "Telephone the workshop to change it."
        )
    _refuse_unless(row, Variation.State.SENT, "is not open for an answer")
    _refuse_over(row.job)
    if not name.strip():
        raise Refused("Write your name, so that we know who agreed.")
    if content_hash != row.content_hash or variation_content(row) != row.content_hash:
        raise Refused("This page has changed since you opened it. Read it again, then answer.")
    row.state = Variation.State.AGREED if agree else Variation.State.DECLINED
    row.answered_at, row.answered_name = at, name.strip()
    row_check(row)
    row.save(update_fields=["state", "answered_at", "answered_name"])
    if agree:
        _carry_out(row)
    return row


def _carry_out(variation: Variation) -> None:
    """Add and leave out the tasks of an agreed variation and change the agreed total of the job."""
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=variation.job_id)
    rows = list(variation.operations.select_related("operation__skill"))
    gone = [row.operation_id for row in rows if not row.adds]
    # Hours written down by hand while it was held may have begun such a task; it is left out all the same.
    job.tasks.filter(operation_id__in=gone).exclude(state=Task.State.DONE).update(state=Task.State.LEFT_OUT)
    added = [
        Wanted(row.operation, row.quantity, f"Variation {variation.number}: {row.words}") for row in rows if row.adds
    ]
    if added:
        tasks_make(job=job, wanted=added, variation=variation)
    else:
        tasks_order(job=job)
    job.agreed_total += variation.total
    row_check(job)
    job.save(update_fields=["agreed_total"])


@transaction.atomic
def variation_withdraw(*, variation: Variation, by: Person) -> Variation:
    """Take back a variation that nobody has answered; its tasks are free again."""
    row = _held(variation)
    if row.state not in OPEN_STATES:
        raise Refused(f"Variation {row.number} is {row.get_state_display()} and stays as it is.")
    row.state = Variation.State.WITHDRAWN
    row.save(update_fields=["state"])
    return row


def _refuse_unless(variation: Variation, state: str, otherwise: str) -> None:
    """Raise Refused unless the variation is in that state."""
    if variation.state != state:
        raise Refused(f"Variation {variation.number} {otherwise}.")


def _refuse_over(job: Job) -> None:
    """Raise Refused when the work on a job is over."""
    if job.state in (Job.State.RETURNED, Job.State.STOPPED):
        raise Refused(f"The job is {job.get_state_display()}; nothing of it changes any more.")
