"""Variations: reported from the bench, priced, sent, answered."""

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.operations.models import Operation
from jobs.worklist import services
from jobs.worklist.forms import AnswerForm, FoundForm, PriceChoices, WordsForm
from jobs.worklist.models import Job, Task, Variation
from jobs.worklist.pdf import variation_pdf
from jobs.worklist.queries import implied_by_variation
from workshop.house.queries import the_shop
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused


def _variation(pk: int) -> Variation:
    return get_object_or_404(
        Variation.objects.select_related("job__instrument__client", "job__quote", "found_by"), pk=pk
    )


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def report(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take what was found on opening up."""
    job = get_object_or_404(Job.objects.select_related("instrument"), pk=pk)
    form = FoundForm(job, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            row = services.variation_report(
                job=job,
                found=form.cleaned_data["found"],
                affects=form.cleaned_data["affects"],
                by=request.user,
                at=timezone.now(),
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(
                cast(HttpRequest, request), f"Variation {row.number} is kept. The manager prices it; the rest goes on."
            )
            return redirect("variation-show", pk=row.pk)
    page = {"job": job, "form": form}
    return render(
        cast(HttpRequest, request), "jobs/worklist/variation_report.html", page, status=422 if form.errors else 200
    )


@require_safe
@staff_only
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a variation."""
    row = _variation(pk)
    page = {
        "variation": row,
        "rows": row.operations.select_related("operation"),
        "affects": row.affects.all(),
        "answer_form": AnswerForm(),
    }
    return render(request, "jobs/worklist/variation_show.html", page)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def price(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take what a variation adds and leaves out; what that implies is proposed, with the reason."""
    row = _variation(pk)
    kind = row.job.instrument.kind
    operations = list(Operation.objects.filter(applies_to__in=("both", kind)))
    posted = request.POST if request.method == "POST" else None
    choices = PriceChoices(posted, operations)
    if posted is None:
        for one in row.operations.select_related("operation"):
            if one.adds:
                choices.counts[one.operation.code] = f"{one.quantity.normalize():f}"
    form = WordsForm(posted, initial={"words": row.words})
    if posted is not None:
        for error in choices.errors:
            form.add_error(None, error)
    if posted is not None and form.is_valid():
        try:
            services.variation_price(
                variation=row,
                operations=choices.adds,
                leaves_out=choices.leaves,
                words=form.cleaned_data["words"],
                by=request.user,
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            return redirect("variation-show", pk=pk)
    waiting = set(row.job.tasks.filter(state=Task.State.TO_COME).values_list("operation__code", flat=True))
    page = {
        "variation": row,
        "form": form,
        "rows": [(one, choices.counts.get(one.code, ""), one.code in choices.leaves) for one in operations],
        "waiting": waiting,
        "implied": implied_by_variation(row.job, choices.adds) if choices.adds else (),
    }
    return render(
        cast(HttpRequest, request), "jobs/worklist/variation_price.html", page, status=422 if form.errors else 200
    )


@require_POST
@manager_only
def send(request: StaffRequest, pk: int) -> HttpResponse:
    """Freeze a priced variation and draft the letter about it."""
    try:
        flow.variation_sent(_variation(pk), by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    else:
        messages.success(cast(HttpRequest, request), "Frozen. Its letter waits in Messages for you to read and send.")
    return redirect("variation-show", pk=pk)


@require_POST
@manager_only
def answer(request: StaffRequest, pk: int) -> HttpResponse:
    """Keep an answer the client gave by letter or in person."""
    row = _variation(pk)
    form = AnswerForm(request.POST)
    if not form.is_valid():
        messages.error(cast(HttpRequest, request), " ".join(str(e) for one in form.errors.values() for e in one))
        return redirect("variation-show", pk=pk)
    try:
        flow.variation_answered(
            row,
            agree=form.cleaned_data["answer"] == "agree",
            name=form.cleaned_data["name"],
            at=timezone.now(),
            content_hash=row.content_hash,
        )
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    return redirect("variation-show", pk=pk)


@require_POST
@manager_only
def withdraw(request: StaffRequest, pk: int) -> HttpResponse:
    """Take a variation back that nobody has answered."""
    try:
        services.variation_withdraw(variation=_variation(pk), by=request.user)
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    return redirect("variation-show", pk=pk)


@require_safe
@manager_only
def pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Return a variation as PDF."""
    row = _variation(pk)
    response = HttpResponse(variation_pdf(row, the_shop()), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="variation-{row.job.instrument.number}-{row.number}.pdf"'
    return response
