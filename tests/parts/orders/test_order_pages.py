"""Pages of orders: who may, what is refused and kept as entered, lists, the calendar."""

import datetime as dt
from decimal import Decimal

import icalendar
import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from parts.orders.models import OrderLine, PurchaseOrder
from tests.factories import MOMENT, make_manager, make_part, make_supplier
from tests.parts.orders.orders_made import make_draft, make_sent, only_line
from workshop.mail.models import Mail

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def now():
    with time_machine.travel(MOMENT, tick=False):
        yield


def fill(count, first=1):
    by, supplier, part = make_manager(), make_supplier(), make_part()
    orders = PurchaseOrder.objects.bulk_create(
        PurchaseOrder(
            number=first + n, supplier=supplier, state="sent", created_at=MOMENT, created_by=by, sent_at=MOMENT
        )
        for n in range(count)
    )
    OrderLine.objects.bulk_create(
        OrderLine(order=order, part=part, name=part.name, quantity=1, price=1, expected_on=MOMENT.date())
        for order in orders
    )


def test_the_list_asks_as_often_at_500_as_at_50(as_manager, django_assert_num_queries):
    fill(50)
    as_manager.get(reverse("order-list"))  # the shop row is written on first use
    with CaptureQueriesContext(connection) as few:
        as_manager.get(reverse("order-list"))
    fill(450, first=100)
    with django_assert_num_queries(len(few)):
        assert as_manager.get(reverse("order-list")).status_code == 200


def test_an_order_page_asks_as_often_with_many_lines(as_manager):
    order = make_sent()
    address = reverse("order-show", args=[order.pk])
    with CaptureQueriesContext(connection) as few:
        as_manager.get(address)
    part = make_part()
    OrderLine.objects.bulk_create(
        OrderLine(order=order, part=part, name="more", quantity=1, expected_on=MOMENT.date()) for _ in range(40)
    )
    with CaptureQueriesContext(connection) as many:
        as_manager.get(address)
    assert len(many) == len(few)


def test_a_late_order_is_said_and_found(as_manager):
    order = make_sent(part=make_part(lead_days=1))
    with time_machine.travel(MOMENT + dt.timedelta(days=9), tick=False):
        page = as_manager.get(reverse("order-list"), {"state": "late"}).content.decode()
        assert "One order is late" in page
        assert reverse("order-show", args=[order.pk]) in page
        shown = as_manager.get(reverse("order-show", args=[order.pk])).content.decode()
        assert "Order 1 from Felt &amp; Shank is late" in shown


def test_orders_are_found_by_number_part_and_instrument(as_manager):
    make_sent(for_words="203 Marchpane grand")
    make_sent(part=make_part("cloth", name="Bushing cloth"))
    for words, expected in (("2", 1), ("203", 1), ("cloth", 1), ("Marchpane", 1), ("nothing like it", 0)):
        text = as_manager.get(reverse("order-list"), {"q": words, "as": "csv"}).content.decode("utf-8-sig")
        assert len(text.splitlines()) - 1 == expected, words


def test_drafts_come_first_and_totals_are_the_managers(as_manager, as_technician):
    make_sent()
    make_draft(quantity=1)
    rows = as_manager.get(reverse("order-list"), {"as": "csv"}).content.decode("utf-8-sig").splitlines()
    assert [row.split(",")[0] for row in rows] == ["Order", "", "1"]
    assert "1236.00" in rows[2]
    seen = as_technician.get(reverse("order-list"), {"as": "csv"}).content.decode("utf-8-sig")
    assert "1236.00" not in seen


