"""The order sheet, read back from the PDF with an outside library (pypdf), against the rows."""

import io
from decimal import Decimal

import pytest
from pypdf import PdfReader

from parts.orders.pdf import order_pdf
from parts.orders.queries import lines_of
from parts.orders.services import order_cancel, order_line_add, order_note_write, order_send
from tests.factories import MOMENT, TODAY, make_manager, make_part, make_supplier
from tests.parts.orders.orders_made import make_draft, make_sent
from workshop.calendar.words import day_words_year
from workshop.house.queries import the_shop
from workshop.mail.models import Mail
from workshop.money.words import money

pytestmark = pytest.mark.django_db


def sheet(order):
    return order_pdf(order=order, lines=lines_of(order, TODAY), shop=the_shop())


def read(pdf):
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(bytes(pdf))).pages).split())


def test_the_sheet_says_what_the_rows_say():
    by = make_manager()
    order = make_draft(by=by, quantity=2, measure="85, bored 58 mm, tail 70°", for_words="203 Marchpane grand")
    cloth = make_part("cloth", name="Bushing cloth 1.2 mm", unit="m", price=Decimal("31.50"), lead_days=10)
    order_line_add(order=order, part=cloth, quantity=Decimal("2.5"), by=by)
    order_note_write(order=order, note="Please pack flat.", by=by)
    order = order_send(order=order, by=by, at=MOMENT)
    text = read(sheet(order))
    total = Decimal(0)
    for state in lines_of(order, TODAY):
        line, total = state.line, total + state.line.quantity * state.line.price
        for words in (line.name, line.measure, line.for_words, money(line.price), money(line.quantity * line.price)):
            assert words in text
        assert f"awaited {day_words_year(line.expected_on)}" in text
    assert total == Decimal("902.75")
    for words in ("Order 1", "Felt & Shank", "£902.75", "2 sets", "2.5 m", "Please pack flat.", "sent Mon 11 Jan 2027"):
        assert words in text
    assert read(Mail.objects.get().attachment) == text


def test_a_sheet_stays_the_same_when_the_part_is_renamed():
    order = make_sent()
    before = sheet(order)
    part = order.lines.get().part
    part.name, part.price = "Shanks", Decimal(1)
    part.save()
    assert sheet(order) == before


def test_a_draft_and_an_order_called_off_say_so():
    assert "Draft order, not sent" in read(sheet(make_draft()))
    order = order_cancel(order=make_sent(), reason="no need", by=make_manager(), at=MOMENT)
    assert "Called off: please send nothing" in read(sheet(order))


def test_hostile_words_are_printed_as_they_are():
    supplier = make_supplier("Felt “O'Hara” <b>& 🎹", email="")
    order = make_sent(supplier=supplier, measure='58 mm "tail" <i> & </para>')
    text = read(sheet(order))
    assert "Felt “O'Hara” <b>&" in text
    assert '58 mm "tail" <i> & </para>' in text


def test_a_long_order_runs_over_pages_and_loses_no_line():
    by = make_manager()
    order = make_draft(by=by)
    for number in range(60):
        part = make_part(f"p-{number}", name=f"Part number {number} of many", price=Decimal(number))
        order_line_add(order=order, part=part, quantity=Decimal(1), measure=f"size {number} mm", by=by)
    pdf = sheet(order_send(order=order, by=by, at=MOMENT))
    assert len(PdfReader(io.BytesIO(pdf)).pages) > 2
    text = read(pdf)
    assert all(f"Part number {number} of many size {number} mm" in text for number in range(60))
