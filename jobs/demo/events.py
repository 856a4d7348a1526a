"""What waits for the manager this morning: parts to order and late ones, variations, messages, the plan."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal

from jobs.demo.assessed import cured_readings
from jobs.demo.present import Shop
from jobs.hours.models import TimeEntry
from jobs.hours.services import hours_left_say
from jobs.scheduling.services import plan_make, plan_renew
from jobs.scheduling.wishes import wish_ask, wish_done, wish_take
from jobs.supplies.models import Need
from jobs.supplies.services import need_measure, needs_order, needs_ordered
from jobs.updates.services import update_draft
from jobs.verification.services import proof_sign, proof_start
from jobs.worklist.models import Job, Task
from jobs.worklist.services import job_ready, variation_price, variation_report, variation_send
from parts.catalogue.models import Supplier
from parts.orders.models import PurchaseOrder
from parts.orders.services import order_send

HARDENS = "The polish must harden for a week before anything touches it, and nobody can shorten that."


def events_build(shop: Shop, jobs: Mapping[int, Job], at: dt.datetime) -> None:
    """Build what happened lately on the jobs in the house."""
    _orders(shop, jobs)
    _variations(shop, jobs)
    _ready(shop, jobs[215])
    logged: dict[int, int] = {}
    for task, minutes in TimeEntry.objects.filter(task__state=Task.State.AT_WORK).values_list("task", "minutes"):
        logged[task] = logged.get(task, 0) + (minutes or 0)
    plan_make(by=shop.tamsin, at=at, why="the morning’s plan", logged=logged)
    _messages(shop, jobs)
    _grown(shop, jobs[198], at, logged)


def _grown(shop: Shop, job: Job, at: dt.datetime, logged: Mapping[int, int]) -> None:
    """After the morning's plan a task turns out to be longer: the new plan waits for the manager's answer."""
    task = job.tasks.get(operation__code="rg-fine")
    hours_left_say(task=task, hours=task.hours_likely + 12, by=shop.people["Corin"])
    wish = wish_ask(by=None, at=at, why=f"“{task.name}” on no. {job.instrument.number} needs twelve hours more")
    wish_take(wish=wish, at=at)
    made = plan_renew(wish=wish, at=at, logged=logged)
    wish_done(wish=wish, at=at, plan=made.in_force)


def _orders(shop: Shop, jobs: Mapping[int, Job]) -> None:
    """Order the hammers of one job three weeks ago (now late), strings of another last week; leave the rest open."""
    _ordered(shop, jobs[207], "Felt & Shank", sent=-38)
    _ordered(shop, jobs[212], "Felt & Shank", sent=-20)
    _ordered(shop, jobs[220], "Dunmarrow Strings", sent=-12)


def _ordered(shop: Shop, job: Job, supplier: str, *, sent: int) -> PurchaseOrder | None:
    house = Supplier.objects.get(name=supplier)
    needs = list(
        Need.objects.filter(task__job=job, state=Need.State.OPEN, part__supplier=house).select_related("part")[:3]
    )
    if not needs:
        return None
    for need in needs:
        if need.part.measure_needed and not need.measure:
            need_measure(need=need, measure=f"to order sheet {job.instrument.number}", by=shop.tamsin)
    needs = list(Need.objects.filter(pk__in=[need.pk for need in needs]))
    order = needs_order(needs=needs, supplier=house, by=shop.tamsin, at=shop.moments.at(sent, 9))
    order = order_send(order=order, by=shop.tamsin, at=shop.moments.at(sent, 10))
    needs_ordered(order=order)
    return order


def _variations(shop: Shop, jobs: Mapping[int, Job]) -> None:
    """Report one variation that waits to be priced, and send one that waits for its client."""
    marchpane = jobs[203]
    held = marchpane.tasks.filter(state=Task.State.TO_COME, operation__code__in=("st-bass", "in-post"))
    variation_report(
        job=marchpane,
        found="Two ribs of the soundboard are loose, and the bridge cap is split at four pins in the tenor.",
        affects=list(held),
        by=shop.people["Bram"],
        at=shop.moments.at(-1, 15),
    )
    oak = jobs[214]
    variation = variation_report(
        job=oak,
        found="One of the castors has cracked its socket, and the toe block behind it has come unglued.",
        affects=list(oak.tasks.filter(state=Task.State.TO_COME, operation__code="cs-castor")),
        by=shop.people["Dilys"],
        at=shop.moments.at(-6, 11),
    )
    variation = variation_price(
        variation=variation,
        operations={"cs-joint": Decimal(1)},
        leaves_out=[],
        words="We would make the joint sound before the new castors go on, so that the piano can be moved safely.",
        by=shop.tamsin,
    )
    variation_send(variation=variation, by=shop.tamsin, at=shop.moments.at(-4, 9), ready_on=shop.moments.day(69))


def _ready(shop: Shop, job: Job) -> None:
    """Finish the one that waits for its owner."""
    last = shop.moments.at(-5, 15)
    job.tasks.exclude(state=Task.State.DONE).update(
        state=Task.State.DONE, done_at=last, done_by=shop.people["Edda"], started_at=last
    )
    job_ready(job=job, on=last.date())
    final = proof_start(job=job, by=shop.people["Edda"], on=last.date())
    cured_readings(final, last, shop.rng, still_heavy={20: 55.5}, targets=job.targets.select_related("measure"))
    proof_sign(job=job, by=shop.tamsin, at=shop.moments.at(-4, 9), words="Played in for three days and read again.")


def _messages(shop: Shop, jobs: Mapping[int, Job]) -> None:
    """Draft the messages of what happened."""
    moments = shop.moments
    update_draft(
        event="stage_done",
        event_key="stage_done:212:opening",
        instrument=jobs[212].instrument,
        job=jobs[212],
        happened_at=moments.at(-1, 16),
        facts={"stage": "Opening up", "next_stage": "Action"},
        written_from="the last task of the stage, closed yesterday",
    )
    end = jobs[198].planned_ends.filter(plan__is_current=True).first()
    promise = jobs[198].promises.first()
    if end is not None and promise is not None and end.ends_on > promise.date:
        update_draft(
            event="date_moved",
            event_key=f"date_moved:{jobs[198].pk}:{end.ends_on}",
            instrument=jobs[198].instrument,
            job=jobs[198],
            happened_at=moments.at(-2, 12),
            facts={"old": promise.date, "new": end.ends_on, "why": HARDENS},
            written_from="the plan of this morning",
            new_date=end.ends_on,
            reason=HARDENS,
        )
    update_draft(
        event="ready",
        event_key=f"ready:{jobs[215].pk}",
        instrument=jobs[215].instrument,
        job=jobs[215],
        happened_at=moments.at(-5, 16),
        facts={},
        written_from="the proof, signed",
    )
