"""What arrives: in parts, never more than ordered, never tomorrow."""

import datetime as dt
import threading
from decimal import Decimal

import pytest
from django.db import connection

from parts.catalogue.services import stock_on_hand
from parts.orders.models import PurchaseOrder, Receipt
from parts.orders.queries import lines_of, parts_with_orders
from parts.orders.services import receipt_keep
from tests.factories import MOMENT, TODAY, make_manager, make_part, make_technician
from tests.parts.orders.orders_made import make_draft, make_sent, only_line
from workshop.web.errors import Refused


def keep(line, quantity, on=TODAY, at=MOMENT, by=None):
    return receipt_keep(line=line, quantity=Decimal(str(quantity)), on=on, by=by or make_technician(), at=at)


@pytest.mark.django_db
def test_an_order_closes_when_its_last_part_is_here():
    order = make_sent(quantity=3)
    line = only_line(order)
    keep(line, 1)
    order.refresh_from_db()
    assert order.state == PurchaseOrder.State.SENT
    assert parts_with_orders().get(pk=line.part_id).on_order == 2
    keep(line, 2)
    order.refresh_from_db()
    assert order.state == PurchaseOrder.State.CLOSED
    assert stock_on_hand(line.part) == 3
    assert parts_with_orders().get(pk=line.part_id).on_order == 0


@pytest.mark.django_db
def test_more_than_ordered_is_refused_with_ordered_here_and_what_to_do():
    line = only_line(make_sent(quantity=5))
    keep(line, 2)
    with pytest.raises(Refused) as refusal:
        keep(line, 4)
    words = str(refusal.value)
    for part in (
        "5 sets of Hammers, set ordered",
        "2 sets already here",
        "4 sets more would be too many",
        "keep at most 3 sets",
    ):
        assert part in words
    assert Receipt.objects.count() == 1
    assert stock_on_hand(line.part) == 2


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("quantity", "on", "sentence"),
    [
        (0, TODAY, "more than nought"),
        (-1, TODAY, "more than nought"),
        (1, TODAY + dt.timedelta(days=1), "Tue 12 Jan is still to come"),
        (1, TODAY - dt.timedelta(days=1), "cannot have arrived on Sun 10 Jan"),
    ],
)
def test_bad_receipts_are_refused(quantity, on, sentence):
    line = only_line(make_sent())
    with pytest.raises(Refused, match=sentence):
        keep(line, quantity, on)
    assert not Receipt.objects.exists()


@pytest.mark.django_db
def test_nothing_arrives_for_a_draft():
    with pytest.raises(Refused, match="was not sent yet"):
        keep(only_line(make_draft()), 1)


@pytest.mark.django_db
def test_a_line_is_late_once_its_day_is_past_and_not_when_it_is_here():
    order = make_sent(part=make_part(lead_days=7), quantity=1)
    due = order.expected_on
    assert not lines_of(order, due)[0].late
    assert lines_of(order, due + dt.timedelta(days=1))[0].late
    keep(only_line(order), 1)
    order.refresh_from_db()
    assert not lines_of(order, due + dt.timedelta(days=1))[0].late


@pytest.mark.django_db(transaction=True)
def test_one_parcel_counted_by_two_people_counts_once():
    order = make_sent(quantity=1)
    line, people = only_line(order), [make_manager(), make_technician()]
    start, ended = threading.Barrier(2), []

    def unpack(person):
        start.wait()
        try:
            keep(line, 1, by=person)
            ended.append("kept")
        except Refused as refusal:
            ended.append(str(refusal))
        finally:
            connection.close()

    threads = [threading.Thread(target=unpack, args=(person,)) for person in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert ended.count("kept") == 1
    assert stock_on_hand(line.part) == 1
