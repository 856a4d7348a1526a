"""The bench: a person's running task, what comes next, and their day."""

import datetime as dt
import uuid
from typing import cast

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.hours import queries, services
from jobs.hours.filters import EntryFilter
from jobs.hours.forms import CloseForm, CorrectForm, EnterForm, LeftForm, WorkedForm, start_of
from jobs.hours.house_queries import house_time_on
from jobs.hours.list_queries import entries_listed, minutes_together
from jobs.hours.models import TimeEntry
from jobs.hours.tables import EntryTable
from jobs.worklist.models import Task
from jobs.worklist.queries import task_said
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused
from workshop.web.tables import list_page


def _task(pk: int) -> Task:
    return get_object_or_404(
        Task.objects.select_related("job__instrument__client", "operation", "skill").prefetch_related("needs__part"),
        pk=pk,
    )


def _day_asked(request: HttpRequest, today: dt.date) -> dt.date:
    """Return the day in the address; today where there is none, or none that has been."""
    try:
        day = dt.date.fromisoformat(request.GET.get("day", ""))
    except ValueError:
        return today
    return min(day, today)


@require_safe
@staff_only
def mine(request: StaffRequest) -> HttpResponse:
    """Show a person's bench, with what they kept today or on the day asked for."""
    return _bench(request)


