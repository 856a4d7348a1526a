"""What is ordinary: the ranges readings are judged by, and the workshop's own."""

from decimal import Decimal

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from jobs.assessment import queries
from jobs.assessment.calc.values import UNIT_WORDS
from jobs.assessment.models import MeasureRange
from jobs.assessment.range_forms import RangeForm
from jobs.assessment.services.ranges import range_change
from workshop.web.access import StaffRequest, manager_only
from workshop.web.errors import Refused


@require_safe
@manager_only
def range_list(request: HttpRequest) -> HttpResponse:
    """Show every range with its source."""
    page = {"measures": queries.ranges_listed(), "room": "Norms"}
    return render(request, "jobs/assessment/range_list.html", page)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def change(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take the workshop's own range."""
    row = get_object_or_404(MeasureRange.objects.select_related("measure"), pk=pk)
    form = RangeForm(request.POST or None, initial={"low": _plain(row.low), "high": _plain(row.high)})
    if request.method == "POST" and form.is_valid():
        try:
            range_change(row=row, by=request.user, **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Your own range is kept; readings are judged by it from now on.")
            return redirect("ranges-list")
    page = {"row": row, "form": form, "unit": UNIT_WORDS.get(row.measure.unit, row.measure.unit), "room": "Norms"}
    return render(request, "jobs/assessment/range_change.html", page, status=422 if form.errors else 200)


def _plain(end: Decimal | None) -> str:
    """Return an end of a range without needless noughts, as somebody would write it."""
    return "" if end is None else f"{end.normalize():f}"
