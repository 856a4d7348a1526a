"""Chances of dates: kept with the plan, shown on its page and on a page of each date, taken into a promise."""

import datetime as dt
import re
from decimal import Decimal

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs import flow, tasks
from jobs.scheduling.house import house_problem, uncertainty_of
from jobs.scheduling.models import JobEnd, Promise
from jobs.scheduling.queries import current_plan
from jobs.scheduling.services import plan_make
from tests.factories import MOMENT, make_job, make_person
from tests.jobs.scheduling.stored import make_ordered, make_shop, make_work

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def monday_morning():
    with time_machine.travel(MOMENT, tick=False):
        yield


@pytest.fixture
def house():
    """One instrument whose hammers are on their way, promised for the planned end; one of much work, not promised."""
    make_shop()
    make_person("Corin", skills=("action",))
    first = make_work(make_job(weight=3), 6)
    last = make_work(first.job, 8, after=[first])
    make_ordered(last, dt.date(2027, 2, 15))
    Promise.objects.create(job=first.job, date=dt.date(2027, 2, 15), given_at=MOMENT)
    other = make_work(make_job(), 80)
    plan_make(by=None, at=MOMENT, why="a page")
    return first.job, other.job


def text(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def test_a_plan_keeps_chances_what_decides_and_what_would_help(house):
    promised, other = (JobEnd.objects.get(job=job) for job in house)
    assert promised.day_50 <= promised.day_80 <= promised.day_90
    assert len(promised.likely_ends) == 20
    # Hammers in time 7 in 10, then a day of work that is done on the day with even chances, at best.
    assert Decimal("0.2") <= promised.chance_by(dt.date(2027, 2, 15)) <= Decimal("0.5")
    assert promised.chance_by(dt.date(2028, 1, 1)) == 1
    assert promised.shares[0]["kind"] == "part"
    assert promised.shares[0]["words"].startswith("Hammers, set: expected Mon 15 Feb")
    assert promised.help_words == "all its parts here now"
    assert promised.help_days >= 20, "the hammers come in five weeks"
    assert other.shares[0]["kind"] == "work"
    assert other.help_words == "somebody else doing half of “operation ky-bush”"


def test_dates_tried_before_anything_was_compiled_are_tried_again_by_the_workers_clock(house, monkeypatch):
    for place in ("jobs.scheduling.calc.futures", "jobs.scheduling.calc.solve.solver"):
        monkeypatch.setattr(f"{place}.is_warm", lambda: False)
    cold = plan_make(by=None, at=MOMENT + dt.timedelta(minutes=1), why="at the very start")
    assert cold.ends.filter(shares=[], help_days=None).count() == 2
    assert cold.ends.exclude(day_80=None).count() == 2
    monkeypatch.undo()
    tasks.plan_tick()
    promised = cold.ends.get(job=house[0])
    assert promised.shares[0]["kind"] == "part"
    assert promised.help_words == "all its parts here now"
    assert not flow.outlook_caught_up(at=MOMENT + dt.timedelta(minutes=2)), "once is enough"


def test_dates_are_not_tried_again_for_work_the_plan_does_not_hold(house, monkeypatch):
    current_plan().ends.update(shares=[], help_days=None)
    make_work(house[1], 5)
    assert not flow.outlook_caught_up(at=MOMENT)
    assert current_plan().ends.filter(shares=[]).count() == 2


def test_what_is_not_known_is_read_from_the_tasks(house):
    told = uncertainty_of(house_problem(at=MOMENT))
    assert set(told.spreads) == {f"task-{task.pk}" for job in house for task in job.tasks.all()}
    assert all(0.05 <= spread <= 1.5 for spread in told.spreads.values())
    (part,) = told.parts.items()
    assert re.fullmatch(r"order \d+", part[1])
    assert told.tau == 0.20


def test_parts_of_one_order_come_together(house):
    more = make_work(house[1], 3)
    need = make_ordered(more, dt.date(2027, 2, 20), code="shanks")
    need.order_line.order = house[0].tasks.get(needs__isnull=False).needs.get().order_line.order
    need.order_line.save()
    assert len(set(uncertainty_of(house_problem(at=MOMENT)).parts.values())) == 1


def test_a_house_without_work_has_a_plan_without_dates():
    make_shop()
    assert not plan_make(by=None, at=MOMENT, why="a page").ends.exists()


def test_the_dates_of_the_plan_show_chances_and_help(as_manager, house):
    words = text(as_manager.get("/plan/"))
    assert "8 in 10 by" in words
    assert re.search(r"Mon 15 Feb [2-5] in 10", words)
    assert "so in more than 9 of 10 futures" in words
    assert "all its parts here now: " in words
    assert "%" not in words, "chances are told in tenths"


def test_an_earlier_plan_without_futures_still_opens(as_manager, house):
    empty = {"day_50": None, "day_80": None, "day_90": None, "likely_ends": [], "shares": [], "help_days": None}
    JobEnd.objects.update(**empty)
    assert "What helps most" not in text(as_manager.get("/plan/"))
    words = text(as_manager.get(f"/plan/dates/{house[0].pk}/"))
    assert "No futures were tried on this plan" in words


def test_a_plan_made_without_the_compiled_replay_has_chances_and_says_what_is_missing(as_manager, house, monkeypatch):
    monkeypatch.setattr("jobs.scheduling.calc.futures.is_warm", lambda: False)
    plan_make(by=None, at=MOMENT, why="a page")
    end = JobEnd.objects.get(plan__is_current=True, job=house[0])
    assert (len(end.likely_ends), end.shares, end.help_days) == (20, [], None)
    words = text(as_manager.get(f"/plan/dates/{house[0].pk}/"))
    assert "was not followed up on this plan" in words
    assert "No change was tried on this plan" in words


def test_the_page_of_a_date_says_how_sure_it_is_and_draws_it(as_manager, as_technician, house):
    answer = as_manager.get(f"/plan/dates/{house[0].pk}/")
    words, number = text(answer), house[0].instrument.number
    end = JobEnd.objects.get(job=house[0])
    assert f"No. {number} is done by" in words
    assert "8 times in 10" in words
    assert "Promised is Mon 15 Feb 2027" in words
    assert "Hammers, set: expected Mon 15 Feb" in words
    assert "All its parts here now: the date that holds 8 times in 10 would come" in words
    kept = sum(day <= dt.date(2027, 2, 15) for day in end.dots)
    assert answer.content.decode().count('class="pt"') == kept
    assert f"{kept} of 20 fall on or before the promise, Mon 15 Feb" in words
    listed = re.findall(r"<li><time[^>]*datetime=\"([\d-]+)", answer.content.decode())
    assert listed == end.likely_ends, "the drawing equals its list"
    assert "Give a date" not in text(as_technician.get(f"/plan/dates/{house[0].pk}/"))


def test_the_page_of_a_date_without_a_promise_draws_the_day_that_holds(as_manager, house):
    words = text(as_manager.get(f"/plan/dates/{house[1].pk}/"))
    assert "No date has been promised." in words
    end = JobEnd.objects.get(job=house[1])
    kept = sum(day <= end.day_80 for day in end.dots)
    assert kept >= 16
    assert f"{kept} of 20 fall on or before the day that holds" in words


def test_a_job_outside_the_plan_is_said_and_a_stranger_sees_nothing(as_manager, client, house):
    JobEnd.objects.all().delete()
    assert "The plan in force does not hold this job." in text(as_manager.get(f"/plan/dates/{house[0].pk}/"))
    assert as_manager.get("/plan/dates/999999/").status_code == 404
    assert client.get(f"/plan/dates/{house[0].pk}/").status_code in (302, 403)


def test_the_promise_form_proposes_the_sure_day_and_keeps_the_chance_of_the_day_given(as_manager, house):
    end = JobEnd.objects.get(job=house[1])
    address = f"/jobs/{house[1].pk}/promise/"
    answer = as_manager.get(address)
    assert f'value="{end.day_80.isoformat()}"' in answer.content.decode()
    assert "How sure" not in text(answer)
    early = dt.date.fromisoformat(end.likely_ends[5])
    assert as_manager.post(address, {"date": early.isoformat(), "reason": ""}).status_code == 302
    given = Promise.objects.get(job=house[1])
    assert given.chance == end.chance_by(early)
    assert Decimal("0.3") <= given.chance <= Decimal("0.5")


def test_the_page_of_a_date_asks_as_often_for_much_work_as_for_little(as_manager, house):
    address = f"/plan/dates/{house[0].pk}/"
    as_manager.get(address)
    with CaptureQueriesContext(connection) as few:
        as_manager.get(address)
    for _ in range(6):
        make_work(make_job(), 5)
    make_work(house[0], 3)
    plan_make(by=None, at=MOMENT, why="more")
    with CaptureQueriesContext(connection) as many:
        as_manager.get(address)
    assert len(many) == len(few) <= 14
