"""Questions about orders and what arrived."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, ExpressionWrapper, F, OuterRef, Prefetch, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from parts.catalogue.models import Part, Supplier
from parts.catalogue.queries import QUANTITY, parts_with_shelf
from parts.catalogue.words import amount_words
from parts.orders.models import OrderLine, PurchaseOrder, Receipt


def parts_with_orders() -> QuerySet[Part]:
    """Return all parts with ``on_shelf``, ``low``, and ``on_order``: what sent orders still owe of each."""
    sent = PurchaseOrder.State.SENT
    ordered = OrderLine.objects.filter(part=OuterRef("pk"), order__state=sent).order_by().values("part")
    arrived = Receipt.objects.filter(line__part=OuterRef("pk"), line__order__state=sent).order_by().values("line__part")
    return parts_with_shelf().annotate(
        on_order=_or_nought(ordered.annotate(sum=Sum("quantity"))) - _or_nought(arrived.annotate(sum=Sum("quantity")))
    )


def _or_nought(rows: QuerySet) -> Coalesce:  # type: ignore[type-arg]
    return Coalesce(Subquery(rows.values("sum"), output_field=QUANTITY), Decimal(0), output_field=QUANTITY)


def arrived_of(line: OrderLine) -> Decimal:
    """Return how much of a line has arrived so far, in the part's unit."""
    return Receipt.objects.filter(line=line).aggregate(sum=Sum("quantity"))["sum"] or Decimal(0)


def is_all_here(order: PurchaseOrder) -> bool:
    """Tell whether every line of an order has arrived in full."""
    arrived = Receipt.objects.filter(line=OuterRef("pk")).order_by().values("line").annotate(sum=Sum("quantity"))
    owed = order.lines.annotate(arrived=_or_nought(arrived)).filter(quantity__gt=F("arrived"))
    return not owed.exists()


@dataclass(frozen=True)
class LineState:
    """One line of an order with what has arrived of it and what it still owes, in the part's unit."""

    line: OrderLine
    arrived: Decimal
    outstanding: Decimal
    late: bool
    receipts: tuple[Receipt, ...]

    @property
    def here_words(self) -> str:
        """Return what has arrived, in words."""
        if not self.arrived:
            return ""
        return (
            "all"
            if not self.outstanding and self.arrived == self.line.quantity
            else amount_words(self.arrived, self.line.part.unit)
        )

    @property
    def total(self) -> Decimal:
        """The price of the whole line, without VAT."""
        return self.line.quantity * self.line.price


def lines_of(order: PurchaseOrder, today: dt.date) -> list[LineState]:
    """Return the lines of an order in their order, with what arrived, what is owed, and whether it is late."""
    receipts = Prefetch("receipts", Receipt.objects.select_related("by"))
    lines = order.lines.select_related("part", "part__supplier").prefetch_related(receipts)
    return [_line_state(line, order, today) for line in lines]


def _line_state(line: OrderLine, order: PurchaseOrder, today: dt.date) -> LineState:
    receipts = tuple(line.receipts.all())
    arrived = sum((receipt.quantity for receipt in receipts), Decimal(0))
    awaited = order.state == PurchaseOrder.State.SENT
    owed = line.quantity - arrived if awaited else Decimal(0)
    late = awaited and owed > 0 and line.expected_on is not None and line.expected_on < today
    return LineState(line, arrived, owed, late, receipts)


def orders_for_list(today: dt.date) -> QuerySet[PurchaseOrder]:
    """Return all orders with ``number_of_lines``, ``total`` without VAT, ``next_on`` and ``late``.

    ``next_on`` is the earliest day something still owed is expected; an order is late when that day is past.
    """
    arrived = Receipt.objects.filter(line=OuterRef("pk")).order_by().values("line").annotate(sum=Sum("quantity"))
    owed = (
        OrderLine.objects.filter(order=OuterRef("pk"), order__state=PurchaseOrder.State.SENT)
        .annotate(arrived=_or_nought(arrived))
        .filter(quantity__gt=F("arrived"), expected_on__isnull=False)
        .order_by("expected_on")
    )
    price = ExpressionWrapper(F("lines__quantity") * F("lines__price"), output_field=QUANTITY)
    return (
        PurchaseOrder.objects.select_related("supplier")
        .annotate(
            number_of_lines=Count("lines"),
            total=Coalesce(Sum(price), Decimal(0), output_field=QUANTITY),
            next_on=Subquery(owed.values("expected_on")[:1]),
        )
        .annotate(late=Q(next_on__isnull=False) & Q(next_on__lt=today))
    )


def number_late(today: dt.date) -> int:
    """Return how many orders are late."""
    return orders_for_list(today).filter(late=True).count()  # type: ignore[misc]


def orders_of_part(part: Part, today: dt.date) -> QuerySet[OrderLine]:
    """Return the order lines of a part, newest order first, with ``arrived`` and ``late``."""
    arrived = Receipt.objects.filter(line=OuterRef("pk")).order_by().values("line").annotate(sum=Sum("quantity"))
    return (
        OrderLine.objects.filter(part=part)
        .select_related("order", "order__supplier", "part")
        .annotate(arrived=_or_nought(arrived))
        .annotate(late=Q(order__state=PurchaseOrder.State.SENT, expected_on__lt=today, quantity__gt=F("arrived")))
        .order_by("-order__created_at", "-id")
    )


def orders_of_supplier(supplier: Supplier, today: dt.date) -> QuerySet[PurchaseOrder]:
    """Return the orders to one supplier, newest first, as ``orders_for_list`` does."""
    return orders_for_list(today).filter(supplier=supplier)


def arrivals_expected() -> list[OrderLine]:
    """Return the lines of sent orders that still owe something, soonest first, with ``arrived``."""
    arrived = Receipt.objects.filter(line=OuterRef("pk")).order_by().values("line").annotate(sum=Sum("quantity"))
    lines = (
        OrderLine.objects.filter(order__state=PurchaseOrder.State.SENT, expected_on__isnull=False)
        .select_related("part", "order", "order__supplier")
        .annotate(arrived=_or_nought(arrived))
        .filter(quantity__gt=F("arrived"))
    )
    return list(lines.order_by("expected_on", "id"))
