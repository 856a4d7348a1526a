"""Changes to what jobs need: worked out, ordered, taken from the shelf, arrived, no longer wanted."""

from jobs.supplies.services.arriving import (
    need_drop,
    need_from_shelf,
    needs_arrived,
    needs_called_off,
    receipt_share_out,
)
from jobs.supplies.services.ordering import need_measure, needs_order, needs_order_by_supplier, needs_ordered
from jobs.supplies.services.working_out import needs_for_tasks, needs_work_out

__all__ = [
    "need_drop",
    "need_from_shelf",
    "need_measure",
    "needs_arrived",
    "needs_called_off",
    "needs_for_tasks",
    "needs_order",
    "needs_order_by_supplier",
    "needs_ordered",
    "needs_work_out",
    "receipt_share_out",
]
