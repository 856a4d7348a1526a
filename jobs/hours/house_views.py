"""Time of the house: written down on a first assessment and on visits under guarantee, taken back with a reason."""

import uuid
from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from jobs.assessment.models import Assessment
from jobs.hours.forms import HouseForm, TakeBackForm
from jobs.hours.house_queries import house_time_of
from jobs.hours.models import HouseTime
from jobs.hours.services import house_time_keep, house_time_take_back
from jobs.worklist.models import Job
from workshop.web.access import StaffRequest, staff_only
from workshop.web.errors import Refused


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def assessment_hours(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take the hours a first assessment took, before there is an order."""
    return _house_page(request, get_object_or_404(Assessment.objects.select_related("instrument__client"), pk=pk))


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def visits(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take the hours of visits under guarantee, after an instrument went home."""
    return _house_page(request, get_object_or_404(Job.objects.select_related("instrument__client"), pk=pk))


def _house_page(request: StaffRequest, about: Assessment | Job) -> HttpResponse:
    by, now = request.user, timezone.now()
    first = {"client_key": uuid.uuid4(), "person": by.pk}
    form = HouseForm(request.POST, by=by) if request.method == "POST" else HouseForm(initial=first, by=by)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            house_time_keep(
                about=about,
                person=data.get("person") or by,
                on=data["on"],
                minutes=data["total"],
                note=data["note"],
                by=by,
                at=now,
                client_key=data["client_key"],
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "Kept.")
            return redirect(*_address(about))
    rows = house_time_of(about)
    page = {
        "form": form,
        "assessment": about if isinstance(about, Assessment) else None,
        "job": about if isinstance(about, Job) else None,
        "instrument": about.instrument,
        "rows": [(row, row.taken_back_at is None and (by.is_manager or row.person_id == by.pk)) for row in rows],
        "minutes": sum(row.minutes for row in rows if row.taken_back_at is None),
        "back_form": TakeBackForm(),
    }
    status = 422 if form.errors else 200
    return render(cast(HttpRequest, request), "jobs/hours/house_time.html", page, status=status)


@require_POST
@staff_only
def take_back(request: StaffRequest, pk: int) -> HttpResponse:
    """Take back time of the house."""
    row = get_object_or_404(HouseTime.objects.select_related("assessment", "job"), pk=pk)
    form = TakeBackForm(request.POST)
    reason = form.cleaned_data["reason"] if form.is_valid() else ""
    try:
        house_time_take_back(row=row, reason=reason, by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    else:
        messages.success(cast(HttpRequest, request), "Taken back. The entry stays readable.")
    return redirect("assessment-hours" if row.assessment_id else "job-visits", pk=row.assessment_id or row.job_id)


def _address(about: Assessment | Job) -> tuple[str, int]:
    return ("assessment-hours" if isinstance(about, Assessment) else "job-visits"), about.pk
