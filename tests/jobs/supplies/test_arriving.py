"""Goods go to the jobs that wait for them first and to the shelf after; nothing is lost on the way."""

import random
import threading
from decimal import Decimal

import pytest
from django.db import connection
from django.db.models import Sum

from jobs import flow
from jobs.scheduling.models import PlanWish
from jobs.supplies.models import Need
from jobs.supplies.services import need_drop, need_from_shelf, needs_order_by_supplier
from jobs.updates.models import Update
from parts.catalogue.services import stock_move, stock_on_hand
from parts.orders.models import OrderLine, PurchaseOrder, Receipt
from parts.orders.services import order_line_change
from tests.factories import MOMENT, TODAY, make_manager, make_part, make_technician
from tests.jobs.supplies.needs_made import make_need, make_numbered_job
from workshop.web.errors import Refused


def ordered(*needs, quantity=None):
    """Order needs, sending ``quantity`` if given instead of what they add up to; return the line."""
    by = make_manager()
    [draft] = needs_order_by_supplier(needs=list(needs), by=by, at=MOMENT)
    line = draft.lines.get()
    if quantity is not None:
        order_line_change(line=line, quantity=Decimal(quantity), price=line.price, measure="", by=by)
    flow.order_sent(draft, by=by, at=MOMENT)
    return line


def receive(line, quantity):
    return flow.goods_received(line, Decimal(quantity), TODAY, by=make_technician(), at=MOMENT)


def states(*needs):
    return [Need.objects.get(pk=need.pk).state for need in needs]


@pytest.mark.django_db
def test_needs_are_here_when_receipts_cover_them_and_only_the_rest_is_shelved():
    part = make_part(unit="m")
    first, second = make_need(part=part, quantity=3), make_need(part=part, quantity=2)
    line = ordered(first, second, quantity=7)
    receive(line, 2)
    assert states(first, second) == ["ordered", "here"]
    assert stock_on_hand(part) == 0
    receive(line, 3)
    assert states(first, second) == ["here", "here"]
    assert stock_on_hand(part) == 0
    receive(line, 2)
    assert stock_on_hand(part) == 2
    assert Need.objects.get(pk=first.pk).here_on == TODAY


@pytest.mark.django_db
def test_less_ordered_than_needed_opens_the_rest_again():
    part = make_part(unit="m")
    first, second = make_need(part=part, quantity=3), make_need(part=part, quantity=2)
    line = ordered(first, second, quantity=4)
    receive(line, 4)
    assert states(first, second) == ["here", "open"]
    assert stock_on_hand(part) == 1


@pytest.mark.django_db
def test_a_refused_receipt_leaves_everything_as_it_was():
    need = make_need()
    line = ordered(need)
    with pytest.raises(Refused, match="would be too many"):
        receive(line, 2)
    assert states(need) == ["ordered"]
    assert not Receipt.objects.exists()
    assert stock_on_hand(need.part) == 0


@pytest.mark.django_db
def test_calling_off_opens_needs_and_shelves_what_covers_none():
    part = make_part(unit="m")
    first, second = make_need(part=part, quantity=2), make_need(part=part, quantity=3)
    line = ordered(first, second)
    receive(line, 3)
    flow.order_called_off(line.order, "too slow", by=make_manager(), at=MOMENT)
    assert states(first, second) == ["here", "open"]
    assert Need.objects.get(pk=second.pk).order_line is None
    assert stock_on_hand(part) == 1


@pytest.mark.django_db
def test_letting_go_of_what_came_puts_it_on_the_shelf():
    need, by = make_need(), make_manager()
    receive(ordered(need), 1)
    need_drop(need=need, reason="the owner changed her mind", by=by, at=MOMENT)
    assert stock_on_hand(need.part) == 1


@pytest.mark.django_db
def test_what_was_used_cannot_go_back():
    need, by = make_need(), make_manager()
    receive(ordered(need), 1)
    need.task.state = "done"
    need.task.save()
    with pytest.raises(Refused, match="is done, so Hammers, set was used"):
        need_drop(need=need, reason="no", by=by, at=MOMENT)


@pytest.mark.django_db
def test_taken_from_the_shelf_the_order_on_its_way_fills_the_shelf():
    need, by = make_need(), make_technician()
    line = ordered(need)
    stock_move(part=need.part, quantity=Decimal(1), reason="found", by=by, at=MOMENT)
    need_from_shelf(need=need, by=by, at=MOMENT)
    assert states(need) == ["here"]
    assert stock_on_hand(need.part) == 0
    receive(line, 1)
    assert stock_on_hand(need.part) == 1
    with pytest.raises(Refused, match="is here already"):
        need_from_shelf(need=need, by=by, at=MOMENT)
    need_drop(need=need, reason="not fitted", by=by, at=MOMENT)
    assert stock_on_hand(need.part) == 2


