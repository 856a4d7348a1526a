"""An assessment invoiced on its own, and whether the job that followed takes it off."""

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from jobs import flow
from jobs.assessment.models import Assessment
from jobs.billing import services
from jobs.billing.assessment_page import assessment_price
from jobs.billing.forms import AssessmentForm
from jobs.billing.models import EarlierInvoice
from workshop.money.words import money
from workshop.web.access import StaffRequest, manager_only
from workshop.web.errors import Refused


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def invoice(request: StaffRequest, pk: int) -> HttpResponse:
    """Show what an assessment would cost on its own, and issue its invoice."""
    assessment = get_object_or_404(Assessment.objects.select_related("instrument__client"), pk=pk)
    price = assessment_price(assessment)
    form = AssessmentForm(request.POST if request.method == "POST" else None, initial={"amount": price.amount})
    if request.method == "POST" and form.is_valid():
        now = timezone.now()
        try:
            issued = flow.assessment_invoiced(
                assessment, form.cleaned_data["amount"], by=request.user, on=timezone.localdate(now), at=now
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            words = f"Invoice {issued.number} is issued; its message waits for you to read and send."
            messages.success(cast(HttpRequest, request), words)
            return redirect("invoice-show", number=issued.number)
    page = {
        "assessment": assessment,
        "instrument": assessment.instrument,
        "price": price,
        "form": form,
        "cannot": _why_not(assessment) if not form.is_bound else "",
    }
    return render(
        cast(HttpRequest, request), "jobs/billing/assessment_invoice.html", page, status=422 if form.errors else 200
    )


def _why_not(assessment: Assessment) -> str:
    """Return why an assessment cannot be invoiced on its own today; "" where it can."""
    try:
        services.assessment_free(assessment, timezone.localdate())
    except Refused as error:
        return str(error)
    return ""


@require_POST
@manager_only
def choose(request: StaffRequest, pk: int) -> HttpResponse:
    """Take the invoice of an assessment off what its job asks for, or leave it as it is."""
    row = get_object_or_404(EarlierInvoice.objects.select_related("invoice"), pk=pk)
    deducted = request.POST.get("deducted") == "yes"
    try:
        services.earlier_invoice_choose(row=row, deducted=deducted, by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
    else:
        done = "comes off what this job asks for" if deducted else "is paid beside what this job asks for"
        messages.success(cast(HttpRequest, request), f"The assessment, {money(row.invoice.total)}, {done}.")
    return redirect("money-job", pk=row.job_id)
