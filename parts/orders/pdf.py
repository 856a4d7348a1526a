"""The order sheet."""

from collections.abc import Sequence

from parts.orders.models import PurchaseOrder
from parts.orders.queries import LineState
from workshop.house.models import Shop


def order_pdf(*, order: PurchaseOrder, lines: Sequence[LineState], shop: Shop) -> bytes:
    """Temporary."""
    return b"%PDF-1.4 "
