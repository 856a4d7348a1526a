"""One job, its tasks, its days in the house, its card."""

from typing import cast

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from jobs import flow
from jobs.worklist.forms import AgreedForm, DayForm, ReturnForm
from jobs.worklist.models import Job, Task
from jobs.worklist.page import job_page
from jobs.worklist.pdf import job_card_pdf
from jobs.worklist.queries import held_by, job_card, open_before, task_said
from jobs.worklist.services import task_agreed_write
from workshop.house.queries import the_shop
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused


def _job(pk: int) -> Job:
    return get_object_or_404(Job.objects.select_related("instrument__client", "quote", "scope"), pk=pk)


@require_safe
@staff_only
def show(request: StaffRequest, pk: int) -> HttpResponse:
    """Show a job: its stages with their tasks, what was agreed later, and to the manager where it will end."""
    job = _job(pk)
    page: dict[str, object] = {"job": job, "page": job_page(job, flow.minutes_logged(job))}
    if request.user.is_manager and job.state != Job.State.STOPPED:
        page["end"] = flow.job_ends(job)
    return render(cast(HttpRequest, request), "jobs/worklist/job_show.html", page)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def book_in(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take the day an instrument arrived."""
    job = _job(pk)
    form = DayForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            flow.job_booked_in(job, by=request.user, on=form.cleaned_data["on"], at=timezone.now())
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "Booked in. The message to its owner waits to be read.")
            return redirect("job-show", pk=pk)
    page = {"job": job, "form": form, "head": "It has arrived", "button": "Book it in"}
    return render(cast(HttpRequest, request), "jobs/worklist/job_day.html", page, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def go_home(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take the day an instrument went home."""
    job = _job(pk)
    form = ReturnForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            flow.job_returned(
                job,
                by=request.user,
                on=form.cleaned_data["on"],
                at=timezone.now(),
                in_spite_of_balance=form.cleaned_data["in_spite_of_balance"],
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "It went home; its floor place is free.")
            return redirect("job-show", pk=pk)
    page = {"job": job, "form": form, "head": "It goes home", "button": "It went home"}
    return render(cast(HttpRequest, request), "jobs/worklist/job_day.html", page, status=422 if form.errors else 200)


@require_safe
@staff_only
def card(request: HttpRequest, pk: int) -> HttpResponse:
    """Return the job card as PDF; of one stage with ``?stage=``."""
    job = _job(pk)
    stage = request.GET.get("stage", "")
    address = settings.SITE_URL + reverse("job-show", args=[pk]) + (f"#stage-{stage}" if stage else "")
    found = job_card(job, address, stage)
    if stage and not found.stages:
        raise Http404("This job has no such stage.")
    pdf = job_card_pdf(found, the_shop(), flow.parts_on_card(job, stage))
    response = HttpResponse(pdf, content_type="application/pdf")
    name = f"job-card-{job.instrument.number}{'-' + stage if stage else ''}.pdf"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def task(request: StaffRequest, pk: int) -> HttpResponse:
    """Show a task, what comes before it, and take what exactly was agreed."""
    row = get_object_or_404(Task.objects.select_related("job__instrument__client", "operation", "skill"), pk=pk)
    form = AgreedForm(request.POST or None, initial={"agreed": row.agreed})
    if request.method == "POST" and form.is_valid():
        try:
            task_agreed_write(task=row, agreed=form.cleaned_data["agreed"], by=request.user)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            return redirect("job-show", pk=row.job_id)
    page = {
        "task": row,
        "form": form,
        "open_before": open_before(row),
        "before": row.after.all(),
        "held_by": held_by(row.job).get(row.pk, []),
        "said": task_said(row, request.user),
    }
    return render(cast(HttpRequest, request), "jobs/worklist/task_show.html", page, status=422 if form.errors else 200)