def test_a_technician_reads_and_unpacks_but_neither_prices_nor_sends(as_technician):
    order, draft = make_sent(), make_draft()
    page = as_technician.get(reverse("order-show", args=[order.pk])).content.decode()
    assert "412" not in page
    line = only_line(order)
    came = as_technician.post(reverse("order-receive", args=[line.pk]), {"quantity": "1", "on": "2027-01-11"})
    assert came.status_code == 302
    for address in (
        reverse("order-send", args=[draft.pk]),
        reverse("order-cancel", args=[order.pk]),
        reverse("order-line-add", args=[draft.pk]),
        reverse("order-note", args=[draft.pk]),
        reverse("order-throw-away", args=[draft.pk]),
        reverse("order-line-remove", args=[only_line(draft).pk]),
    ):
        assert as_technician.post(address).status_code == 403, address
    for name in ("order-pdf", "order-line-change"):
        assert as_technician.get(reverse(name, args=[order.pk])).status_code == 403
    assert not Mail.objects.filter(subject__contains="Order 2").exists()


def test_a_stranger_reaches_nothing(stranger):
    order = make_sent()
    for name in ("order-show", "order-pdf"):
        assert stranger.get(reverse(name, args=[order.pk])).status_code == 302
    for name in ("order-list", "order-new", "order-calendar"):
        assert stranger.get(reverse(name)).status_code == 302
    assert stranger.post(reverse("order-receive", args=[only_line(order).pk])).status_code == 302
    assert not only_line(order).receipts.exists()


def test_a_draft_goes_through_the_pages_to_the_supplier(as_manager):
    part = make_part()
    began = as_manager.post(reverse("order-new"), {"supplier": part.supplier_id})
    draft = PurchaseOrder.objects.get()
    assert began.url == reverse("order-show", args=[draft.pk])
    add = reverse("order-line-add", args=[draft.pk])
    assert as_manager.post(add, {"part": part.pk, "quantity": "2"}).status_code == 302
    change = reverse("order-line-change", args=[only_line(draft).pk])
    as_manager.post(change, {"quantity": "3", "price": "400", "measure": "58 mm", "for_words": ""})
    as_manager.post(reverse("order-note", args=[draft.pk]), {"note": "Pack flat."})
    answer = as_manager.post(reverse("order-send", args=[draft.pk]), follow=True)
    assert "Order 1 goes to Felt &amp; Shank with its sheet" in answer.content.decode()
    line = only_line(draft)
    assert (line.quantity, line.price, line.measure) == (3, Decimal(400), "58 mm")
    assert "Pack flat." in Mail.objects.get().text
    pdf = as_manager.get(reverse("order-pdf", args=[draft.pk]))
    assert pdf["Content-Type"] == "application/pdf"


def test_a_line_that_cannot_be_kept_is_shown_as_it_was_typed(as_manager):
    draft, part = make_draft(), make_part("bass", name="Bass set", measure_needed="lengths and cores")
    add = reverse("order-line-add", args=[draft.pk])
    page = as_manager.post(add, {"part": part.pk, "quantity": "7", "for_words": "212 Larkwhistle"}).content.decode()
    assert "Bass set is made to measure: give lengths and cores" in page
    assert 'value="212 Larkwhistle"' in page
    assert 'value="7"' in page


def test_a_count_that_is_too_high_is_shown_as_it_was_typed(as_technician):
    line = only_line(make_sent())
    typed = {"quantity": "4", "on": "2027-01-11", "note": "two boxes “A” 📦"}
    page = as_technician.post(reverse("order-receive", args=[line.pk]), typed).content.decode()
    assert "3 sets of Hammers, set ordered, none already here" in page
    assert 'value="two boxes “A” 📦"' in page
    assert not line.receipts.exists()


def test_an_order_to_nobodys_address_asks_to_be_printed(as_manager):
    draft = make_draft(supplier=make_supplier("Hollin Wire", email=""))
    answer = as_manager.post(reverse("order-send", args=[draft.pk]), follow=True)
    assert "print the order sheet and send it yourself" in answer.content.decode()


def test_the_calendar_holds_what_is_still_to_come(as_technician):
    make_sent(measure="58 mm", for_words="203 Marchpane grand")
    make_draft()
    answer = as_technician.get(reverse("order-calendar"))
    events = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    assert [str(event["SUMMARY"]) for event in events] == ["Hammers, set, 3 sets, from Felt & Shank"]
    assert events[0]["DTSTART"].dt == dt.date(2027, 2, 15)
    assert "58 mm" in str(events[0]["DESCRIPTION"])