@pytest.mark.django_db
def test_too_little_on_the_shelf_is_refused():
    need, by = make_need(quantity=3), make_technician()
    stock_move(part=need.part, quantity=Decimal(2), reason="found", by=by, at=MOMENT)
    with pytest.raises(Refused, match="Only 2 sets of Hammers, set lie on the shelf"):
        need_from_shelf(need=need, by=by, at=MOMENT)
    assert states(need) == ["open"]


@pytest.mark.django_db
def test_the_client_hears_once_when_the_last_part_is_here_and_a_new_plan_is_asked_for():
    job = make_numbered_job(203)
    hammers, cloth = make_need(job=job), make_need(job=job, part=make_part("cloth", name="Cloth", unit="m"))
    [draft] = needs_order_by_supplier(needs=[hammers, cloth], by=make_manager(), at=MOMENT)
    flow.order_sent(draft, by=make_manager(), at=MOMENT)
    receive(OrderLine.objects.get(part=hammers.part), 1)
    assert not Update.objects.filter(event="parts_here").exists()
    asked = PlanWish.objects.count()
    receive(OrderLine.objects.get(part=cloth.part), 1)
    assert Update.objects.get(event="parts_here").job == job
    assert PlanWish.objects.count() >= asked > 0


@pytest.mark.django_db
@pytest.mark.parametrize("seed", range(12))
def test_whatever_happens_nothing_is_lost_and_nothing_appears(seed):
    """When all orders are settled: shelf = what lay there + what arrived - what jobs have."""
    dice, by, part = random.Random(seed), make_manager(), make_part(unit="m")
    stock_move(part=part, quantity=Decimal(5), reason="counted", by=by, at=MOMENT)
    needs = [make_need(part=part, quantity=dice.randint(1, 4), code=f"op-{n}") for n in range(6)]
    ordered(*needs[:3], quantity=str(dice.randint(2, 12)))
    ordered(*needs[3:], quantity=str(dice.randint(2, 12)))
    for _ in range(14):
        need, line = dice.choice(needs), dice.choice(list(OrderLine.objects.all()))
        action = dice.choice(["receive", "receive", "receive", "shelf", "drop"])
        try:
            if action == "receive":
                receive(line, dice.randint(1, 3))
            elif action == "shelf":
                need_from_shelf(need=need, by=by, at=MOMENT)
            else:
                need_drop(need=need, reason="dice", by=by, at=MOMENT)
        except Refused:
            continue
    for order in PurchaseOrder.objects.filter(state="sent"):
        flow.order_called_off(order, "end of the game", by=by, at=MOMENT)
    arrived = Receipt.objects.aggregate(sum=Sum("quantity"))["sum"] or 0
    with_jobs = Need.objects.filter(state="here").aggregate(sum=Sum("quantity"))["sum"] or 0
    assert stock_on_hand(part) == 5 + arrived - with_jobs
    assert not Need.objects.filter(state="ordered").exists()


@pytest.mark.django_db(transaction=True)
def test_of_two_jobs_that_take_the_last_set_at_once_one_is_refused():
    part, by = make_part(), make_technician()
    needs = [make_need(part=part), make_need(part=part)]
    stock_move(part=part, quantity=Decimal(1), reason="found", by=by, at=MOMENT)
    start, ended = threading.Barrier(2), []

    def take(need):
        start.wait()
        try:
            need_from_shelf(need=need, by=by, at=MOMENT)
            ended.append("taken")
        except Refused as refusal:
            ended.append(str(refusal))
        finally:
            connection.close()

    threads = [threading.Thread(target=take, args=(need,)) for need in needs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert ended.count("taken") == 1
    assert sorted(states(*needs)) == ["here", "open"]
    assert stock_on_hand(part) == 0


@pytest.mark.django_db(transaction=True)
def test_one_need_ordered_by_two_people_at_once_stands_on_one_line():
    need, by = make_need(), make_manager()
    start, ended = threading.Barrier(2), []

    def press():
        start.wait()
        try:
            needs_order_by_supplier(needs=[need], by=by, at=MOMENT)
            ended.append("written")
        except Refused as refusal:
            ended.append(str(refusal))
        finally:
            connection.close()

    threads = [threading.Thread(target=press) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert ended.count("written") == 1
    assert OrderLine.objects.count() == 1
