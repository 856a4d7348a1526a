"""From needs to draft orders: one a supplier, all or none, never without the measure."""

from decimal import Decimal

import pytest

from jobs import flow
from jobs.supplies.models import Need
from jobs.supplies.services import need_drop, need_measure, needs_order_by_supplier
from parts.orders.models import OrderLine, PurchaseOrder
from parts.orders.services import order_line_remove
from tests.factories import MOMENT, make_manager, make_part, make_supplier, make_technician
from tests.jobs.supplies.needs_made import make_need, make_numbered_job
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


def order(*needs):
    return needs_order_by_supplier(needs=list(needs), by=make_manager(), at=MOMENT)


def wire():
    return make_part("wire", name="Music wire", unit="piece", supplier=make_supplier("Hollin Wire"))


def test_one_press_writes_one_draft_a_supplier():
    job = make_numbered_job(203)
    hammers, coil = make_need(job=job), make_need(part=wire(), job=job, quantity=4)
    orders = order(hammers, coil)
    assert {str(each.supplier) for each in orders} == {"Felt & Shank", "Hollin Wire"}
    line = OrderLine.objects.get(part__code="wire")
    assert (line.quantity, line.for_words) == (4, "203 Marchpane grand")
    hammers.refresh_from_db()
    assert hammers.state == Need.State.OPEN
    assert hammers.order_line is not None


def test_the_same_part_for_two_instruments_is_one_line_and_measured_ones_are_two():
    jobs = [make_numbered_job(203), make_numbered_job(207, "Emberquist", kind="upright")]
    plain = [make_need(part=wire(), job=job, quantity=3) for job in jobs]
    bass = make_part("bass", name="Wound strings", measure_needed="lengths")
    measured = [make_need(part=bass, job=job, measure=f"sheet {job.instrument.number}") for job in jobs]
    order(*plain, *measured)
    assert OrderLine.objects.get(part__code="wire").quantity == 6
    assert OrderLine.objects.get(part__code="wire").for_words == "203 Marchpane grand, 207 Emberquist upright"
    assert {line.measure for line in OrderLine.objects.filter(part=bass)} == {"sheet 203", "sheet 207"}


def test_a_measure_still_to_be_taken_stops_all_of_the_press():
    part = make_part("bass", name="Wound strings", measure_needed="lengths and cores")
    bass, coil = make_need(part=part, job=make_numbered_job(203)), make_need(part=wire())
    with pytest.raises(Refused, match="measure of Wound strings for 203 Marchpane grand is still to be taken"):
        order(coil, bass)
    assert not PurchaseOrder.objects.exists()
    need_measure(need=bass, measure=" 26 notes, sheet 14 ", by=make_technician())
    order(coil, bass)
    assert OrderLine.objects.get(part=part).measure == "26 notes, sheet 14"


def test_nothing_ticked_nobody_to_buy_from_and_ordered_twice_are_refused():
    with pytest.raises(Refused, match="Tick at least one"):
        order()
    with pytest.raises(Refused, match="has no supplier yet"):
        order(make_need(part=make_part("odd", name="Odd", supplier=None)))
    need = make_need()
    order(need)
    with pytest.raises(Refused, match="on a draft order already"):
        order(need)
    assert OrderLine.objects.count() == 1


def test_a_second_press_adds_to_the_same_draft():
    order(make_need())
    order(make_need())
    assert PurchaseOrder.objects.get().lines.count() == 2


def test_a_line_taken_off_the_draft_opens_its_need_again():
    need = make_need()
    order(need)
    order_line_remove(line=OrderLine.objects.get(), by=make_manager())
    need.refresh_from_db()
    assert (need.state, need.order_line) == (Need.State.OPEN, None)
    order(need)


def test_sending_marks_the_needs_and_the_measure_then_stays():
    need, manager = make_need(), make_manager()
    [draft] = order(need)
    flow.order_sent(draft, by=manager, at=MOMENT)
    need.refresh_from_db()
    assert need.state == Need.State.ORDERED
    with pytest.raises(Refused, match="on an order already"):
        need_measure(need=need, measure="58 mm", by=manager)


def test_a_long_list_of_instruments_falls_back_to_numbers():
    needs = [
        make_need(part=wire(), job=make_numbered_job(200 + n, "Tithe & Gossamer, of the long name")) for n in range(9)
    ]
    order(*needs)
    assert OrderLine.objects.get().for_words == "200, 201, 202, 203, 204, 205, 206, 207, 208"


def test_letting_go_needs_a_reason_and_happens_once():
    need, manager = make_need(), make_manager()
    with pytest.raises(Refused, match="Say in a few words"):
        need_drop(need=need, reason=" ", by=manager, at=MOMENT)
    need_drop(need=need, reason="the old “set” stays 🎹", by=manager, at=MOMENT)
    need.refresh_from_db()
    assert (need.state, need.dropped_because) == (Need.State.NOT_NEEDED, "the old “set” stays 🎹")
    with pytest.raises(Refused, match="not needed already"):
        need_drop(need=need, reason="again", by=manager, at=MOMENT)
    assert need.quantity == Decimal(1)
