"""What arrives for an order."""

import datetime as dt
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from parts.catalogue.services import stock_move
from parts.catalogue.words import amount_words
from parts.orders.models import OrderLine, PurchaseOrder, Receipt
from parts.orders.queries import arrived_of, is_all_here
from parts.orders.services.drafting import order_for_change
from workshop.calendar.words import day_words
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def receipt_keep(
    *,
    line: OrderLine,
    quantity: Decimal,
    on: dt.date,
    by: Person,
    at: dt.datetime,
    note: str = "",
    shelve: bool = True,
) -> Receipt:
    """Keep what arrived for one line, in the part's unit; the order closes itself when all of it is here.

    With ``shelve`` it goes onto the shelf; a caller that hands it to jobs first shelves the rest itself. The order
    is held meanwhile, so two people unpacking one parcel cannot count it twice. Raises Refused for more than the
    line still owes, a day in the future or before the order was sent, or an order that awaits nothing.
    """
    order = order_for_change(line.order_id)
    line = OrderLine.objects.select_related("part").get(pk=line.pk)
    _check_order(order)
    _check_day(order, on, timezone.localtime(at).date())
    _check_quantity(line, quantity)
    receipt = Receipt(line=line, quantity=quantity, on=on, by=by, note=note.strip())
    row_check(receipt)
    receipt.save()
    if shelve:
        stock_move(part=line.part, quantity=quantity, reason=f"arrived, order {order.number}", by=by, at=at)
    if is_all_here(order):
        order.state = PurchaseOrder.State.CLOSED
        order.save(update_fields=["state"])
    return receipt


def _check_order(order: PurchaseOrder) -> None:
    if order.state == PurchaseOrder.State.DRAFT:
        raise Refused("This order was not sent yet, so nothing can arrive for it. Send it first, then book it in.")
    if order.state != PurchaseOrder.State.SENT:
        raise Refused(
            f"Order {order.number} is {order.get_state_display()}: nothing more is awaited. "
            "If goods came all the same, put them on the shelf from the page of the part."
        )


def _check_day(order: PurchaseOrder, on: dt.date, today: dt.date) -> None:
    if on > today:
        raise Refused(f"{day_words(on)} is still to come: give the day it really arrived, today at the latest.")
    if order.sent_at and on < timezone.localtime(order.sent_at).date():
        sent = day_words(timezone.localtime(order.sent_at).date())
        raise Refused(f"Order {order.number} went out on {sent}; it cannot have arrived on {day_words(on)}.")


def _check_quantity(line: OrderLine, quantity: Decimal) -> None:
    if quantity <= 0:
        raise Refused(f"Give how much of {line.part} arrived, more than nought.")
    here, unit = arrived_of(line), line.part.unit
    if here + quantity > line.quantity:
        here_words = amount_words(here, unit) if here else "none"
        raise Refused(
            f"{amount_words(line.quantity, unit)} of {line.part} ordered, {here_words} already here: "
            f"{amount_words(quantity, unit)} more would be too many. Count again and keep at most "
            f"{amount_words(line.quantity - here, unit)}; put anything beyond that on the shelf from the page of the "
            "part, and ask the supplier."
        )
