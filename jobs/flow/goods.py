"""Parts on their way: an order sent or called off, goods received."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.flow.plan import plan_wanted
from jobs.supplies import queries as supplies_queries
from jobs.supplies import services as supplies_services
from jobs.updates import services as updates_services
from jobs.updates.models import Update
from parts.orders import services as orders_services
from parts.orders.models import OrderLine, PurchaseOrder, Receipt
from workshop.calendar.words import day_words_year
from workshop.people.models import Person


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
