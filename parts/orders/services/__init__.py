"""Changes of purchase orders: the draft, sending it, what arrives, calling off the rest."""

from parts.orders.services.arriving import receipt_keep
from parts.orders.services.drafting import (
    draft_for,
    draft_throw_away,
    order_draft,
    order_line_add,
    order_line_change,
    order_line_remove,
    order_note_write,
)
from parts.orders.services.sending import order_cancel, order_send

__all__ = [
    "draft_for",
    "draft_throw_away",
    "order_cancel",
    "order_draft",
    "order_line_add",
    "order_line_change",
    "order_line_remove",
    "order_note_write",
    "order_send",
    "receipt_keep",
]
