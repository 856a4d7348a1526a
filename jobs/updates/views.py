"""Messages to clients: read, changed, released or left unsent; mail nobody is certain of."""

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.updates.filters import UpdateFilter
from jobs.updates.forms import NewUpdateForm, UpdateForm
from jobs.updates.models import Update
from jobs.updates.queries import updates_listed, updates_to_release
from jobs.updates.services import update_change, update_drop, update_write
from jobs.updates.tables import UpdateTable, update_look
from jobs.worklist.models import Job
from workshop.mail.models import Mail
from workshop.mail.queries import mails_delayed, mails_in_doubt
from workshop.mail.services import Decision, mail_resolve
from workshop.web.access import StaffRequest, manager_only
from workshop.web.errors import Refused
from workshop.web.tables import list_page


@require_safe
@manager_only
def update_list(request: HttpRequest) -> HttpResponse:
    """Show all messages, drafts counted first."""
    return list_page(
        request,
        UpdateTable,
        updates_listed(),
        UpdateFilter,
        template="jobs/updates/update_list.html",
        number_drafts=updates_to_release().count(),
        number_doubtful=mails_in_doubt().count(),
    )


def _update(pk: int) -> Update:
    return get_object_or_404(Update.objects.select_related("client", "instrument", "job", "mail", "released_by"), pk=pk)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def show(request: StaffRequest, pk: int) -> HttpResponse:
    """Show a message; take changed words, and release it if that was pressed."""
    update = _update(pk)
    form = UpdateForm(request.POST or None, initial={"subject": update.subject, "body": update.body})
    if request.method == "POST" and form.is_valid():
        try:
            update_change(update=update, by=request.user, **form.cleaned_data)
            if "release" in request.POST:
                flow.update_released(_update(pk), by=request.user, at=timezone.now())
        except Refused as error:
            form.add_error(None, str(error))
        else:
            released = "release" in request.POST
            said = f"On its way to {update.client}." if released else "Kept; nothing was sent."
            messages.success(cast(HttpRequest, request), said)
            return redirect("desk-today") if released else redirect("update-show", pk=pk)
    page = {"update": update, "form": form, "look": update_look(update)}
    return render(cast(HttpRequest, request), "jobs/updates/update_show.html", page, status=422 if form.errors else 200)


@require_POST
@manager_only
def release(request: StaffRequest, pk: int) -> HttpResponse:
    """Send a message as it stands."""
    try:
        update = flow.update_released(_update(pk), by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
        return redirect("update-show", pk=pk)
    messages.success(cast(HttpRequest, request), f"On its way to {update.client}.")
    return redirect("desk-today")


@require_POST
@manager_only
def drop(request: StaffRequest, pk: int) -> HttpResponse:
    """Leave a draft unsent."""
    try:
        update_drop(update=_update(pk), by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    else:
        messages.success(cast(HttpRequest, request), "Left unsent. It stays readable here.")
    return redirect("updates-list")


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def new(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take the form of a message about something that happened on a job."""
    job = get_object_or_404(Job.objects.select_related("instrument__client"), pk=pk)
    form = NewUpdateForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        update = update_write(job=job, by=request.user, at=timezone.now(), **form.cleaned_data)
        return redirect("update-show", pk=update.pk)
    page = {"job": job, "form": form}
    return render(cast(HttpRequest, request), "jobs/updates/update_new.html", page, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def doubtful(request: StaffRequest) -> HttpResponse:
    """Show mail nobody is certain of, and take what a person decides about one."""
    if request.method == "POST":
        mail = get_object_or_404(Mail, pk=request.POST.get("mail") or None)
        decision = request.POST.get("decision", "")
        if decision in ("again", "arrived", "drop"):
            try:
                mail_resolve(mail=mail, decision=cast(Decision, decision), by=request.user, at=timezone.now())
            except Refused as error:
                messages.error(cast(HttpRequest, request), str(error))
        return redirect("mail-doubtful")
    page = {"doubtful": mails_in_doubt(), "delayed": mails_delayed()}
    return render(cast(HttpRequest, request), "jobs/updates/mail_doubtful.html", page)
