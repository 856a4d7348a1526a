"""What follows what along the line of a job. Read this first.

Each function is one thing that happened, with its consequences in order, by plain calls. Views call these;
services never do. Background work is started when the transaction has ended.
"""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.db import transaction

from jobs.assessment import queries as assessment_queries
from jobs.assessment import services as assessment_services
from jobs.assessment.models import Assessment
from jobs.intake import services as intake_services
from jobs.intake.models import Instrument
from jobs.scheduling import queries as scheduling_queries
from jobs.supplies import services as supplies_services
from parts.orders import services as orders_services
from parts.orders.models import OrderLine, PurchaseOrder, Receipt
from workshop.people.models import Person


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


@transaction.atomic
def order_sent(order: PurchaseOrder, by: Person, at: dt.datetime) -> PurchaseOrder:
    """Send an order to its supplier, then mark what jobs need of it as ordered. Raises Refused as sending does."""
    order = orders_services.order_send(order=order, by=by, at=at)
    supplies_services.needs_ordered(order=order)
    return order


@transaction.atomic
def order_called_off(order: PurchaseOrder, reason: str, by: Person, at: dt.datetime) -> PurchaseOrder:
    """Call off what has not arrived of an order, then open the needs again that waited for it."""
    order = orders_services.order_cancel(order=order, reason=reason, by=by, at=at)
    supplies_services.needs_called_off(order=order, by=by, at=at)
    return order


@transaction.atomic
def goods_received(
    line: OrderLine, quantity: Decimal, on: dt.date, by: Person, at: dt.datetime, note: str = ""
) -> Receipt:
    """Keep what arrived for a line, hand it to the jobs that wait for it, and put the rest on the shelf."""
    receipt = orders_services.receipt_keep(line=line, quantity=quantity, on=on, by=by, at=at, note=note, shelve=False)
    supplies_services.receipt_share_out(receipt=receipt, by=by, at=at)
    return receipt


def work_begins() -> dict[int, dt.date]:
    """Return task id -> the day its first stint begins in the plan in force, for steps that come before the plan."""
    return scheduling_queries.planned_starts()
