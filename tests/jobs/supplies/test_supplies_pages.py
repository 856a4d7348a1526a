"""What jobs need, as pages: who may, what is refused, how many questions they ask."""

import datetime as dt
from decimal import Decimal

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.supplies.models import Need
from jobs.supplies.services import needs_order_by_supplier
from jobs.worklist.models import Task
from parts.catalogue.services import stock_move
from parts.orders.models import OrderLine, PurchaseOrder
from tests.factories import MOMENT, make_job, make_operation, make_part, make_supplier, make_task
from tests.jobs.supplies.needs_made import make_need, make_numbered_job, make_use

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def now():
    with time_machine.travel(MOMENT, tick=False):
        yield


def fill(count):
    job, part = make_job(), make_part()
    first = make_task(job)
    fields = {
        field.attname: getattr(first, field.attname) for field in Task._meta.concrete_fields if field.name != "id"
    }
    tasks = Task.objects.bulk_create(Task(**fields) for _ in range(count))
    Need.objects.bulk_create(Need(task=task, part=part) for task in tasks)


@pytest.mark.parametrize("address", ["/parts/needs/", "/parts/part/hammer-set/"])
def test_pages_ask_as_often_at_500_needs_as_at_50(as_manager, django_assert_num_queries, address):
    fill(50)
    as_manager.get(address)  # the shop row is written on first use
    with CaptureQueriesContext(connection) as few:
        assert as_manager.get(address).status_code == 200
    fill(450)
    with django_assert_num_queries(len(few)):
        as_manager.get(address)


def test_ticking_several_writes_a_draft_a_supplier(as_manager):
    coil = make_need(part=make_part("wire", name="Wire", supplier=make_supplier("Hollin Wire")))
    hammers = make_need()
    answer = as_manager.post(reverse("need-order"), {"need": [hammers.pk, coil.pk]}, follow=True)
    assert PurchaseOrder.objects.count() == 2
    assert "Draft orders to Felt &amp; Shank and to Hollin Wire are written" in answer.content.decode()


def test_a_press_that_cannot_be_done_keeps_the_ticks(as_manager):
    bass = make_need(part=make_part("bass", name="Bass set", measure_needed="lengths"))
    hammers = make_need()
    page = as_manager.post(reverse("need-order"), {"need": [hammers.pk, bass.pk]}).content.decode()
    assert "The measure of Bass set" in page
    assert f'value="{hammers.pk}" checked' in page
    assert not OrderLine.objects.exists()


@pytest.mark.parametrize("ticks", [[], ["x"], ["99999"], ["9" * 40]])
def test_odd_ticks_are_refused_in_words(as_manager, ticks):
    page = as_manager.post(reverse("need-order"), {"need": ticks}, follow=True).content.decode()
    assert "Tick at least one part" in page


def test_the_page_says_what_is_late_and_what_is_to_be_measured(as_technician):
    make_need(part=make_part("bass", name="Bass set", measure_needed="lengths and cores"))
    page = as_technician.get(reverse("needs-list")).content.decode()
    assert "One measure is still to be taken first." in page
    assert "lengths and cores" in page
    assert "Put the ticked on draft orders" not in page


def test_what_lies_on_the_shelf_is_offered_and_taken(as_technician):
    need = make_need()
    stock_move(part=need.part, quantity=Decimal(1), reason="counted", by=None, at=MOMENT)
    assert "Needs the shelf can meet" in as_technician.get(reverse("needs-list")).content.decode()
    answer = as_technician.post(reverse("need-shelf", args=[need.pk]), follow=True)
    assert "1 set of Hammers, set taken from the shelf" in answer.content.decode()
    again = as_technician.post(reverse("need-shelf", args=[need.pk]), follow=True)
    assert "is here already" in again.content.decode()


def test_a_measure_is_written_by_the_technician(as_technician):
    need = make_need(part=make_part("bass", name="Bass set", measure_needed="lengths"))
    address = reverse("need-measure", args=[need.pk])
    assert "The supplier needs: lengths." in as_technician.get(address).content.decode()
    assert "Write the sizes" in as_technician.post(address, {"measure": ""}).content.decode()
    assert as_technician.post(address, {"measure": "26 notes 🎹 “sheet 14”"}).status_code == 302
    need.refresh_from_db()
    assert need.measure == "26 notes 🎹 “sheet 14”"


