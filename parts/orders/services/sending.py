"""Sending an order, and calling off what has not come."""

import datetime as dt

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from parts.orders.models import PurchaseOrder
from parts.orders.pdf import order_pdf
from parts.orders.queries import lines_of
from parts.orders.services.drafting import order_for_change
from workshop.calendar.queries import shop_week
from workshop.calendar.words import day_words_year
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.mail.services import mail_write
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def order_send(*, order: PurchaseOrder, by: Person, at: dt.datetime) -> PurchaseOrder:
    """Give a draft the next number and its expected days, freeze it, and mail it to the supplier as a PDF.

    Expected days are the sending day plus the part's lead time in calendar days, or the next open day of the
    shop. A supplier without an e-mail address is written to by hand: nothing is mailed, the PDF can be printed.
    Raises Refused for an order that is no draft, has no line, lacks a measure, or when somebody else than a
    manager sends.
    """
    if not by.is_manager:
        raise Refused("Orders are sent by the manager. The draft is kept: tell them it is ready.")
    order = order_for_change(order.pk)
    _check_ready(order)
    shop = the_shop()
    sent_on = timezone.localtime(at).date()
    lines = list(order.lines.select_related("part"))
    longest = max(line.part.lead_days for line in lines)
    week = shop_week(shop, sent_on, sent_on + dt.timedelta(days=longest + 60))
    for line in lines:
        line.expected_on = week.next_open(sent_on + dt.timedelta(days=line.part.lead_days))
        line.save(update_fields=["expected_on"])
    order.number = _next_number(shop)
    order.state = PurchaseOrder.State.SENT
    order.sent_at = at
    order.expected_on = max(line.expected_on for line in lines if line.expected_on)
    row_check(order)
    order.save(update_fields=["number", "state", "sent_at", "expected_on"])
    _mail(order, shop, at)
    return order


def _check_ready(order: PurchaseOrder) -> None:
    if order.state != PurchaseOrder.State.DRAFT:
        name = f"Order {order.number}" if order.number else "This order"
        raise Refused(f"{name} is {order.get_state_display()} already; nothing was sent again.")
    lines = list(order.lines.select_related("part"))
    if not lines:
        raise Refused("There is nothing on this order yet: add a line before it is sent.")
    bare = [line.part.name for line in lines if line.part.measure_needed and not line.measure]
    if bare:
        raise Refused(f"The measure is still to be taken for {', '.join(bare)}. Write it on the line, then send.")


def _next_number(shop: Shop) -> int:
    """Return the next order number; the shop row is held, so that the series has no gap and no number twice."""
    Shop.objects.select_for_update().get(pk=shop.pk)
    return (PurchaseOrder.objects.aggregate(last=Max("number"))["last"] or 0) + 1


def _mail(order: PurchaseOrder, shop: Shop, at: dt.datetime) -> None:
    if not order.supplier.email:
        return
    lines = lines_of(order, timezone.localtime(at).date())
    mail_write(
        to=order.supplier.email,
        to_name=order.supplier.name,
        name="order",
        context={"order": order, "lines": lines, "shop": shop},
        at=at,
        attachment=order_pdf(order=order, lines=lines, shop=shop),
        attachment_name=f"order-{order.number}.pdf",
    )


@transaction.atomic
def order_cancel(*, order: PurchaseOrder, reason: str, by: Person, at: dt.datetime) -> PurchaseOrder:
    """Call off everything of a sent order that has not arrived; what has arrived stays, with its receipts.

    The supplier is told by mail. Raises Refused for a draft, an order that is all here or called off already, a
    missing reason, or a person who is not a manager.
    """
    if not by.is_manager:
        raise Refused("Orders are called off by the manager. Tell them why this one should be.")
    order = order_for_change(order.pk)
    if order.state == PurchaseOrder.State.DRAFT:
        raise Refused("This order was never sent: throw the draft away instead.")
    if order.state != PurchaseOrder.State.SENT:
        raise Refused(f"Order {order.number} is {order.get_state_display()}: there is nothing left to call off.")
    if not reason.strip():
        raise Refused("Say in a few words why the rest is called off; the supplier reads it too.")
    day = timezone.localtime(at).date()
    order.note = f"{order.note}\nCalled off {day_words_year(day)} by {by}: {reason.strip()}".strip()
    if order.supplier.email:
        mail_write(
            to=order.supplier.email,
            to_name=order.supplier.name,
            name="order-off",
            context={
                "order": order,
                "lines": [each for each in lines_of(order, day) if each.outstanding],
                "reason": reason.strip(),
                "shop": the_shop(),
            },
            at=at,
        )
    order.state = PurchaseOrder.State.CANCELLED
    row_check(order)
    order.save(update_fields=["state", "note"])
    return order
