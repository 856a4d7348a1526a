"""Draws an invoice or credit from its frozen rows, and below it the receipts kept since."""

from jobs.billing.models import Invoice
from jobs.billing.page import payments_with_vat
from jobs.billing.queries import still_of
from workshop.calendar.words import day_words_year
from workshop.documents.paper import SMALL, Paper
from workshop.house.letterhead import shop_of_letterhead
from workshop.house.queries import the_shop
from workshop.money.words import money


def invoice_pdf(invoice: Invoice) -> bytes:
    """Return an invoice as PDF, A4: number, days, net, rate, VAT and gross of each line, totals, receipts so far."""
    # As the shop stood then: an address or a VAT number that changed later does not change what was issued.
    shop = shop_of_letterhead(invoice.issued_from) if invoice.issued_from else the_shop()
    name = f"{'Credit' if gives_back(invoice) else 'Invoice'} {invoice.number}"
    paper = Paper(shop, f"{name}: {invoice.about}")
    lines = [line for line in (invoice.to_name, *invoice.to_address.splitlines()) if line.strip()]
    paper.address(lines, (name, day_words_year(invoice.issued_on)))
    paper.heading(name)
    facts = [("About", invoice.about), ("Issued, and tax point", day_words_year(invoice.issued_on))]
    if invoice.total > 0 and invoice.kind != Invoice.Kind.CREDIT:
        facts.append(("To be paid by", day_words_year(invoice.due_on)))
    facts.append(("Our VAT number", shop.vat_number or "none"))
    paper.facts(facts)
    paper.gap(3)
    _lines(paper, invoice)
    _receipts(paper, invoice)
    paper.gap(4)
    paper.text(f"Fingerprint of this paper: {invoice.content_hash}", SMALL)
    return paper.render()


def gives_back(invoice: Invoice) -> bool:
    """Tell whether a paper is a credit by its name: one that takes an invoice back, or a balance below nought."""
    return invoice.kind == Invoice.Kind.CREDIT or invoice.total < 0


def _lines(paper: Paper, invoice: Invoice) -> None:
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


def _receipts(paper: Paper, invoice: Invoice) -> None:
    """Draw what was paid on it, with the VAT in each payment, and what is still open."""
    receipts = payments_with_vat(invoice)
    if receipts:
        paper.part("Receipts")
        rows = [
            (day_words_year(one.on), _how(one.get_method_display(), one.note), money(one.amount), money(vat))
            for one, vat in receipts
        ]
        paper.table(("Day", "How", "Paid", "VAT in it"), rows, numbers=(2, 3), widths_mm=(36, 78, 30, 30))
    still = still_of(invoice)
    if not invoice.stands:
        taken = invoice.credited_by.first()
        paper.text(f"Taken back by credit {taken.number}." if taken else "Taken back.")
    elif still > 0:
        paper.text(f"Still to be paid: {money(still)}")
    elif still < 0:
        paper.text(f"To be paid back to you: {money(-still)}")
    elif receipts:
        paper.text(f"Paid in full on {day_words_year(receipts[-1][0].on)}. Thank you.")


def _how(method: str, note: str) -> str:
    return f"{method}; {note}" if note else method
