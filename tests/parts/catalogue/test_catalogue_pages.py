"""Pages of parts and suppliers: who may, what is refused, what is exported, how many questions they ask."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from parts.catalogue.models import Part, StockMove, Supplier
from parts.catalogue.services import stock_move, stock_on_hand
from tests.factories import MOMENT, make_part, make_supplier

pytestmark = pytest.mark.django_db


def fill(name, count):
    supplier = make_supplier()
    parts = Part.objects.bulk_create(
        Part(
            code=f"{name}-{number}", name=f"{name} {number}", unit="piece", supplier=supplier, reorder_below=Decimal(2)
        )
        for number in range(count)
    )
    StockMove.objects.bulk_create(StockMove(part=part, quantity=1, reason="counted", at=MOMENT) for part in parts)


def test_the_list_asks_as_often_at_500_as_at_50(as_manager, django_assert_num_queries):
    fill("few", 50)
    as_manager.get(reverse("parts-list"))  # the shop row is written on first use
    with CaptureQueriesContext(connection) as few:
        assert as_manager.get(reverse("parts-list")).status_code == 200
    fill("more", 450)
    with django_assert_num_queries(len(few)):
        as_manager.get(reverse("parts-list"))


def test_a_part_below_its_mark_is_said_in_words(as_technician):
    part = make_part(reorder_below=Decimal(2))
    page = as_technician.get(reverse("parts-list")).content.decode()
    assert "below its mark: order" in page
    stock_move(part=part, quantity=Decimal(2), reason="counted", by=None, at=MOMENT)
    assert "below its mark: order" not in as_technician.get(reverse("parts-list")).content.decode()


def test_the_shelf_filter_and_the_csv_give_the_same_rows(as_manager):
    make_part("felt", name="Felt", reorder_below=Decimal(2))
    make_part("wire", name="Wire")
    answer = as_manager.get(reverse("parts-list"), {"shelf": "low", "as": "csv"})
    text = answer.content.decode("utf-8-sig")
    assert "Felt" in text
    assert "Wire" not in text
    assert "412.00" in text


def test_a_technician_sees_parts_without_prices(as_technician):
    part = make_part()
    for address in (reverse("parts-list"), reverse("part-show", args=[part.code])):
        answer = as_technician.get(address)
        assert answer.status_code == 200
        assert "412" not in answer.content.decode()
    assert "412" not in as_technician.get(reverse("parts-list"), {"as": "csv"}).content.decode("utf-8-sig")


@pytest.mark.parametrize("name", ["part-new", "supplier-list", "supplier-new"])
def test_changes_and_suppliers_are_the_managers(name, as_technician, as_manager, stranger):
    assert as_technician.get(reverse(name)).status_code == 403
    assert as_manager.get(reverse(name)).status_code == 200
    assert stranger.get(reverse(name)).status_code == 302


def test_a_stranger_is_sent_to_sign_in_everywhere(stranger):
    part, supplier = make_part(), make_supplier()
    for address in (
        reverse("parts-list"),
        reverse("part-show", args=[part.code]),
        reverse("part-change", args=[part.code]),
        reverse("shelf-move", args=[part.code]),
        reverse("supplier-show", args=[supplier.pk]),
        reverse("supplier-change", args=[supplier.pk]),
        reverse("wire-list"),
    ):
        assert stranger.get(address).status_code == 302, address


def test_a_new_part_is_kept_and_a_second_of_its_code_refused_with_what_was_typed(as_manager):
    typed = {
        "name": "Bridle “tapes” 🎹", "code": "bridle-tapes", "unit": "set", "price": "19.50", "lead_days": 7,
        "reorder_below": 0,
    }  # fmt: skip
    assert as_manager.post(reverse("part-new"), typed).status_code == 302
    assert Part.objects.get(code="bridle-tapes").name == "Bridle “tapes” 🎹"
    answer = as_manager.post(reverse("part-new"), {**typed, "name": "Another"})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Another part has this code already" in page
    assert 'value="Another"' in page


def test_taking_too_much_from_the_shelf_keeps_what_was_typed(as_technician):
    part = make_part()
    address = reverse("shelf-move", args=[part.code])
    assert as_technician.post(address, {"way": "in", "quantity": "2", "reason": "counted"}).status_code == 302
    answer = as_technician.post(address, {"way": "out", "quantity": "3", "reason": "used on 212"})
    page = answer.content.decode()
    assert "Only 2 sets of Hammers, set lie on the shelf" in page
    assert 'value="used on 212"' in page
    assert stock_on_hand(part) == 2


def test_a_supplier_shows_its_parts_and_is_changed(as_manager):
    supplier = make_supplier()
    make_part()
    page = as_manager.get(reverse("supplier-show", args=[supplier.pk])).content.decode()
    assert "Hammers, set" in page
    assert "Felt &amp; Shank" in page
    address = reverse("supplier-change", args=[supplier.pk])
    answer = as_manager.post(address, {"name": "Felt & Shank", "email": "not an address"})
    assert answer.status_code == 422
    assert as_manager.post(address, {"name": "Felt & Shank", "email": ""}).status_code == 302
    assert Supplier.objects.get().email == ""


def test_hostile_names_are_shown_as_text(as_manager):
    part = make_part("odd", name='<script>alert("1")</script> 🎹')
    for address in (reverse("parts-list"), reverse("part-show", args=[part.code])):
        page = as_manager.get(address).content.decode()
        assert "<script>alert" not in page
        assert "🎹" in page
