"""The Norms room, what hours say: learned norms, their evidence, decisions, and how good the figures were."""

from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from jobs.estimating import queries, services
from jobs.estimating.decisions import norm_accept, norm_keep
from jobs.estimating.forms import AcceptForm, KeepForm, LeaveOutForm
from jobs.estimating.models import HoursLog
from jobs.operations.models import Operation
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused


@require_safe
@manager_only
def learned(request: HttpRequest) -> HttpResponse:
    """Show every norm of which something is logged, those the hours speak against first, and which figures to doubt."""
    lines = queries.norms_learned()
    page = {
        "lines": lines,
        "proposed": [line for line in lines if line.proposal],
        "doubted": queries.figures_held().doubted,
    }
    return render(request, "jobs/estimating/norms_learned.html", page)


@require_safe
@manager_only
def norm_hours(request: HttpRequest, code: str) -> HttpResponse:
    """Show what was logged of one operation, what to expect, and what follows for its norm."""
    return _evidence_page(request, _operation(code), KeepForm(), 200)


@require_POST
@manager_only
def accept(request: StaffRequest, code: str) -> HttpResponse:
    """Take the proposed norm."""
    operation, form = _operation(code), AcceptForm(request.POST)
    try:
        if not form.is_valid():
            raise Refused("Take the norm from its page, so that the figure you read is the one that counts.")
        now = timezone.now()
        norm_accept(
            operation=operation, likely=form.cleaned_data["likely"], by=request.user, at=now, on=timezone.localdate(now)
        )
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    else:
        messages.success(cast(HttpRequest, request), "The norm is changed. Quotes already sent keep theirs.")
    return redirect("norm-hours", code=code)


@require_POST
@manager_only
def keep(request: StaffRequest, code: str) -> HttpResponse:
    """Keep the norm as it is, with the reason."""
    operation, form = _operation(code), KeepForm(request.POST)
    if form.is_valid():
        now = timezone.now()
        try:
            norm_keep(
                operation=operation,
                reason=form.cleaned_data["reason"],
                by=request.user,
                at=now,
                on=timezone.localdate(now),
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "The norm stays, with your reason beside it.")
            return redirect("norm-hours", code=code)
    return _evidence_page(cast(HttpRequest, request), operation, form, 422)


@require_POST
@manager_only
def leave_out(request: StaffRequest, pk: int) -> HttpResponse:
    """Leave a log out of the figures."""
    log = get_object_or_404(HoursLog.objects.select_related("operation"), pk=pk)
    form = LeaveOutForm(request.POST)
    reason = form.cleaned_data["reason"] if form.is_valid() else ""
    try:
        services.log_leave_out(log=log, reason=reason, by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    else:
        messages.success(cast(HttpRequest, request), "These hours are not counted any more; the entry itself stays.")
    return redirect("norm-hours", code=log.operation.code)


@require_POST
@manager_only
def count_again(request: StaffRequest, pk: int) -> HttpResponse:
    """Count a log again."""
    log = get_object_or_404(HoursLog.objects.select_related("operation"), pk=pk)
    services.log_count_again(log=log, by=request.user, at=timezone.now())
    messages.success(cast(HttpRequest, request), "These hours count again.")
    return redirect("norm-hours", code=log.operation.code)


@require_safe
@staff_only
def held(request: StaffRequest) -> HttpResponse:
    """Show how often figures held: to the manager of the whole shop, to a technician of their own tasks."""
    person = None if request.user.is_manager else request.user
    page = {"held": queries.figures_held(person), "own": person is not None}
    return render(cast(HttpRequest, request), "jobs/estimating/figures_held.html", page)


def _operation(code: str) -> Operation:
    operation = Operation.objects.filter(code=code).first()
    if operation is None:
        raise Http404
    return operation


def _evidence_page(request: HttpRequest, operation: Operation, form: KeepForm, status: int) -> HttpResponse:
    page = {"operation": operation, "evidence": queries.norm_evidence(operation), "form": form}
    return render(request, "jobs/estimating/norm_hours.html", page, status=status)
