"""A draft order and its lines: everything may still change."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from parts.catalogue.models import Part, Supplier
from parts.orders.models import OrderLine, PurchaseOrder
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


def order_for_change(pk: int) -> PurchaseOrder:
    """Return an order, held until the transaction ends."""
    return PurchaseOrder.objects.select_for_update(of=("self",)).select_related("supplier").get(pk=pk)


def _draft(pk: int) -> PurchaseOrder:
    order = order_for_change(pk)
    if order.state != PurchaseOrder.State.DRAFT:
        raise Refused(
            f"{_name(order)} is {order.get_state_display()}: its lines stay as they were sent. "
            "Write a new order for anything else."
        )
    return order


def _name(order: PurchaseOrder) -> str:
    return f"Order {order.number}" if order.number else "This order"


@transaction.atomic
def order_draft(*, supplier: Supplier, by: Person, at: dt.datetime, note: str = "") -> PurchaseOrder:
    """Begin an order to a supplier; it has no number before it is sent."""
    order = PurchaseOrder(supplier=supplier, note=note.strip(), created_at=at, created_by=by)
    row_check(order)
    order.save()
    return order


@transaction.atomic
def draft_for(*, supplier: Supplier, by: Person, at: dt.datetime) -> PurchaseOrder:
    """Return the newest draft to a supplier, begun now if there is none.

    The supplier is held, so that two people ordering at once write into one draft.
    """
    Supplier.objects.select_for_update().get(pk=supplier.pk)
    waiting = PurchaseOrder.objects.filter(supplier=supplier, state=PurchaseOrder.State.DRAFT).first()
    return order_for_change(waiting.pk) if waiting else order_draft(supplier=supplier, by=by, at=at)


@transaction.atomic
def order_note_write(*, order: PurchaseOrder, note: str, by: Person) -> PurchaseOrder:
    """Write what the supplier should know besides the lines. Raises Refused once it is sent."""
    order = _draft(order.pk)
    order.note = note.strip()
    row_check(order)
    order.save(update_fields=["note"])
    return order


@transaction.atomic
def order_line_add(
    *,
    order: PurchaseOrder,
    part: Part,
    quantity: Decimal,
    by: Person,
    price: Decimal | None = None,
    measure: str = "",
    for_words: str = "",
) -> OrderLine:
    """Add a line to a draft: quantity in the part's unit, price of one unit without VAT (the part's own if not given).

    Raises Refused once the order is sent, for nothing to order, or for a part made to measure without its measure.
    """
    order = _draft(order.pk)
    line = OrderLine(
        order=order,
        part=part,
        quantity=quantity,
        price=part.price if price is None else price,
        measure=measure.strip(),
        for_words=for_words.strip(),
    )
    return _keep(line)


@transaction.atomic
def order_line_change(
    *, line: OrderLine, quantity: Decimal, price: Decimal, measure: str, by: Person, for_words: str | None = None
) -> OrderLine:
    """Change a line of a draft. Raises Refused as ``order_line_add`` does."""
    _draft(line.order_id)
    line = OrderLine.objects.select_related("part").get(pk=line.pk)
    line.quantity, line.price, line.measure = quantity, price, measure.strip()
    if for_words is not None:
        line.for_words = for_words.strip()
    return _keep(line)


def _keep(line: OrderLine) -> OrderLine:
    if line.quantity <= 0:
        raise Refused(f"Order more than nought of {line.part}, or take the line off.")
    if line.part.measure_needed and not line.measure:
        raise Refused(
            f"{line.part} is made to measure: give {line.part.measure_needed} before it is ordered. "
            "Without them the wrong size would come."
        )
    line.name = line.part.name
    row_check(line)
    line.save()
    return line


@transaction.atomic
def order_line_remove(*, line: OrderLine, by: Person) -> None:
    """Take a line off a draft. Raises Refused once the order is sent."""
    _draft(line.order_id)
    line.delete()


@transaction.atomic
def draft_throw_away(*, order: PurchaseOrder, by: Person) -> None:
    """Throw a draft away with its lines; it never had a number. Raises Refused once it was sent."""
    _draft(order.pk).delete()
