"""A draft order: lines come, change and go until it is sent."""

from decimal import Decimal

import pytest

from parts.orders.models import OrderLine, PurchaseOrder
from parts.orders.services import (
    draft_for,
    draft_throw_away,
    order_line_add,
    order_line_change,
    order_line_remove,
    order_note_write,
)
from tests.factories import MOMENT, make_manager, make_part, make_supplier
from tests.parts.orders.orders_made import make_draft, make_sent, only_line
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


def test_a_line_takes_name_and_price_of_the_part():
    line = only_line(make_draft())
    assert (line.name, line.price, line.quantity) == ("Hammers, set", Decimal("412.00"), 3)


def test_a_line_keeps_the_name_it_was_ordered_by():
    line = only_line(make_draft())
    line.part.name = "Shanks"
    line.part.save()
    assert OrderLine.objects.get().name == "Hammers, set"


@pytest.mark.parametrize("quantity", ["0", "-1"])
def test_nothing_to_order_is_refused(quantity):
    with pytest.raises(Refused, match="more than nought"):
        make_draft(quantity=quantity)


def test_a_part_made_to_measure_needs_its_measure():
    part = make_part(measure_needed="bore and tail")
    with pytest.raises(Refused, match="give bore and tail before"):
        make_draft(part=part)
    line = only_line(make_draft(part=part, measure="58 mm, 70°"))
    with pytest.raises(Refused, match="made to measure"):
        order_line_change(line=line, quantity=Decimal(1), price=Decimal(1), measure=" ", by=make_manager())
    assert OrderLine.objects.get(pk=line.pk).measure == "58 mm, 70°"


def test_a_price_below_nought_and_a_huge_quantity_are_refused_in_words():
    with pytest.raises(Refused):
        make_draft(price=Decimal(-1))
    with pytest.raises(Refused):
        make_draft(quantity="12345678901")
    assert not OrderLine.objects.exists()


def test_lines_stay_once_the_order_is_sent():
    order, by = make_sent(), make_manager()
    line = only_line(order)
    for change in (
        lambda: order_line_add(order=order, part=make_part(), quantity=Decimal(1), by=by),
        lambda: order_line_change(line=line, quantity=Decimal(1), price=Decimal(1), measure="", by=by),
        lambda: order_line_remove(line=line, by=by),
        lambda: order_note_write(order=order, note="more", by=by),
        lambda: draft_throw_away(order=order, by=by),
    ):
        with pytest.raises(Refused, match="Order 1 is sent: its lines stay"):
            change()
    assert only_line(order).quantity == 3


def test_there_is_one_draft_a_supplier_to_add_to():
    supplier, by = make_supplier(), make_manager()
    first = draft_for(supplier=supplier, by=by, at=MOMENT)
    assert draft_for(supplier=supplier, by=by, at=MOMENT) == first
    other = draft_for(supplier=make_supplier("Hollin Wire"), by=by, at=MOMENT)
    assert other != first


def test_a_draft_thrown_away_leaves_no_hole_in_the_numbers():
    draft_throw_away(order=make_draft(), by=make_manager())
    assert not PurchaseOrder.objects.exists()
    assert make_sent().number == 1
