"""The Plan room: the plan drawn and listed, made anew; dates given to clients."""

import datetime as dt
from typing import cast

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.scheduling.feed import plan_calendar
from jobs.scheduling.forms import PromiseForm
from jobs.scheduling.models import Plan
from jobs.scheduling.offered import offer_words, offered_page
from jobs.scheduling.queries import (
    current_plan,
    planned_end,
    plans_before,
    plans_offered,
    promise_of,
    promises_standing,
    stints_for_calendar,
    tasks_unplanned,
    visits_unplanned,
)
from jobs.scheduling.services import offers_dismiss
from jobs.scheduling.table import write_plan
from jobs.scheduling.timelines import WEEKS, blocks_between, plan_blocks, plan_page
from jobs.scheduling.timelines.dates import date_page
from jobs.scheduling.timelines.why import task_page
from jobs.scheduling.weeks import weeks_page
from jobs.scheduling.wishes import is_slow, seconds_searched, wish_last, wish_open, wish_stop
from jobs.worklist.models import Job, Task
from jobs.worklist.queries import open_jobs
from workshop.calendar.words import count_words
from workshop.people.models import Person
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused

CALENDAR_DAYS = 84
LISTED = 20


def _monday(text: str) -> dt.date:
    """Return the Monday of the week a day lies in; of this week when it is no day the pages can show."""
    today = timezone.localdate()
    try:
        day = parse_date(text) or today
    except ValueError:
        day = today
    if abs(day.year - today.year) > 20:
        day = today
    return day - dt.timedelta(days=day.weekday())


def _number(text: str) -> int | None:
    """Return the number of a row as an address or a form names it; None when it is none."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else None


def _plan_asked(request: HttpRequest) -> Plan | None:
    """Return the plan the address names, or the one in force. What is offered is for the manager's eyes."""
    asked = _number(request.GET.get("plan", ""))
    if asked is None:
        return current_plan()
    plan = get_object_or_404(Plan, pk=asked)
    if plan.is_offered and not cast(Person, request.user).is_manager:
        raise Http404
    return plan


@require_safe
@staff_only
def show(request: HttpRequest) -> HttpResponse:
    """Show a plan, the one in force unless asked otherwise, for eight weeks."""
    plan, now = _plan_asked(request), timezone.now()
    page = plan_page(plan, _monday(request.GET.get("from", "")), now)
    wish, last = wish_open(), wish_last()
    unplanned = tasks_unplanned(plan) if plan else []
    offers = plans_offered() if cast(Person, request.user).is_manager else []
    context = {
        "page": page,
        "wish": wish,
        "slow": is_slow(wish, now),
        "trouble": last.trouble if last else "",
        "unplanned": unplanned[:LISTED],
        "unplanned_more": max(0, len(unplanned) - LISTED),
        "visits": visits_unplanned(plan) if plan else 0,
        "plans": plans_before(plan) if plan else (),
        "old": plan is not None and not plan.is_current,
        "offered": offer_words(offers),
        "seconds": seconds_searched(wish, now),
        "before": page.first - dt.timedelta(days=7 * WEEKS),
        "after": page.first + dt.timedelta(days=7 * WEEKS),
    }
    return render(request, "jobs/scheduling/plan_show.html", context)


@require_safe
@staff_only
def tasks(request: HttpRequest) -> HttpResponse:
    """Show the tasks of eight weeks of a plan as a table: what is drawn on its page, in a full house."""
    plan, first = _plan_asked(request), _monday(request.GET.get("from", ""))
    weeks = dt.timedelta(days=7 * WEEKS)
    context = {
        "plan": plan,
        "page": {"plan": plan, "first": first, "last": first + weeks - dt.timedelta(days=1)},
        "blocks": blocks_between(plan, first, first + weeks - dt.timedelta(days=1)),
        "old": plan is not None and not plan.is_current,
        "before": first - weeks,
        "after": first + weeks,
    }
    return render(request, "jobs/scheduling/plan_tasks.html", context)


@require_safe
@staff_only
def progress(request: HttpRequest) -> HttpResponse:
    """Answer how far a new plan is; when it is there the page loads itself anew."""
    wish, now = wish_open(), timezone.now()
    context = {"wish": wish, "slow": is_slow(wish, now), "seconds": seconds_searched(wish, now)}
    response = render(request, "jobs/scheduling/_progress.html", context)
    if wish is None:
        response["HX-Refresh"] = "true"
    return response


@require_POST
@manager_only
def make(request: StaffRequest) -> HttpResponse:
    """Ask for a new plan; it is worked out in the background."""
    flow.plan_wanted(by=request.user, at=timezone.now(), why=f"{request.user} asked for it")
    return redirect("plan-show")


