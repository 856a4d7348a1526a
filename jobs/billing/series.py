"""The unbroken series: what is hashed of an invoice, and whether anything was changed behind our back."""

import hashlib
import json
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch

from jobs.billing.models import Invoice, InvoiceLine, InvoiceSeries

Row = tuple[str, Decimal, Decimal, Decimal, Decimal]  # words, net, rate, vat, gross
MOST_TOLD = 5


def invoice_content(invoice: Invoice, lines: Iterable[Row], credited: int | None) -> str:
    """Return the hash over everything printed on an invoice (SHA-256, hex).

    ``credited`` is the number of the invoice that this one takes back. Payments come later and are no part of it.
    """
    page: dict[str, Any] = {
        "number": invoice.number,
        "job": invoice.job_id,
        "kind": invoice.kind,
        "stage": invoice.stage,
        "issued_on": invoice.issued_on.isoformat(),
        "issued_by": invoice.issued_by_id,
        "due_on": invoice.due_on.isoformat(),
        "to": [invoice.to_name, invoice.to_address],
        "about": invoice.about,
        "totals": [f"{amount:.2f}" for amount in (invoice.net, invoice.vat, invoice.total)],
        "lines": [[words, *(f"{amount:.2f}" for amount in amounts)] for words, *amounts in lines],
        "credits": credited,
    }
    if invoice.assessment_id:  # of an assessment alone; invoices of a job say nothing of it
        page["assessment"] = invoice.assessment_id
    if invoice.issued_from:  # invoices older than this field say nothing of it
        page["from"] = invoice.issued_from
    return hashlib.sha256(json.dumps(page, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def invoice_check(invoice: Invoice) -> bool:
    """Tell whether an invoice still says what it said when it was issued."""
    rows = [(line.words, line.net, line.vat_percent, line.vat, line.gross) for line in invoice.lines.all()]
    credited = invoice.credits.number if invoice.credits else None
    return invoice_content(invoice, rows, credited) == invoice.content_hash


def series_check() -> list[str]:
    """Return what is wrong with the series, in sentences; an empty list when it is as it was written.

    Every number from 1 to the last given is there once, every invoice says what it said when it was issued, and one
    is marked as credited exactly when a credit names it.
    """
    series = InvoiceSeries.objects.first()
    last = series.last_number if series else 0
    lines = Prefetch("lines", queryset=InvoiceLine.objects.order_by("position"))
    invoices = list(Invoice.objects.select_related("credits").prefetch_related(lines).order_by("number"))
    there = {invoice.number for invoice in invoices}
    told = [f"Number {gap} is missing from the series." for gap in sorted(set(range(1, last + 1)) - there)[:MOST_TOLD]]
    told += [f"Invoice {extra} was not numbered by the series." for extra in sorted(n for n in there if n > last)]
    taken_back = {invoice.credits_id for invoice in invoices if invoice.credits_id}
    for invoice in invoices:
        if not invoice_check(invoice):
            told.append(f"Invoice {invoice.number} is not what was issued: it was changed outside the tool.")
        elif invoice.stands == (invoice.pk in taken_back):
            told.append(f"Invoice {invoice.number} is marked as credited without a credit, or the other way round.")
    return told if len(told) <= MOST_TOLD else [*told[:MOST_TOLD], f"There is more: {len(told)} in all."]
