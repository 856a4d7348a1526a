"""Variations: reported from the bench, priced, sent, answered."""

from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.worklist import services
from jobs.worklist.forms import AnswerForm, FoundForm, PriceChoices, SendForm, WordsForm
from jobs.worklist.models import Job, Variation
from jobs.worklist.pdf import variation_pdf
from jobs.worklist.price_page import choices_kept, operations_for, proposals, stages_of_work
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
    form = FoundForm(job, request.POST or None, initial={"affects": request.GET.getlist("task")})
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


def _page(
    row: Variation, *, send_form: SendForm | None = None, answer_form: AnswerForm | None = None
) -> dict[str, Any]:
    return {
        "variation": row,
        "rows": row.operations.select_related("operation"),
        "affects": row.affects.all(),
        "send_form": send_form or SendForm(initial={"ready_on": row.ready_on}),
        "answer_form": answer_form or AnswerForm(initial={"content_hash": row.content_hash}),
    }


@require_safe
@staff_only
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a variation."""
    return render(request, "jobs/worklist/variation_show.html", _page(_variation(pk)))


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def price(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take what a variation adds and leaves out.

    What the chosen work makes necessary is shown first, with its reason; it is kept at the next press.
    """
    row = _variation(pk)
    operations = operations_for(row.job)
    posted = request.POST if request.method == "POST" else None
    choices = PriceChoices(posted, operations) if posted is not None else choices_kept(row, operations)
    form = WordsForm(posted, initial={"words": row.words})
    proposed = proposals(row.job, operations, choices) if posted is not None else []
    for error in choices.errors:
        form.add_error(None, error)
    if posted is not None and form.is_valid() and all(line.operation.code in choices.seen for line in proposed):
        try:
            services.variation_price(
                variation=row,
                operations=choices.adds,
                leaves_out=choices.leaves,
                parts_bought=choices.bought,
                words=form.cleaned_data["words"],
                by=request.user,
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            return redirect("variation-show", pk=pk)
    page = {
        "variation": row,
        "form": form,
        "proposed": proposed,
        "stages": stages_of_work(row.job, operations, choices, [line.operation.code for line in proposed]),
    }
    return render(
        cast(HttpRequest, request), "jobs/worklist/variation_price.html", page, status=422 if form.errors else 200
    )


@require_POST
@manager_only
def send(request: StaffRequest, pk: int) -> HttpResponse:
    """Freeze a priced variation and draft the letter about it."""
    row = _variation(pk)
    form = SendForm(request.POST)
    if form.is_valid():
        try:
            flow.variation_sent(row, by=request.user, at=timezone.now(), ready_on=form.cleaned_data["ready_on"])
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(
                cast(HttpRequest, request), "Frozen. Its letter waits in Messages for you to read and send."
            )
            return redirect("variation-show", pk=pk)
    page = _page(row, send_form=form)
    return render(cast(HttpRequest, request), "jobs/worklist/variation_show.html", page, status=422)


@require_POST
@manager_only
def answer(request: StaffRequest, pk: int) -> HttpResponse:
    """Keep an answer the client gave by letter or in person."""
    row = _variation(pk)
    form = AnswerForm(request.POST)
    if form.is_valid():
        data = form.cleaned_data
        try:
            flow.variation_answered(
                row,
                agree=data["answer"] == "agree",
                name=data["name"],
                at=timezone.now(),
                content_hash=data["content_hash"],
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "Kept. The plan is worked out anew.")
            return redirect("variation-show", pk=pk)
    page = _page(row, answer_form=form)
    return render(cast(HttpRequest, request), "jobs/worklist/variation_show.html", page, status=422)


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
