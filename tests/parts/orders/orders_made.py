"""Orders for tests."""

from decimal import Decimal
from typing import Any

from parts.orders.models import OrderLine, PurchaseOrder
from parts.orders.services import order_draft, order_line_add, order_send
from tests.factories import MOMENT, make_manager, make_part, make_supplier


def make_draft(
    *, by: Any = None, supplier: Any = None, quantity: Any = 3, part: Any = None, **line: Any
) -> PurchaseOrder:
    by = by or make_manager()
    order = order_draft(supplier=supplier or make_supplier(), by=by, at=MOMENT)
    order_line_add(order=order, part=part or make_part(), quantity=Decimal(str(quantity)), by=by, **line)
    return order


def make_sent(*, by: Any = None, at: Any = MOMENT, **more: Any) -> PurchaseOrder:
    by = by or make_manager()
    return order_send(order=make_draft(by=by, **more), by=by, at=at)


def only_line(order: PurchaseOrder) -> OrderLine:
    return order.lines.get()
