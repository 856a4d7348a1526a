"""The pages that bring past hours in and take them back."""

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from jobs.estimating.calc.csv_hours import COLUMNS
from jobs.estimating.forms import BringInForm
from jobs.estimating.models import HoursImport
from jobs.estimating.past_hours import past_hours_keep, past_hours_read, past_hours_take_back
from workshop.web.access import StaffRequest, manager_only
from workshop.web.errors import Refused


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def bring_in(request: StaffRequest) -> HttpResponse:
    """Show what is understood of a table of past hours; keep it on the second press."""
    plain = cast(HttpRequest, request)
    form = BringInForm(request.POST, request.FILES) if request.method == "POST" else BringInForm()
    preview, status, today = None, 200, timezone.localdate()
    if request.method == "POST" and form.is_valid():
        text = form.cleaned_data["text"]
        preview = past_hours_read(text, today)
        if "keep" in request.POST:
            try:
                batch = past_hours_keep(text=text, by=request.user, at=timezone.now(), today=today)
            except Refused as error:
                messages.error(plain, str(error))
            else:
                messages.success(plain, f"{batch.rows} past tasks are kept and count from now on.")
                return redirect("norms-bring-in")
        status = 422 if preview.faults else 200
        form = BringInForm(initial={"text": text})
    elif request.method == "POST":
        status = 422
    page = {
        "form": form,
        "preview": preview,
        "heads": ", ".join(COLUMNS),
        "batches": HoursImport.objects.select_related("by", "taken_back_by")[:20],
    }
    return render(plain, "jobs/estimating/bring_in.html", page, status=status)


@require_POST
@manager_only
def take_back(request: StaffRequest, pk: int) -> HttpResponse:
    """Take back what one table brought in."""
    batch = get_object_or_404(HoursImport, pk=pk)
    try:
        past_hours_take_back(batch=batch, by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    else:
        messages.success(cast(HttpRequest, request), f"{batch.rows} past tasks are taken back.")
    return redirect("norms-bring-in")
