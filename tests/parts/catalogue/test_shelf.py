"""The shelf: moves in and out, never below nought, whoever takes at the same time."""

import threading
from decimal import Decimal

import pytest
from django.db import connection

from parts.catalogue.models import Part, StockMove
from parts.catalogue.services import part_write, stock_move, stock_on_hand, supplier_write
from parts.catalogue.words import amount_words
from parts.orders.queries import parts_with_orders
from tests.factories import MOMENT, make_manager, make_part, make_technician
from workshop.web.errors import Refused


def move(part, quantity, reason="counted", by=None):
    return stock_move(part=part, quantity=Decimal(str(quantity)), reason=reason, by=by, at=MOMENT)


@pytest.mark.django_db
def test_the_shelf_is_the_sum_of_its_moves():
    part = make_part(unit="kg")
    for quantity in ("2.5", "-0.75", "1"):
        move(part, quantity)
    assert stock_on_hand(part) == Decimal("2.75")
    assert parts_with_orders().get(pk=part.pk).on_shelf == Decimal("2.75")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("lying", "taken", "sentence"),
    [
        (2, -3, "Only 2 sets of Hammers, set lie on the shelf; 3 sets cannot be taken."),
        (1, "-1.5", "Only 1 set of Hammers, set lies on the shelf"),
        (0, -1, "No Hammers, set lies on the shelf"),
    ],
)
def test_more_than_lies_there_is_refused_with_what_to_do(lying, taken, sentence):
    part = make_part()
    if lying:
        move(part, lying)
    with pytest.raises(Refused) as refusal:
        move(part, taken)
    assert sentence in str(refusal.value)
    assert "Count the shelf" in str(refusal.value)
    assert stock_on_hand(part) == lying


@pytest.mark.django_db
def test_nothing_and_no_reason_are_refused():
    part = make_part()
    with pytest.raises(Refused, match="Nothing moves"):
        move(part, 0)
    with pytest.raises(Refused, match="Say why"):
        move(part, 1, reason="  ")
    assert not StockMove.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(("lying", "mark", "low"), [(3, 4, True), (4, 4, False), (0, 0, False)])
def test_a_part_is_low_only_below_its_mark(lying, mark, low):
    part = make_part(reorder_below=Decimal(mark))
    if lying:
        move(part, lying)
    assert parts_with_orders().get(pk=part.pk).low is low


@pytest.mark.django_db
def test_the_unit_stays_once_something_was_counted_in_it():
    part = make_part(unit="set")
    part_write(part=part, by=make_manager(), unit="piece")
    move(part, 1)
    with pytest.raises(Refused, match="counted by the piece"):
        part_write(part=part, by=make_manager(), unit="metre")
    assert Part.objects.get(pk=part.pk).unit == "piece"


@pytest.mark.django_db
def test_names_with_quotes_and_emoji_are_kept_as_they_are():
    name = "Felt “O'Hara” <b>& 🎹</b>"
    supplier = supplier_write(supplier=None, by=make_manager(), name=name)
    part = part_write(part=None, by=make_manager(), name=name, code="odd", unit="m", supplier=supplier)
    assert Part.objects.get(pk=part.pk).name == name
    assert part.supplier.name == name
    with pytest.raises(Refused, match="already"):
        supplier_write(supplier=None, by=make_manager(), name=name)


@pytest.mark.django_db(transaction=True)
def test_of_two_who_take_the_last_piece_one_is_refused():
    part, people = make_part(), [make_technician("Corin"), make_technician("Edda")]
    move(part, 1)
    start, ended = threading.Barrier(2), []

    def take(person):
        start.wait()
        try:
            move(part, -1, "taken", person)
            ended.append("taken")
        except Refused as refusal:
            ended.append(str(refusal))
        finally:
            connection.close()

    threads = [threading.Thread(target=take, args=(person,)) for person in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert ended.count("taken") == 1
    assert any("No Hammers, set lies on the shelf" in words for words in ended)
    assert stock_on_hand(part) == 0


@pytest.mark.parametrize(
    ("quantity", "unit", "words"),
    [
        ("1", "set", "1 set"),
        ("2.00", "set", "2 sets"),
        ("0.42", "litre", "0.42 litre"),
        ("1.20", "m", "1.2 m"),
        ("1200", "piece", "1,200 pieces"),
        ("-3", "piece", "−3 pieces"),
    ],
)
def test_amounts_are_said_with_their_unit(quantity, unit, words):
    assert amount_words(Decimal(quantity), unit) == words
