"""The day a task can have its parts."""

import datetime as dt
from decimal import Decimal

import pytest

from jobs import flow
from jobs.supplies.models import Need
from jobs.supplies.queries import arrivals, need_rows, needs_by_supplier, open_needs
from jobs.supplies.services import needs_order_by_supplier
from parts.catalogue.services import stock_move
from tests.factories import MOMENT, TODAY, make_manager, make_part, make_supplier, make_task
from tests.jobs.supplies.needs_made import make_need

pytestmark = pytest.mark.django_db


def day_of(need, today=TODAY):
    return arrivals([need.task_id], today=today)[need.task_id]


def test_a_part_not_ordered_comes_after_its_lead_time_on_an_open_day():
    assert day_of(make_need(part=make_part(lead_days=35))) == dt.date(2027, 2, 15)
    assert day_of(make_need(part=make_part("quick", lead_days=5))) == dt.date(2027, 1, 18)


def test_a_part_on_order_comes_on_its_day_or_not_before_tomorrow_once_that_is_past():
    need, by = make_need(part=make_part(lead_days=7)), make_manager()
    [draft] = needs_order_by_supplier(needs=[need], by=by, at=MOMENT)
    flow.order_sent(draft, by=by, at=MOMENT)
    assert day_of(need) == dt.date(2027, 1, 18)
    assert day_of(need, today=dt.date(2027, 1, 22)) == dt.date(2027, 1, 25)


def test_a_part_that_is_here_counts_from_the_day_it_came():
    need = make_need(state=Need.State.HERE, here_on=dt.date(2027, 1, 4))
    assert day_of(need) == dt.date(2027, 1, 4)


def test_the_latest_of_all_parts_decides_and_tasks_without_needs_are_left_out():
    slow, task = make_need(part=make_part(lead_days=35)), make_task()
    Need.objects.create(task=slow.task, part=make_part("quick", lead_days=1))
    Need.objects.create(
        task=task, part=make_part("gone"), state=Need.State.NOT_NEEDED, dropped_because="the old one stays"
    )
    assert arrivals([slow.task_id, task.pk], today=TODAY) == {slow.task_id: dt.date(2027, 2, 15)}


def test_the_shelf_holds_nothing_back_as_far_as_it_reaches():
    part = make_part(unit="m", lead_days=35)
    first, second = make_need(part=part, quantity=2), make_need(part=part, quantity=2)
    stock_move(part=part, quantity=Decimal(3), reason="counted", by=None, at=MOMENT)
    assert arrivals([first.task_id, second.task_id], today=TODAY) == {
        first.task_id: TODAY,
        second.task_id: dt.date(2027, 2, 15),
    }


def test_the_buyers_list_is_by_supplier_with_the_most_pressing_first():
    hammers, later = make_need(part=make_part(lead_days=35)), make_need()
    coil = make_need(part=make_part("wire", supplier=make_supplier("Dunmarrow Strings")))
    nobody = make_need(part=make_part("odd", supplier=None))
    starts = {later.task_id: dt.date(2027, 3, 1), hammers.task_id: dt.date(2027, 2, 8)}
    rows = need_rows(open_needs(), starts, TODAY)
    groups = needs_by_supplier(rows)
    assert [str(group.supplier) for group in groups] == ["Dunmarrow Strings", "Felt & Shank", "None"]
    assert [row.need for row in groups[1].rows] == [hammers, later]
    assert groups[1].rows[0].slip.words.startswith("comes five working days late")
    assert (groups[0].rows[0].need, groups[0].rows[0].slip) == (coil, None)
    assert not groups[2].rows[0].can_be_ordered
    assert groups[2].rows[0].need == nobody
