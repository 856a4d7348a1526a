"""Writing an invoice down: its number out of the one series, its rows frozen with it."""

from jobs.billing.calc import Line
from jobs.billing.models import Invoice, InvoiceLine, InvoiceSeries
from jobs.billing.series import invoice_content
from workshop.house.letterhead import letterhead_of
from workshop.house.queries import the_shop
from workshop.web.rows import row_check


def next_number() -> int:
    """Take the next number of the series under a lock; the transaction gives it back if anything fails."""
    InvoiceSeries.objects.get_or_create(pk=1)
    series = InvoiceSeries.objects.select_for_update().get(pk=1)
    series.last_number += 1
    series.save(update_fields=["last_number"])
    return series.last_number


def invoice_write(invoice: Invoice, lines: tuple[Line, ...]) -> Invoice:
    """Write a frozen invoice with its lines."""
    rows = [(line.words, line.net, line.vat_percent, line.vat, line.gross) for line in lines]
    invoice.issued_from = letterhead_of(the_shop())
    invoice.content_hash = invoice_content(invoice, rows, invoice.credits.number if invoice.credits else None)
    row_check(invoice)
    invoice.save()
    InvoiceLine.objects.bulk_create(
        InvoiceLine(
            invoice=invoice,
            position=place,
            words=line.words,
            net=line.net,
            vat_percent=line.vat_percent,
            vat=line.vat,
            gross=line.gross,
        )
        for place, line in enumerate(lines, start=1)
    )
    return invoice
