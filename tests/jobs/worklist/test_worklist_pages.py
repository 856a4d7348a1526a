"""The pages of jobs, tasks and variations: what stands on them, bad values, who may, and how often they ask."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.hours.services import time_enter
from jobs.updates.models import Update
from jobs.worklist.models import Job, Task, Variation
from jobs.worklist.services import job_book_in, job_ready, variation_price, variation_report
from tests.factories import MOMENT, TODAY, make_job, make_operation, make_task
from tests.jobs.worklist.conftest import CLIENT
from workshop.house.queries import the_shop

pytestmark = pytest.mark.django_db


def text_of(answer):
    return answer.content.decode()


def report(job, boss, *codes):
    affects = list(job.tasks.filter(operation__code__in=codes))
    return variation_report(job=job, found="Two keys are cracked.", affects=affects, by=boss, at=MOMENT)


def test_a_job_says_first_how_it_stands_then_its_path_tasks_and_hours(job, boss, technician, as_manager):
    assert "Accepted" in text_of(as_manager.get(f"/jobs/{job.pk}/"))
    job_book_in(job=job, by=boss, on=TODAY)
    report(job, boss, "ky-bush")
    task = job.tasks.get(operation__code="dm-open")
    time_enter(task=task, person=technician, on=TODAY, minutes=75, at=MOMENT)
    page = text_of(as_manager.get(f"/jobs/{job.pk}/"))
    assert "In the house since Mon 11 Jan. 1 of 7 tasks are done; one waits for an answer." in page
    assert "held by variation 1" in page
    assert "1.3 h" in page
    assert CLIENT in page
    assert f"£{job.agreed_total:,.2f}" in page


def test_a_technician_sees_the_work_but_no_money(job, boss, as_technician):
    found = report(job, boss, "ky-bush")
    variation_price(variation=found, operations={"ky-repair": Decimal(1)}, words="Repair.", by=boss)
    for address in (f"/jobs/{job.pk}/", f"/variations/{found.pk}/"):
        page = text_of(as_technician.get(address))
        assert "£" not in page
        assert "Two keys are cracked." in page


@pytest.mark.parametrize("name", ["price", "send", "answer", "withdraw", "variation.pdf"])
def test_prices_and_answers_are_for_the_manager(job, boss, as_technician, name):
    found = report(job, boss)
    address = f"/variations/{found.pk}/{name}" + ("" if name.endswith("pdf") else "/")
    assert as_technician.get(address).status_code in (403, 405)
    assert as_technician.post(address).status_code in (403, 405)


def test_booking_in_keeps_the_day_and_drafts_the_message(job, as_technician):
    address = f"/jobs/{job.pk}/book-in/"
    for bad in ("", "yesterday", "2999-01-01"):
        answer = as_technician.post(address, {"on": bad})
        assert answer.status_code == 422
        assert Job.objects.get().state == Job.State.ACCEPTED
    assert "still to come" in text_of(as_technician.post(address, {"on": "2999-01-01"}))
    assert as_technician.post(address, {"on": "2020-01-11"}).status_code == 302
    assert Job.objects.get().booked_in_on.isoformat() == "2020-01-11"
    assert Update.objects.filter(event=Update.Event.BOOKED_IN).count() == 1
    again = as_technician.post(address, {"on": "2020-01-12"})
    assert (again.status_code, "cannot arrive a second time" in text_of(again)) == (422, True)


def test_it_does_not_go_home_with_an_open_balance_unless_somebody_says_why(job, boss, as_manager):
    job_book_in(job=job, by=boss, on=TODAY.replace(year=2020))
    job_ready(job=job, on=TODAY)
    address, day = f"/jobs/{job.pk}/return/", {"on": "2020-02-11"}
    answer = as_manager.post(address, day)
    assert (answer.status_code, "A balance of £" in text_of(answer)) == (422, True)
    assert as_manager.post(address, {**day, "in_spite_of_balance": "  "}).status_code == 422
    assert Job.objects.get().state == Job.State.READY
    assert as_manager.post(address, {**day, "in_spite_of_balance": "pays on Friday"}).status_code == 302
    assert Job.objects.get().state == Job.State.RETURNED
    assert "pays on Friday" in Job.objects.get().note


def test_what_was_found_is_kept_and_holds_only_what_was_ticked(job, as_technician):
    address = f"/jobs/{job.pk}/found/"
    task, other = job.tasks.get(operation__code="ky-bush"), make_task()
    for bad in ({"found": ""}, {"found": "A crack.", "affects": [other.pk]}, {"found": "A crack.", "affects": ["x"]}):
        answer = as_technician.post(address, bad)
        assert answer.status_code == 422
        assert bad["found"] in text_of(answer)
    assert not Variation.objects.exists()
    words = "“Split” <b>key</b> 🎹 & more"
    assert as_technician.post(address, {"found": words, "affects": [task.pk]}).status_code == 302
    one = Variation.objects.get()
    assert (one.found, list(one.affects.all())) == (words, [task])
    assert "&lt;b&gt;key&lt;/b&gt; 🎹" in text_of(as_technician.get(f"/variations/{one.pk}/"))
    ticked = text_of(as_technician.get(address, {"task": task.pk}))
    assert ticked.count(" checked") == 1


def test_what_chosen_work_drags_along_is_shown_before_it_is_priced(job, boss, as_manager):
    found = report(job, boss)
    address = f"/variations/{found.pk}/price/"
    data = {"words": "Bush two more.", "count-ky-bush": "2"}
    first = as_manager.post(address, data)
    page = text_of(first)
    assert first.status_code == 200
    assert "because of: Work ky-bush" in page
    assert 'name="seen-ky-repair"' in page
    assert not found.operations.exists()
    assert as_manager.post(address, {**data, "count-ky-repair": "1", "seen-ky-repair": "yes"}).status_code == 302
    assert sorted(found.operations.values_list("operation__code", flat=True)) == ["ky-bush", "ky-repair"]
    assert as_manager.post(address, {**data, "count-ky-repair": "", "seen-ky-repair": "yes"}).status_code == 302
    assert list(found.operations.values_list("operation__code", flat=True)) == ["ky-bush"]
    kept = text_of(as_manager.get(address))
    assert 'name="count-ky-bush" value="2"' in kept


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({"count-cs-dust": "many"}, "is not a count between"),
        ({"count-cs-dust": "-1"}, "is not a count between"),
        ({"count-cs-dust": "NaN"}, "is not a count between"),
        ({"count-cs-dust": "9e9"}, "is not a count between"),
        ({}, "Choose at least one operation"),
        ({"out-cs-dust": "out"}, "is not waiting to be done"),
        ({"count-tn-settle": "1.5"}, "whole"),
        ({"count-cs-dust": "1", "words": ""}, "Write what you propose"),
    ],
)
def test_a_price_that_cannot_be_says_why_and_keeps_what_was_typed(job, boss, as_manager, data, sentence):
    found = report(job, boss)
    answer = as_manager.post(f"/variations/{found.pk}/price/", {"words": "We propose.", **data})
    page = text_of(answer)
    assert answer.status_code == 422
    assert sentence in page
    assert data.get("words", "We propose.") in page
    assert not found.operations.exists()
    for name, value in data.items():
        if name.startswith("count"):
            assert f'name="{name}" value="{value}"' in page


def test_a_variation_is_frozen_sent_and_its_letter_answered_once_through_the_pages(job, boss, as_manager):
    found = report(job, boss, "ky-bush")
    variation_price(variation=found, operations={"ky-repair": Decimal(1)}, words="Repair them.", by=boss)
    send, answer = f"/variations/{found.pk}/send/", f"/variations/{found.pk}/answer/"
    late = as_manager.post(send, {"ready_on": "2020-01-01"})
    assert (late.status_code, "is past" in text_of(late)) == (422, True)
    assert as_manager.post(send, {"ready_on": "2999-05-07"}).status_code == 302
    found.refresh_from_db()
    assert (found.state, found.ready_on.isoformat()) == ("sent", "2999-05-07")
    assert "7 May 2999" in text_of(as_manager.get(f"/variations/{found.pk}/"))
    for bad in ({}, {"answer": "agree", "name": ""}, {"answer": "perhaps", "name": CLIENT}):
        refused = as_manager.post(answer, {"content_hash": found.content_hash, **bad})
        assert refused.status_code == 422
    stale = as_manager.post(answer, {"content_hash": "0" * 64, "answer": "agree", "name": "Mrs Ferrowby, letter"})
    assert (stale.status_code, "Mrs Ferrowby, letter" in text_of(stale)) == (422, True)
    good = {"content_hash": found.content_hash, "answer": "agree", "name": CLIENT}
    assert as_manager.post(answer, good).status_code == 302
    assert job.tasks.filter(operation__code="ky-repair").count() == 1
    second = as_manager.post(answer, {**good, "answer": "decline"})
    assert (second.status_code, "answered this on" in text_of(second)) == (422, True)
    assert job.tasks.filter(operation__code="ky-repair").count() == 1


def test_the_words_agreed_for_a_task_are_kept_escaped_and_stay_once_it_is_done(job, as_technician):
    task = job.tasks.get(operation__code="ky-bush")
    words = "Red cloth “5.2” <script>alert(1)</script> 🎹"
    assert as_technician.post(f"/tasks/{task.pk}/", {"agreed": words}).status_code == 302
    page = text_of(as_technician.get(f"/tasks/{task.pk}/"))
    assert "&lt;script&gt;alert(1)" in page
    assert "<script>alert" not in page
    too_long = as_technician.post(f"/tasks/{task.pk}/", {"agreed": "x" * 2001})
    assert too_long.status_code == 422
    done = job.tasks.get(operation__code="in-report")
    refused = as_technician.post(f"/tasks/{done.pk}/", {"agreed": "Other"})
    assert (refused.status_code, "stays as it was" in text_of(refused)) == (422, True)


def asked(client, address):
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


def test_a_job_of_200_tasks_asks_as_often_as_one_of_20(as_manager, technician):
    the_shop()
    counts = []
    for number in (20, 200):
        job = make_job()
        operation = make_operation(f"x-{number}")
        first = make_task(job, operation)
        for _ in range(number - 1):
            make_task(job, operation).after.add(first)
        for task in job.tasks.all()[:10]:
            time_enter(task=task, person=technician, on=TODAY, minutes=5, at=MOMENT)
        counts.append([asked(as_manager, f"/jobs/{job.pk}/"), asked(as_manager, f"/jobs/{job.pk}/card.pdf")])
    assert counts[0] == counts[1]


def test_left_out_tasks_stand_on_no_page_but_their_own(job, boss, as_technician):
    job.tasks.filter(operation__code="ky-weigh").update(state=Task.State.LEFT_OUT)
    assert "Work ky-weigh" not in text_of(as_technician.get(f"/jobs/{job.pk}/")).split("What was accepted")[0]
    task = job.tasks.get(operation__code="ky-weigh")
    assert "Left out of the job." in text_of(as_technician.get(f"/tasks/{task.pk}/"))