def _bench(request: StaffRequest, worked_form: WorkedForm | None = None) -> HttpResponse:
    """Return the bench, with the form for how long a clock really ran when that was refused."""
    now, person, today = timezone.now(), request.user, timezone.localdate()
    day = _day_asked(cast(HttpRequest, request), today)
    running = queries.running_of(person)
    passed = now - running.started_at if running and running.started_at else dt.timedelta()
    coming = queries.next_tasks(person, today, at=now)
    forgotten = passed > services.LONGEST_CLOCK
    page = {
        "running": running,
        "forgotten": forgotten,
        "asks_how_long": forgotten
        or worked_form is not None
        or queries.clock_overfills_day(person, now, longest=services.LONGEST_CLOCK),
        "worked_form": worked_form or WorkedForm(),
        "needs": running.task.needs.select_related("part") if running else (),
        "running_minutes": int(passed.total_seconds() // 60),
        "before": queries.minutes_of(running.task) if running else 0,
        "next": [one for one in coming if running is None or one.task.pk != running.task_id],
        "day": day,
        "is_today": day == today,
        "day_before": day - dt.timedelta(days=1),
        "day_after": day + dt.timedelta(days=1),
        "entries": queries.today_of(person, day),
        "house": house_time_on(person, day),
        "total": queries.minutes_on(person, day),
        "person": person,
    }
    status = 422 if worked_form is not None else 200
    return render(cast(HttpRequest, request), "jobs/hours/bench.html", page, status=status)


@require_POST
@staff_only
def start(request: StaffRequest, pk: int) -> HttpResponse:
    """Start the clock on a task; one that runs is stopped and kept."""
    try:
        services.clock_start(task=_task(pk), person=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    return redirect("bench-mine")


@require_POST
@staff_only
def stop(request: StaffRequest) -> HttpResponse:
    """Stop the clock and keep the time: with a quarter or half an hour more, or as long as it really was."""
    extra = {"15": 15, "30": 30}.get(request.POST.get("add", ""), 0)
    form = WorkedForm(request.POST)
    if not form.is_valid():
        return _bench(request, form)
    worked = form.total if "worked" in request.POST else None
    try:
        kept = services.clock_stop(person=request.user, at=timezone.now(), extra_minutes=extra, worked_minutes=worked)
    except Refused as error:
        if queries.running_of(request.user) is not None:
            form.add_error(None, str(error))
            return _bench(request, form)
        messages.error(cast(HttpRequest, request), str(error))
    else:
        messages.success(cast(HttpRequest, request), "Kept." if kept else "Less than a minute; nothing is kept.")
    return redirect("bench-mine")


def _at_task(
    request: StaffRequest,
    task: Task,
    *,
    form: Form | None = None,
    left_form: Form | None = None,
    close_form: Form | None = None,
) -> HttpResponse:
    """Return the page of a task at the bench, with a form that was refused and what was typed into it."""
    page = {
        "task": task,
        "form": form or EnterForm(initial={"client_key": uuid.uuid4()}),
        "close_form": close_form or CloseForm(),
        "left_form": left_form or LeftForm(initial={"hours": task.hours_left}),
        "minutes": queries.minutes_of(task),
        "said": task_said(task, request.user),
        "entries": queries.entries_on(task, request.user),
    }
    refused = any(one is not None for one in (form, left_form, close_form))
    return render(cast(HttpRequest, request), "jobs/hours/enter.html", page, status=422 if refused else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def enter(request: StaffRequest, pk: int) -> HttpResponse:
    """Show a task at the bench; take hours entered by hand."""
    task = _task(pk)
    if request.method != "POST":
        return _at_task(request, task)
    form = EnterForm(request.POST)
    if form.is_valid():
        data = form.cleaned_data
        try:
            services.time_enter(
                task=task,
                person=request.user,
                on=data["on"],
                minutes=data["total"],
                note=data["note"],
                at=timezone.now(),
                client_key=data["client_key"],
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "Kept.")
            return redirect("bench-mine")
    return _at_task(request, task, form=form)


@require_POST
@staff_only
def close(request: StaffRequest, pk: int) -> HttpResponse:
    """Mark a task as done."""
    task, form = _task(pk), CloseForm(request.POST)
    if form.is_valid():
        try:
            flow.task_closed(task, by=request.user, at=timezone.now(), **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), f"“{task.name}” is done.")
            return redirect("bench-mine")
    return _at_task(request, task, close_form=form)


@require_POST
@staff_only
def left(request: StaffRequest, pk: int) -> HttpResponse:
    """Keep how many hours a task still needs."""
    task, form = _task(pk), LeftForm(request.POST)
    if form.is_valid():
        try:
            services.hours_left_say(task=task, hours=form.cleaned_data["hours"], by=request.user)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "Kept; the next plan counts with it.")
            return redirect("bench-enter", pk=pk)
    return _at_task(request, task, left_form=form)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def correct(request: StaffRequest, pk: int) -> HttpResponse:
    """Show an entry with its history; take a correction, or that there was no such time."""
    entry = get_object_or_404(TimeEntry.objects.select_related("task__job__instrument", "person", "replaces"), pk=pk)
    own = entry.person_id == request.user.pk
    if not request.user.is_manager and not own:
        messages.error(
            cast(HttpRequest, request), f"These are {entry.person}’s hours; only they or the manager correct them."
        )
        return redirect("bench-mine")
    form = CorrectForm(request.POST or None, initial=start_of(entry.minutes, entry.on))
    if request.method == "POST" and form.is_valid():
        try:
            _correct(request, entry, form)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "Corrected. The earlier entry stays readable.")
            return redirect("bench-mine" if own else "hours-list")
    page = {"entry": entry, "form": form, "history": _history(entry), "newest": not hasattr(entry, "replaced_by")}
    return render(cast(HttpRequest, request), "jobs/hours/correct.html", page, status=422 if form.errors else 200)


def _correct(request: StaffRequest, entry: TimeEntry, form: CorrectForm) -> None:
    reason, now = form.cleaned_data["reason"], timezone.now()
    if "withdraw" in request.POST:
        flow.hours_withdrawn(entry=entry, reason=reason, by=request.user, at=now)
    else:
        flow.hours_corrected(
            entry=entry, minutes=form.total, reason=reason, by=request.user, at=now, on=form.cleaned_data["on"]
        )


def _history(entry: TimeEntry) -> list[TimeEntry]:
    """Return what an entry replaced, newest first."""
    found: list[TimeEntry] = []
    while entry.replaces is not None:
        entry = entry.replaces
        found.append(entry)
    return found


@require_safe
@manager_only
def hours_list(request: HttpRequest) -> HttpResponse:
    """Show all hours, on tasks and of the house, and how many the filters leave."""
    rows = entries_listed()
    total = minutes_together(*EntryFilter(request.GET, queryset=rows, request=request).parts())
    return list_page(request, EntryTable, rows, EntryFilter, template="jobs/hours/hours_list.html", total=total)
