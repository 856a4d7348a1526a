"""Draws an invoice or credit from its frozen rows."""

from jobs.billing.models import Invoice
from workshop.calendar.words import day_words_year
from workshop.documents.paper import SMALL, Paper
from workshop.house.queries import the_shop
from workshop.money.words import money


def invoice_pdf(invoice: Invoice) -> bytes:
    """Return an invoice as PDF, A4: number, days, net, rate, VAT and gross of each line, totals, payments so far."""
    shop = the_shop()
    credit = invoice.kind == Invoice.Kind.CREDIT
    name = f"{'Credit' if credit else 'Invoice'} {invoice.number}"
    paper = Paper(shop, f"{name}: {invoice.about}")
    paper.text(f"{invoice.to_name}\n{invoice.to_address}")
    paper.gap(4)
    paper.heading(name)
    facts = [("About", invoice.about), ("Issued, and tax point", day_words_year(invoice.issued_on))]
    if not credit:
        facts.append(("To be paid by", day_words_year(invoice.due_on)))
    if shop.vat_number:
        facts.append(("Our VAT number", shop.vat_number))
    paper.facts(facts)
    paper.gap(3)
    rows = [
        (line.words, money(line.net), f"{line.vat_percent.normalize():f} %", money(line.vat), money(line.gross))
        for line in invoice.lines.order_by("position")
    ]
    rows.append(("Together", money(invoice.net), "", money(invoice.vat), money(invoice.total)))
    paper.table(
        ("What for", "Without VAT", "Rate", "VAT", "With VAT"),
        rows,
        numbers=(1, 2, 3, 4),
        widths_mm=(78, 26, 16, 26, 28),
        totals=1,
    )
    payments = list(invoice.payments.all())
    for payment in payments:
        paper.text(f"Received {day_words_year(payment.on)}, {payment.get_method_display()}: {money(payment.amount)}")
    if payments:
        still = invoice.total - sum((payment.amount for payment in payments), start=invoice.total * 0)
        paper.text("Paid in full. Thank you." if still <= 0 else f"Still to be paid: {money(still)}")
    paper.gap(4)
    paper.text(f"Fingerprint of this paper: {invoice.content_hash}", SMALL)
    return paper.render()
