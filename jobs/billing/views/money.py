"""The Money room: invoices, payments, and the money of each job."""

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from jobs import flow
from jobs.billing import queries, services
from jobs.billing.filters import InvoiceFilter
from jobs.billing.forms import CreditForm, PaymentForm
from jobs.billing.models import EarlierInvoice, Invoice
from jobs.billing.page import house_page, money_page, payments_with_vat, targets_of_carrying
from jobs.billing.pdf import gives_back, invoice_pdf
from jobs.billing.series import invoice_check
from jobs.billing.tables import InvoiceTable, invoice_look
from jobs.worklist.models import Job
from workshop.money.calc import round_money
from workshop.money.words import money
from workshop.web.access import StaffRequest, manager_only
from workshop.web.errors import Refused
from workshop.web.tables import list_page


@require_safe
@manager_only
def money_list(request: HttpRequest) -> HttpResponse:
    """Show what is due, all invoices, and the money of the jobs in hand."""
    return list_page(
        request,
        InvoiceTable,
        queries.invoices_listed(),
        InvoiceFilter,
        template="jobs/billing/money_list.html",
        house=house_page(timezone.localdate()),
    )


def _job(pk: int) -> Job:
    return get_object_or_404(Job.objects.select_related("instrument__client", "quote"), pk=pk)


@require_safe
@manager_only
def job(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the money of one job."""
    return render(request, "jobs/billing/money_job.html", {"page": money_page(_job(pk))})


@require_POST
@manager_only
def issue(request: StaffRequest, pk: int) -> HttpResponse:
    """Issue the invoice of one point of a job."""
    now = timezone.now()
    try:
        invoice = flow.invoice_issued(
            _job(pk),
            point=request.POST.get("point", ""),
            by=request.user,
            on=timezone.localdate(now),
            at=now,
            all_the_same=request.POST.get("all_the_same") == "yes",
        )
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
        return redirect("money-job", pk=pk)
    messages.success(
        cast(HttpRequest, request), f"Invoice {invoice.number} is issued; its message waits for you to read and send."
    )
    return redirect("invoice-show", number=invoice.number)


def _invoice(number: int) -> Invoice:
    invoice: Invoice = get_object_or_404(
        queries.invoices_listed().select_related("credits", "issued_by"), number=number
    )
    return invoice


@require_safe
@manager_only
def show(request: HttpRequest, number: int) -> HttpResponse:
    """Show one invoice, its payments, and what can be done with it."""
    return _page(request, _invoice(number))


def _page(
    request: HttpRequest, invoice: Invoice, payment: PaymentForm | None = None, credit: CreditForm | None = None
) -> HttpResponse:
    still = invoice.still  # type: ignore[attr-defined]
    page = {
        "invoice": invoice,
        "lines": invoice.lines.order_by("position"),
        "payments": payments_with_vat(invoice),
        "look": invoice_look(invoice),
        "still": still,
        "owed": abs(still),
        "is_credit": gives_back(invoice),
        "carry_to": targets_of_carrying(invoice, still),
        "payment_form": payment or PaymentForm(initial={"amount": round_money(abs(still))}),
        "credit_form": credit or CreditForm(),
        "credited_by": invoice.credited_by.first(),
        "taken_into": EarlierInvoice.objects.filter(invoice=invoice, invoice__stands=True).first(),
        "holds": invoice_check(invoice),
    }
    return render(request, "jobs/billing/invoice_show.html", page, status=422 if payment or credit else 200)


@require_safe
@manager_only
def pdf(request: HttpRequest, number: int) -> HttpResponse:
    """Return an invoice as PDF."""
    response = HttpResponse(invoice_pdf(_invoice(number)), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="invoice-{number}.pdf"'
    return response


@require_POST
@manager_only
def keep(request: StaffRequest, number: int) -> HttpResponse:
    """Keep a payment."""
    invoice = _invoice(number)
    form = PaymentForm(request.POST)
    if form.is_valid():
        try:
            services.payment_keep(invoice=invoice, by=request.user, at=timezone.now(), **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), "The payment is kept.")
            return redirect("invoice-show", number=number)
    return _page(cast(HttpRequest, request), invoice, payment=form)


@require_POST
@manager_only
def carry(request: StaffRequest, number: int) -> HttpResponse:
    """Carry what is to be paid back over to another invoice."""
    wanted = request.POST.get("to", "")
    other = Invoice.objects.filter(number=int(wanted)).first() if wanted.isdecimal() and len(wanted) < 10 else None
    if other is None:
        messages.error(cast(HttpRequest, request), "Choose the invoice that the money is carried over to.")
        return redirect("invoice-show", number=number)
    try:
        kept = services.payment_carry(credit=_invoice(number), invoice=other, by=request.user, at=timezone.now())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
        return redirect("invoice-show", number=number)
    messages.success(cast(HttpRequest, request), f"{money(kept.amount)} is carried over to invoice {other.number}.")
    return redirect("invoice-show", number=other.number)


@require_POST
@manager_only
def credit(request: StaffRequest, number: int) -> HttpResponse:
    """Take an invoice back by a credit."""
    invoice = _invoice(number)
    form = CreditForm(request.POST)
    if form.is_valid():
        try:
            paper = services.invoice_credit(
                invoice=invoice, by=request.user, on=timezone.localdate(), reason=form.cleaned_data["reason"]
            )
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), f"Credited by no. {paper.number}.")
            return redirect("invoice-show", number=paper.number)
    return _page(cast(HttpRequest, request), invoice, credit=form)