@require_POST
@manager_only
def stop(request: StaffRequest) -> HttpResponse:
    """Ask the search that is going on to stop with the best plan so far."""
    wish = _number(request.POST.get("wish", ""))
    if wish is None or not wish_stop(wish=wish, by=request.user, at=timezone.now()):
        messages.warning(cast(HttpRequest, request), "That search has ended by itself.")
    return redirect("plan-show")


@require_safe
@manager_only
def offered(request: StaffRequest) -> HttpResponse:
    """Show the ways that wait for an answer: what each moves, for whom and why, and what clients would be told."""
    page = offered_page(request.GET.get("way", ""), timezone.now())
    letters = flow.plan_letters(page.chosen.plan) if page else []
    context = {"page": page, "letters": letters, "wish": wish_open()}
    return render(cast(HttpRequest, request), "jobs/scheduling/plan_offered.html", context)


@require_POST
@manager_only
def accept(request: StaffRequest) -> HttpResponse:
    """Put the way that was chosen in force; what clients are to be told waits as drafts."""
    told, plan = cast(HttpRequest, request), _offered(request)
    try:
        drafts = flow.plan_accepted(plan, by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(told, str(error))
        return redirect("plan-offered" if plans_offered() else "plan-show")
    waits = f" {count_words(len(drafts)).capitalize()} message{' waits' if len(drafts) == 1 else 's wait'} to be read."
    messages.success(told, f"The new plan is in force.{waits if drafts else ''}")
    return redirect("plan-show")


@require_POST
@manager_only
def keep(request: StaffRequest) -> HttpResponse:
    """Keep the plan in force and throw away what was offered."""
    told = cast(HttpRequest, request)
    try:
        offers_dismiss(plan=_offered(request), by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(told, str(error))
    else:
        messages.success(told, "The plan in force stays. What was offered is gone.")
    return redirect("plan-show")


def _offered(request: StaffRequest) -> Plan:
    """Return the plan a form names; one that is gone is refused by what is done with it."""
    return Plan(pk=_number(request.POST.get("plan", "")) or 0)


@require_safe
@staff_only
def task(request: HttpRequest, pk: int) -> HttpResponse:
    """Show why a task stands where it stands in the plan in force."""
    found = get_object_or_404(Task.objects.select_related("job__instrument", "skill", "operation"), pk=pk)
    plan = current_plan()
    return render(request, "jobs/scheduling/plan_task.html", {"page": task_page(found, plan), "plan": plan})


@require_safe
@staff_only
def date(request: HttpRequest, pk: int) -> HttpResponse:
    """Show how sure one instrument's date is in the plan in force, what decides it, and what would help."""
    job = get_object_or_404(Job.objects.select_related("instrument__client"), pk=pk)
    page = date_page(job, planned_end(job), promise_of(job))
    return render(request, "jobs/scheduling/plan_date.html", {"page": page, "plan": current_plan()})


@require_safe
@staff_only
def table(request: HttpRequest) -> HttpResponse:
    """Return all tasks of a plan as a CSV file."""
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="plan.csv"'
    write_plan(plan_blocks(_plan_asked(request)), response)
    return response


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def promise(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take a date given to a client."""
    job = get_object_or_404(Job.objects.select_related("instrument__client"), pk=pk)
    end = planned_end(job)
    form = PromiseForm(request.POST or None, initial={"date": end.day_80 or end.ends_on if end else None}, end=end)
    if request.method == "POST" and form.is_valid():
        try:
            flow.date_moved(job, by=request.user, at=timezone.now(), **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "The date is given. A message waits if it moved.")
            return redirect("desk-instrument", number=job.instrument.number)
    days = date_page(job, end, None).days
    page = {"job": job, "form": form, "end": end, "days": days, "promises": job.promises.select_related("given_by")}
    return render(
        cast(HttpRequest, request), "jobs/scheduling/promise_give.html", page, status=422 if form.errors else 200
    )


@require_safe
@staff_only
def calendar(request: StaffRequest) -> HttpResponse:
    """Return one's own stints of the next weeks, and the promises for a manager, as a calendar file."""
    until = timezone.localdate() + dt.timedelta(days=CALENDAR_DAYS)
    stints = stints_for_calendar(request.user, until)
    promises = promises_standing(open_jobs()).values() if request.user.is_manager else ()
    feed = plan_calendar(stints, promises, domain=settings.MAIL_DOMAIN, at=timezone.now())
    response = HttpResponse(feed, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="plan.ics"'
    return response


@require_safe
@manager_only
def weeks(request: HttpRequest) -> HttpResponse:
    """Show how full people and places are in the weeks ahead, and what collecting would free."""
    try:
        page = weeks_page(timezone.now(), **flow.work_in_hand())
    except Refused as error:
        messages.error(request, str(error))
        return redirect("plan-show")
    return render(request, "jobs/scheduling/weeks.html", {"page": page})
