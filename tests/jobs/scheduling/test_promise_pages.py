"""The page on which a date is given to a client."""

import datetime as dt
import re
from decimal import Decimal

import pytest
import time_machine

from jobs.scheduling.models import JobEnd, Promise
from jobs.scheduling.services import plan_make, promise_give
from jobs.updates.models import Update
from jobs.worklist.models import Job
from tests.factories import MOMENT, make_person
from tests.jobs.scheduling.stored import make_shop, make_work
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def monday_morning():
    with time_machine.travel(MOMENT, tick=False):
        yield


@pytest.fixture
def job():
    make_shop()
    make_person("Corin", skills=("action",))
    task = make_work(None, 20)
    plan_make(by=None, at=MOMENT, why="a page")
    JobEnd.objects.update(day_80=None, likely_ends=[])  # no futures were tried: the manager says how sure the date is
    return task.job


def text(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def address(job):
    return f"/jobs/{job.pk}/promise/"


def test_the_page_knows_the_planned_end_and_what_decides_it(as_manager, job):
    answer = as_manager.get(address(job))
    words = text(answer)
    assert "Which date do you give Mrs Ferrowby?" in words
    decided = "What decides it is the work itself: “operation ky-bush” (Corin, 20 h)."
    assert f"The plan ends it on Wed 13 Jan 2027 . {decided}" in words
    assert 'value="2027-01-13"' in answer.content.decode()
    assert "in 10 then" not in words


def test_a_date_is_given_and_kept_with_who_and_when(as_manager, job, manager):
    answer = as_manager.post(address(job), {"date": "2027-01-20", "chance": "", "reason": ""})
    assert answer.status_code == 302
    promise = Promise.objects.get()
    assert (promise.date, promise.chance, promise.given_by) == (dt.date(2027, 1, 20), None, manager)
    assert not Update.objects.exists(), "a first date has not moved"
    words = text(as_manager.get(address(job)))
    assert "Wed 20 Jan 2027 , given Mon 11 Jan 2027 by Tamsin" in words
    assert "in 10 then" not in words, "no chance was said, so none is shown"


def test_a_date_that_moves_needs_a_reason_and_keeps_what_was_entered(as_manager, job):
    as_manager.post(address(job), {"date": "2027-01-20", "chance": "0.8", "reason": ""})
    refused = as_manager.post(address(job), {"date": "2027-01-27", "chance": "0.9", "reason": "  "})
    assert refused.status_code == 422
    assert "Say why the date moves from Wed 20 Jan 2027" in text(refused)
    assert 'value="2027-01-27"' in refused.content.decode()
    assert Promise.objects.count() == 1
    reason = {"date": "2027-01-27", "chance": "0.9", "reason": "The felt came late."}
    assert as_manager.post(address(job), reason).status_code == 302
    assert Update.objects.get().event == Update.Event.DATE_MOVED
    assert "8 in 10 then" in text(as_manager.get(address(job)))


def test_the_same_date_again_needs_no_reason_and_no_message(as_manager, job):
    for chance in ("0.5", "0.8"):
        assert as_manager.post(address(job), {"date": "2027-01-20", "chance": chance}).status_code == 302
    assert [one.chance for one in Promise.objects.all()] == [Decimal("0.8"), Decimal("0.5")]
    assert not Update.objects.exists()


@pytest.mark.parametrize(
    ("entered", "sentence"),
    [
        ({"date": ""}, "Write the date you give."),
        ({"date": "next week"}, "Write the day as a date."),
        ({"date": "2027-01-10"}, "Sun 10 Jan 2027 has passed"),
        ({"date": "2027-01-20", "chance": "7"}, "is not one of the choices here"),
        ({"date": "2027-01-20", "reason": "x" * 201}, "at most 200 characters"),
    ],
)
def test_a_date_that_cannot_be_is_said_and_nothing_is_kept(as_manager, job, entered, sentence):
    answer = as_manager.post(address(job), entered)
    assert answer.status_code == 422
    assert sentence in text(answer)
    assert not Promise.objects.exists()


@pytest.mark.parametrize("state", [Job.State.RETURNED, Job.State.STOPPED])
def test_a_job_that_is_over_has_no_date_left(job, manager, state):
    Job.objects.filter(pk=job.pk).update(state=state)
    job.refresh_from_db()
    with pytest.raises(Refused, match="there is no date left to give"):
        promise_give(job=job, date=dt.date(2027, 2, 1), chance=None, by=manager, at=MOMENT, reason="")


def test_a_technician_gives_no_dates(as_technician, job):
    assert as_technician.get(address(job)).status_code == 403
    assert as_technician.post(address(job), {"date": "2027-01-20"}).status_code == 403
    assert not Promise.objects.exists()
