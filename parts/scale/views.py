"""Pages: wire."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from parts.scale.queries import wire_rows
from parts.scale.tables import WireTable
from workshop.web.access import staff_only
from workshop.web.tables import list_page


@require_safe
@staff_only
def wire_list(request: HttpRequest) -> HttpResponse:
    """Show the wire that can be bought, with the load at which it breaks."""
    rows = wire_rows()
    return list_page(
        request,
        WireTable,
        rows,
        template="parts/scale/wire_list.html",
        per_page=60,
        sources=dict.fromkeys(row.source for row in rows),
        room="Parts",
    )
