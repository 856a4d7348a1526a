"""The bench: a person's running task, what comes next, and their day."""

import uuid
from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.hours import queries, services
from jobs.hours.filters import EntryFilter
from jobs.hours.forms import CloseForm, CorrectForm, EnterForm, LeftForm, start_of
from jobs.hours.models import TimeEntry
from jobs.hours.tables import EntryTable
from jobs.worklist.models import Task
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused
from workshop.web.tables import list_page


def _task(pk: int) -> Task:
    return get_object_or_404(
        Task.objects.select_related("job__instrument__client", "operation", "skill").prefetch_related("needs__part"),
        pk=pk,
    )


@require_safe
@staff_only
def mine(request: StaffRequest) -> HttpResponse:
    """Show a person's bench."""
    now = timezone.now()
    person, day = request.user, timezone.localdate()
    running = queries.running_of(person)
    before = queries.minutes_of(running.task) if running else 0
    page = {
        "running": running,
        "needs": running.task.needs.select_related("part") if running else (),
        "running_minutes": int((now - running.started_at).total_seconds() // 60)
        if running and running.started_at
        else 0,
        "before": before,
        "next": queries.next_tasks(person, day),
        "entries": queries.today_of(person, day),
        "total": queries.minutes_on(person, day),
        "person": person,
    }
    return render(cast(HttpRequest, request), "jobs/hours/bench.html", page)


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
    """Stop the clock and keep the time, with a quarter or half an hour more if that was pressed."""
    extra = {"15": 15, "30": 30}.get(request.POST.get("add", ""), 0)
    try:
        services.clock_stop(person=request.user, at=timezone.now(), extra_minutes=extra)
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    else:
        messages.success(cast(HttpRequest, request), "Kept.")
    return redirect("bench-mine")


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def enter(request: StaffRequest, pk: int) -> HttpResponse:
    """Show a task at the bench; take hours entered by hand."""
    task = _task(pk)
    form = EnterForm(request.POST or None, initial={"client_key": uuid.uuid4()})
    if request.method == "POST" and form.is_valid():
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
    page = {
        "task": task,
        "form": form,
        "close_form": CloseForm(),
        "left_form": LeftForm(initial={"hours": task.hours_left}),
        "minutes": queries.minutes_of(task),
    }
    return render(cast(HttpRequest, request), "jobs/hours/enter.html", page, status=422 if form.errors else 200)


@require_POST
@staff_only
def close(request: StaffRequest, pk: int) -> HttpResponse:
    """Mark a task as done."""
    form = CloseForm(request.POST)
    because = form.cleaned_data["no_hours_because"] if form.is_valid() else ""
    task = _task(pk)
    try:
        flow.task_closed(task, by=request.user, at=timezone.now(), no_hours_because=because)
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
        return redirect("bench-enter", pk=pk)
    messages.success(cast(HttpRequest, request), f"“{task.name}” is done.")
    return redirect("bench-mine")


@require_POST
@staff_only
def left(request: StaffRequest, pk: int) -> HttpResponse:
    """Keep how many hours a task still needs."""
    form = LeftForm(request.POST)
    if form.is_valid():
        try:
            services.hours_left_say(task=_task(pk), hours=form.cleaned_data["hours"], by=request.user)
        except Refused as error:
            messages.error(cast(HttpRequest, request), str(error))
        else:
            messages.success(cast(HttpRequest, request), "Kept; the next plan counts with it.")
    else:
        messages.error(cast(HttpRequest, request), "Write the hours still to work as a number, such as 2.5.")
    return redirect("bench-enter", pk=pk)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def correct(request: StaffRequest, pk: int) -> HttpResponse:
    """Show an entry with its history; take a correction, or that there was no such time."""
    entry = get_object_or_404(TimeEntry.objects.select_related("task__job__instrument", "person", "replaces"), pk=pk)
    if not request.user.is_manager and entry.person_id != request.user.pk:
        messages.error(
            cast(HttpRequest, request), f"These are {entry.person}’s hours; only they or the manager correct them."
        )
        return redirect("bench-mine")
    form = CorrectForm(request.POST or None, initial=start_of(entry.minutes, entry.on))
    if request.method == "POST" and form.is_valid():
        try:
            if "withdraw" in request.POST:
                services.entry_withdraw(
                    entry=entry, reason=form.cleaned_data["reason"], by=request.user, at=timezone.now()
                )
            else:
                services.entry_correct(
                    entry=entry,
                    minutes=form.total,
                    reason=form.cleaned_data["reason"],
                    by=request.user,
                    at=timezone.now(),
                )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "Corrected. The earlier entry stays readable.")
            return redirect("bench-mine")
    page = {"entry": entry, "form": form, "history": _history(entry)}
    return render(cast(HttpRequest, request), "jobs/hours/correct.html", page, status=422 if form.errors else 200)


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
    """Show all hours."""
    return list_page(request, EntryTable, queries.entries_listed(), EntryFilter, template="jobs/hours/hours_list.html")
