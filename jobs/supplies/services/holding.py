"""Needs held against other people until a transaction ends."""

from collections.abc import Iterable

from jobs.supplies.models import Need
from parts.orders.models import PurchaseOrder


def needs_held(needs: Iterable[Need]) -> list[Need]:
    """Return needs in the order of their ids, held until the transaction ends, with their orders held first."""
    keys = [need.pk for need in needs]
    orders = Need.objects.filter(pk__in=keys, order_line__isnull=False).values_list("order_line__order", flat=True)
    list(PurchaseOrder.objects.select_for_update().filter(pk__in=list(orders)).order_by("pk"))
    rows = Need.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk")
    return list(
        rows.select_related("part", "part__supplier", "task__job__instrument", "order_line__part", "order_line__order")
    )
