"""The page of a part: it stands here because what uses a part is known to jobs only."""

from typing import cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from jobs import flow
from jobs.supplies import queries
from parts.catalogue.queries import moves_of
from parts.catalogue.tables import shelf_look
from parts.orders.queries import orders_of_part, parts_with_orders
from workshop.web.access import StaffRequest, staff_only

MOVES_SHOWN = 30
ORDERS_SHOWN = 12


@require_safe
@staff_only
def part_show(request: HttpRequest, code: str) -> HttpResponse:
    """Show a part: the shelf with its moves, orders, the operations that ask for it and the jobs that need it."""
    part = get_object_or_404(parts_with_orders(), code=code)
    needs = queries.open_needs().filter(part=part)
    page = {
        "part": part,
        "look": shelf_look(part),
        "moves": moves_of(part)[:MOVES_SHOWN],
        "orders": orders_of_part(part, timezone.localdate())[:ORDERS_SHOWN],
        "uses": queries.uses_of(part),
        "needs": queries.need_rows(needs, flow.work_begins(), timezone.localdate()),
        "manager": cast(StaffRequest, request).user.is_manager,
        "room": "Parts",
    }
    return render(request, "jobs/supplies/part_show.html", page)
