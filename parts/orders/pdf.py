"""Draws an order sheet from its rows: what a supplier needs to make and send the right thing."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from django.utils import timezone
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Paragraph, Table

from parts.catalogue.words import amount_words
from parts.orders.models import PurchaseOrder
from parts.orders.queries import LineState
from workshop.calendar.words import day_words_year
from workshop.documents.paper import SMALL, STRONG, Paper, words
from workshop.house.models import Shop
from workshop.money.words import money

_TIGHT = [(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")]

# Set larger than anything else on the sheet: a wrong size is the dearest mistake an order can hold.
MEASURE = ParagraphStyle("measure", parent=STRONG, fontSize=11, leading=14.5)


def order_pdf(*, order: PurchaseOrder, lines: Sequence[LineState], shop: Shop) -> bytes:
    """Return the order sheet as PDF, A4: supplier, number, days, and each line with its measures and its instrument.

    ``lines`` are the lines of the order in their order. A draft and an order called off say what they are.
    """
    name = f"Order {order.number}" if order.number else "Draft order, not sent"
    paper = Paper(shop, f"{name}: {order.supplier.name}")
    paper.address([order.supplier.name, *order.supplier.address.splitlines()], list(_about(order)))
    paper.heading(name)
    if order.state == PurchaseOrder.State.CANCELLED:
        paper.caution("Called off: please send nothing of this order that is not on its way.")
    paper.table(
        ("", "Part, measures, instrument", "How much", "Price of one", "Together"),
        [_row(number, state) for number, state in enumerate(lines, start=1)]
        + [("", "Together, without VAT", "", "", money(sum((state.total for state in lines), Decimal(0))))],
        numbers=(2, 3, 4),
        widths_mm=(8, 90, 26, 24, 26),
        totals=1,
    )
    if order.note:
        paper.part("Words to you")
        paper.text(order.note)
    paper.gap(4)
    paper.text("If a measure is unclear, please ask before you make or send anything.")
    if shop.email:
        paper.text(f"Questions and delivery notes: {shop.email}", SMALL)
    return paper.render()


def _about(order: PurchaseOrder) -> Iterable[str]:
    if order.sent_at:
        yield f"sent {day_words_year(timezone.localdate(order.sent_at))}"
    if order.expected_on:
        yield f"awaited by {day_words_year(order.expected_on)}"


def _row(number: int, state: LineState) -> tuple[object, ...]:
    line = state.line
    matter: list[Paragraph] = [words(line.name, STRONG)]
    if line.measure:
        matter.append(words(line.measure, MEASURE))
    if line.for_words:
        matter.append(words(f"for our instrument {line.for_words}"))
    if line.expected_on:
        matter.append(words(f"awaited {day_words_year(line.expected_on)}", SMALL))
    cell = Table([[each] for each in matter], colWidths=[88 * mm], style=_TIGHT)
    return (number, cell, amount_words(line.quantity, line.part.unit), money(line.price), money(state.total))
