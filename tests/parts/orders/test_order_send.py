"""Sending an order: number, expected days, mail with the sheet; and calling off the rest."""

import datetime as dt
import threading
from decimal import Decimal

import pytest
from django.db import connection

from parts.orders.models import PurchaseOrder
from parts.orders.services import order_cancel, order_draft, order_send, receipt_keep
from tests.factories import MOMENT, TODAY, make_manager, make_part, make_supplier, make_technician
from tests.parts.orders.orders_made import make_draft, make_sent, only_line
from workshop.calendar.models import Closure
from workshop.mail.models import Mail
from workshop.web.errors import Refused


@pytest.mark.django_db
def test_numbers_follow_one_another():
    assert [make_sent().number for _ in range(3)] == [1, 2, 3]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("lead", "expected"),
    [
        (0, dt.date(2027, 1, 11)),
        (5, dt.date(2027, 1, 18)),  # Saturday: the Monday after
        (35, dt.date(2027, 2, 15)),
        (74, dt.date(2027, 3, 30)),  # Good Friday 26 March; Easter Monday 29 March 2027
    ],
)
def test_a_line_is_expected_after_its_lead_time_on_an_open_day(lead, expected):
    order = make_sent(part=make_part(lead_days=lead))
    assert only_line(order).expected_on == expected
    assert order.expected_on == expected


@pytest.mark.django_db
def test_a_closure_moves_the_expected_day():
    Closure.objects.create(first_day=dt.date(2027, 2, 15), last_day=dt.date(2027, 2, 16), reason="stock-taking")
    assert make_sent(part=make_part(lead_days=35)).expected_on == dt.date(2027, 2, 17)


@pytest.mark.django_db
def test_the_supplier_gets_the_sheet_once():
    order = make_sent(measure="bored 58 mm", for_words="203 Marchpane grand")
    mail = Mail.objects.get()
    assert mail.to == "orders@feltshank.example"
    assert mail.attachment_name == "order-1.pdf"
    assert bytes(mail.attachment).startswith(b"%PDF")
    for words in ("Hammers, set", "bored 58 mm", "203 Marchpane grand", "3 sets"):
        assert words in mail.text
    with pytest.raises(Refused, match="Order 1 is sent already; nothing was sent again"):
        order_send(order=order, by=make_manager(), at=MOMENT)
    assert Mail.objects.count() == 1


@pytest.mark.django_db
def test_names_with_quotes_and_emoji_reach_the_mail_as_text():
    supplier = make_supplier("Felt “O'Hara” <b>& 🎹</b>", email="x@felt.example")
    make_sent(supplier=supplier, measure='58 mm "tail" <i>')
    mail = Mail.objects.get()
    assert '58 mm "tail" <i>' in mail.text
    assert "&lt;i&gt;" in mail.html
    assert "<i>" not in mail.html


@pytest.mark.django_db
def test_a_supplier_without_address_is_written_to_by_hand():
    order = make_sent(supplier=make_supplier("Hollin Wire", email=""))
    assert order.state == PurchaseOrder.State.SENT
    assert not Mail.objects.exists()


@pytest.mark.django_db
def test_only_the_manager_sends_and_calls_off():
    technician, draft = make_technician(), make_draft()
    with pytest.raises(Refused, match="sent by the manager"):
        order_send(order=draft, by=technician, at=MOMENT)
    with pytest.raises(Refused, match="called off by the manager"):
        order_cancel(order=make_sent(), reason="no", by=technician, at=MOMENT)
    draft.refresh_from_db()
    assert draft.number is None


@pytest.mark.django_db
def test_an_empty_order_is_refused_and_takes_no_number():
    by = make_manager()
    with pytest.raises(Refused, match="nothing on this order"):
        order_send(order=order_draft(supplier=make_supplier(), by=by, at=MOMENT), by=by, at=MOMENT)
    assert make_sent().number == 1


@pytest.mark.django_db
def test_a_measure_asked_for_after_the_line_was_written_stops_the_sending():
    draft = make_draft()
    part = only_line(draft).part
    part.measure_needed = "bore"
    part.save()
    with pytest.raises(Refused, match="still to be taken for Hammers, set"):
        order_send(order=draft, by=make_manager(), at=MOMENT)


@pytest.mark.django_db
def test_calling_off_keeps_what_came_and_tells_the_supplier():
    order, by = make_sent(quantity=5), make_manager()
    receipt_keep(line=only_line(order), quantity=Decimal(2), on=TODAY, by=by, at=MOMENT)
    with pytest.raises(Refused, match="Say in a few words"):
        order_cancel(order=order, reason=" ", by=by, at=MOMENT)
    order = order_cancel(order=order, reason="the owner keeps the old set", by=by, at=MOMENT)
    assert order.state == PurchaseOrder.State.CANCELLED
    assert only_line(order).receipts.get().quantity == 2
    told = Mail.objects.get(subject__contains="do not send the rest")
    assert "3 sets of Hammers, set" in told.text
    assert "the owner keeps the old set" in told.text
    with pytest.raises(Refused, match="Order 1 is called off: there is nothing left"):
        order_cancel(order=order, reason="again", by=by, at=MOMENT)
    with pytest.raises(Refused, match="nothing more is awaited"):
        receipt_keep(line=only_line(order), quantity=Decimal(1), on=TODAY, by=by, at=MOMENT)


@pytest.mark.django_db(transaction=True)
def test_orders_sent_at_the_same_time_get_numbers_without_gap_or_double():
    by = make_manager()
    drafts = [make_draft(by=by) for _ in range(4)]
    start, numbers = threading.Barrier(4), []

    def send(draft):
        start.wait()
        try:
            numbers.append(order_send(order=draft, by=by, at=MOMENT).number)
        finally:
            connection.close()

    threads = [threading.Thread(target=send, args=(draft,)) for draft in drafts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(numbers) == [1, 2, 3, 4]


@pytest.mark.django_db(transaction=True)
def test_one_order_sent_twice_at_once_goes_once():
    by, draft = make_manager(), make_draft()
    start, ended = threading.Barrier(2), []

    def send():
        start.wait()
        try:
            order_send(order=draft, by=by, at=MOMENT)
            ended.append("sent")
        except Refused as refusal:
            ended.append(str(refusal))
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert ended.count("sent") == 1
    assert Mail.objects.count() == 1