def test_only_the_manager_orders_and_lets_go(as_technician, as_manager, stranger):
    need = make_need()
    drop = reverse("need-drop", args=[need.pk])
    for address in (drop, reverse("need-order")):
        assert as_technician.post(address).status_code == 403
        assert stranger.post(address).status_code == 302
    assert as_manager.post(drop, {"reason": ""}).status_code == 422
    assert as_manager.post(drop, {"reason": "the old one stays"}).status_code == 302
    need.refresh_from_db()
    assert need.state == Need.State.NOT_NEEDED


def test_a_stranger_sees_nothing(stranger):
    need = make_need()
    for address in (
        reverse("needs-list"),
        reverse("need-measure", args=[need.pk]),
        reverse("part-show", args=[need.part.code]),
    ):
        assert stranger.get(address).status_code == 302


def test_the_list_narrows_to_an_instrument_and_exports(as_manager):
    job = make_numbered_job(203)
    make_need(job=job)
    make_need(part=make_part("wire", name="Wire"))
    page = as_manager.get(reverse("needs-list"), {"job": job.pk, "as": "csv"}).content.decode("utf-8-sig")
    assert page.count("\n") == 2
    assert "203 Marchpane grand" in page
    assert "Wire" in as_manager.get(reverse("needs-list"), {"as": "csv"}).content.decode("utf-8-sig")


def test_the_page_of_a_part_shows_operations_orders_and_jobs(as_manager, manager):
    need = make_need(job=make_numbered_job(203))
    make_use("ac-hang", need.part)
    make_operation("ac-hang")
    [draft] = needs_order_by_supplier(needs=[need], by=manager, at=MOMENT)
    page = as_manager.get(reverse("part-show", args=[need.part.code])).content.decode()
    for words in ("operation ac-hang", "203 Marchpane grand", "on a draft", reverse("order-show", args=[draft.pk])):
        assert words in page


def test_a_late_order_is_marked_where_the_job_waits(as_manager, manager):
    need = make_need(part=make_part(lead_days=1))
    [draft] = needs_order_by_supplier(needs=[need], by=manager, at=MOMENT)
    as_manager.post(reverse("order-send", args=[draft.pk]))
    with time_machine.travel(MOMENT + dt.timedelta(days=3), tick=False):
        assert "late, " in as_manager.get(reverse("needs-list")).content.decode()


def test_the_last_safe_day_is_said_first(as_manager, monkeypatch):
    need = make_need(part=make_part(lead_days=35))
    monkeypatch.setattr("jobs.flow.work_begins", lambda: {need.task_id: dt.date(2027, 2, 15)})
    assert "One part must be ordered today." in as_manager.get(reverse("needs-list")).content.decode()
    monkeypatch.setattr("jobs.flow.work_begins", lambda: {need.task_id: dt.date(2027, 2, 12)})
    assert "One part comes too late even if ordered today." in as_manager.get(reverse("needs-list")).content.decode()


def test_a_long_list_comes_in_pages_the_export_holds_all(as_manager):
    fill(120)
    pages = [as_manager.get(reverse("needs-list"), {"page": number}).content.decode() for number in (1, 2, 3)]
    assert [page.count('name="need"') for page in pages] == [50, 50, 20]
    assert "51 to 100 of 120" in pages[1]
    export = as_manager.get(reverse("needs-list"), {"as": "csv", "page": 2}).content.decode("utf-8-sig")
    assert len(export.splitlines()) == 121


def test_a_page_that_comes_back_keeps_every_tick_in_sight(as_manager):
    fill(60)
    last = Need.objects.order_by("pk").last()
    from_nobody = make_need(part=make_part("odd-part", supplier=None), code="op-odd")
    answer = as_manager.post(reverse("need-order"), {"need": [last.pk, from_nobody.pk]})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert f'value="{last.pk}" checked' in page
