"""The Norms room: the catalogue of work, and the workshop's own hours."""

from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from jobs import flow
from jobs.operations import queries
from jobs.operations.filters import NormFilter
from jobs.operations.forms import NormForm
from jobs.operations.models import Operation
from jobs.operations.services import norm_change
from jobs.operations.tables import NormTable
from workshop.web.access import StaffRequest, manager_only
from workshop.web.errors import Refused
from workshop.web.tables import list_page


@require_safe
@manager_only
def norm_list(request: HttpRequest) -> HttpResponse:
    """Show all operations with their norms."""
    rows = queries.operations_listed()
    return list_page(
        request,
        NormTable,
        rows,
        NormFilter,
        template="jobs/operations/norm_list.html",
        number_own=rows.filter(edited=True).count(),
    )


def _operation(code: str) -> Operation:
    try:
        return queries.operation_shown(code)
    except Operation.DoesNotExist as error:
        raise Http404 from error


@require_safe
@manager_only
def norm(request: HttpRequest, code: str) -> HttpResponse:
    """Show one operation: its norm, what comes before, what it implies, parts, cautions, source."""
    operation = _operation(code)
    rivals = {
        other.pk: other
        for group in operation.alternative_groups.all()
        for other in group.operations.all()
        if other.pk != operation.pk
    }
    page = {"operation": operation, "rivals": list(rivals.values()), "said": flow.norm_said(operation)}
    return render(request, "jobs/operations/norm_show.html", page)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def change(request: StaffRequest, code: str) -> HttpResponse:
    """Show and take the workshop's own hours."""
    operation = _operation(code)
    names = ("hours_low", "hours_likely", "hours_high")
    form = NormForm(request.POST or None, initial={name: getattr(operation, name) for name in names})
    if request.method == "POST" and form.is_valid():
        try:
            norm_change(operation=operation, by=request.user, on=timezone.localdate(), **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "Your own norm is kept. Quotes already sent keep theirs.")
            return redirect("norm-show", code=code)
    page = {"operation": operation, "form": form}
    return render(
        cast(HttpRequest, request), "jobs/operations/norm_change.html", page, status=422 if form.errors else 200
    )
