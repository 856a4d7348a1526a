"""From a need to a line on a draft order."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal

from django.db import transaction

from jobs.supplies.models import Need
from jobs.supplies.queries import instruments_in_words
from jobs.supplies.services.holding import needs_held
from parts.catalogue.models import Supplier
from parts.orders.models import PurchaseOrder
from parts.orders.services import draft_for, order_line_add
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

State = Need.State


@transaction.atomic
def need_measure(*, need: Need, measure: str, by: Person) -> Need:
    """Write the measured sizes of a need. Raises Refused once it is on an order, and for no words at all."""
    [need] = needs_held([need])
    if not measure.strip():
        raise Refused(f"Write the measure of {need.part}: {need.part.measure_needed or 'its sizes, with units'}.")
    if need.state != State.OPEN or need.order_line_id is not None:
        raise Refused(
            f"{need.part} for {need.task.job} is on an order already; change the measure on the line while the "
            "order is a draft, or telephone the supplier."
        )
    need.measure = measure.strip()
    row_check(need)
    need.save()
    return need


@transaction.atomic
def needs_order(*, needs: Sequence[Need], supplier: Supplier, by: Person, at: dt.datetime) -> PurchaseOrder:
    """Put open needs on the draft order to a supplier and return it; it is sent separately, after it was read.

    Parts made to measure get a line each; the rest is added up by part. Raises Refused when nothing is given,
    when a need is not open any more, or when a measure is still to be taken.
    """
    if not needs:
        raise Refused("Tick at least one part that is to be ordered.")
    rows = needs_held(needs)
    for need in rows:
        _check_orderable(need)
    order = draft_for(supplier=supplier, by=by, at=at)
    for group in _lines_of(rows):
        line = order_line_add(
            order=order,
            part=group[0].part,
            quantity=sum((need.quantity for need in group), Decimal(0)),
            measure=group[0].measure,
            for_words=instruments_in_words(group),
            by=by,
        )
        Need.objects.filter(pk__in=[need.pk for need in group]).update(order_line=line)
    return order


@transaction.atomic
def needs_order_by_supplier(*, needs: Sequence[Need], by: Person, at: dt.datetime) -> list[PurchaseOrder]:
    """Put open needs on one draft order per supplier of their parts, in one press; all of them or none.

    Raises Refused as ``needs_order`` does, and for a part nobody supplies yet.
    """
    if not needs:
        raise Refused("Tick at least one part that is to be ordered.")
    rows = needs_held(needs)
    by_supplier: dict[int, list[Need]] = defaultdict(list)
    for need in rows:
        if need.part.supplier is None:
            raise Refused(f"{need.part} has no supplier yet: choose one on the page of the part, then order.")
        by_supplier[need.part.supplier.pk].append(need)
    suppliers = Supplier.objects.in_bulk(by_supplier)
    # By key, so that two people never wait for one another's supplier; handed back by name, as people read them.
    orders = [
        needs_order(needs=group, supplier=suppliers[pk], by=by, at=at) for pk, group in sorted(by_supplier.items())
    ]
    return sorted(orders, key=lambda order: str(order.supplier).casefold())


def _check_orderable(need: Need) -> None:
    if need.state != State.OPEN or need.order_line_id is not None:
        where = "on a draft order" if need.state == State.OPEN else need.get_state_display()
        raise Refused(f"{need.part} for {need.task.job} is {where} already; nothing was ordered now.")
    if need.part.measure_needed and not need.measure:
        raise Refused(
            f"The measure of {need.part} for {need.task.job} is still to be taken ({need.part.measure_needed}). "
            "Write it down first; without it the wrong size would come. Nothing was ordered."
        )


def _lines_of(needs: Iterable[Need]) -> list[list[Need]]:
    groups: dict[tuple[int, int], list[Need]] = defaultdict(list)
    for need in needs:
        groups[(need.part_id, need.pk if need.measure else 0)].append(need)
    return list(groups.values())


@transaction.atomic
def needs_ordered(*, order: PurchaseOrder) -> int:
    """Mark the needs on an order that was just sent as ordered; return how many."""
    waiting = Need.objects.filter(order_line__order=order, state=State.OPEN)
    return waiting.update(state=State.ORDERED)
