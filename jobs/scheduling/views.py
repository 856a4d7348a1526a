"""The Plan room: the plan drawn and listed, made anew; dates given to clients."""

import datetime as dt
from typing import cast

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.scheduling.feed import plan_calendar
from jobs.scheduling.forms import PromiseForm
from jobs.scheduling.queries import current_plan, planned_end, promises_standing, stints_of, tasks_unplanned
from jobs.scheduling.timelines import WEEKS, plan_page
from jobs.scheduling.wishes import wish_last, wish_open
from jobs.worklist.models import Job
from jobs.worklist.queries import open_jobs
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused

CALENDAR_DAYS = 84


def _monday(text: str) -> dt.date:
    """Return the Monday of the week a day lies in; of this week when it is no day."""
    try:
        day = parse_date(text) or timezone.localdate()
    except ValueError:
        day = timezone.localdate()
    return day - dt.timedelta(days=day.weekday())


@require_safe
@staff_only
def show(request: HttpRequest) -> HttpResponse:
    """Show the plan in force for eight weeks."""
    plan = current_plan()
    page = plan_page(plan, _monday(request.GET.get("from", "")), timezone.now())
    last = wish_last()
    context = {
        "page": page,
        "wish": wish_open(),
        "trouble": last.trouble if last else "",
        "unplanned": tasks_unplanned(plan).select_related("job__instrument")[:20] if plan else (),
        "before": page.first - dt.timedelta(days=7 * WEEKS),
        "after": page.first + dt.timedelta(days=7 * WEEKS),
    }
    return render(request, "jobs/scheduling/plan_show.html", context)


@require_safe
@staff_only
def progress(request: HttpRequest) -> HttpResponse:
    """Answer how far a new plan is; when it is there the page loads itself anew."""
    wish = wish_open()
    response = render(request, "jobs/scheduling/_progress.html", {"wish": wish})
    if wish is None:
        response["HX-Refresh"] = "true"
    return response


@require_POST
@manager_only
def make(request: StaffRequest) -> HttpResponse:
    """Ask for a new plan; it is worked out in the background."""
    flow.plan_wanted(by=request.user, at=timezone.now(), why=f"{request.user} asked for it")
    return redirect("plan-show")


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def promise(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take a date given to a client."""
    job = get_object_or_404(Job.objects.select_related("instrument__client"), pk=pk)
    end = planned_end(job)
    form = PromiseForm(request.POST or None, initial={"date": end.ends_on if end else None})
    if request.method == "POST" and form.is_valid():
        try:
            flow.date_moved(job, by=request.user, at=timezone.now(), **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "The date is given. A message waits if it moved.")
            return redirect("desk-instrument", number=job.instrument.number)
    page = {"job": job, "form": form, "end": end, "promises": job.promises.select_related("given_by")}
    return render(
        cast(HttpRequest, request), "jobs/scheduling/promise_give.html", page, status=422 if form.errors else 200
    )


@require_safe
@staff_only
def calendar(request: StaffRequest) -> HttpResponse:
    """Return one's own stints of the next weeks, and the promises, as a calendar file."""
    today = timezone.localdate()
    plan = current_plan()
    last = today + dt.timedelta(days=CALENDAR_DAYS)
    stints = stints_of(plan, today, last).filter(person=request.user) if plan else ()
    promises = promises_standing(open_jobs()).values() if request.user.is_manager else ()
    feed = plan_calendar(stints, promises, domain=settings.MAIL_DOMAIN, at=timezone.now())
    response = HttpResponse(feed, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="plan.ics"'
    return response
