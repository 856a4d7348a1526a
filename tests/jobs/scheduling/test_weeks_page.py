"""The page of the weeks ahead: what it says first, who may see it, and that it asks no more of a bigger house."""

import datetime as dt
import re
from decimal import Decimal

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.scheduling.models import JobEnd, Plan, Stint
from jobs.scheduling.services import plan_make
from jobs.worklist.models import Task
from tests.factories import MOMENT, TODAY, make_instrument, make_job, make_person, make_skill
from tests.jobs.scheduling.stored import make_shop, make_work
from workshop.people.models import Leave

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def monday_morning():
    with time_machine.travel(MOMENT, tick=False):
        yield


def text(answer):
    return re.sub(r"\s+([,.])", r"\1", re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def heading(answer):
    return re.search(r"<h1>(.*?)</h1>", answer.content.decode(), re.S).group(1).strip()


@pytest.fixture
def house(manager):
    """Corin alone does keys and action: 56 hours of one instrument and 6 of another to come."""
    manager.on_the_bench = False
    manager.save()
    make_shop(floor=2)
    corin = make_person("Corin", skills=("action",))
    first = make_work(make_job(), 56)
    return corin, first


def put(plan, task, person, *days):
    """Stints of whole days from 8 to 16, days counted from Monday the 11th."""
    for day in days:
        begins = dt.datetime.combine(TODAY + dt.timedelta(days=day), dt.time(8), tzinfo=dt.UTC)
        Stint.objects.create(
            plan=plan, task=task, person=person, starts_at=begins, ends_at=begins + dt.timedelta(hours=8)
        )


def test_it_says_first_which_weeks_are_full_and_who_carries_them(as_manager, house):
    plan_make(by=None, at=MOMENT, why="a page")
    answer = as_manager.get("/plan/weeks/")
    assert (
        heading(answer)
        == "One of the 14 weeks ahead is over nine tenths full in some skill, the week of 11 Jan first: action."
    )
    words = text(answer)
    assert "Week of 11 Jan action : 39 h planned of 39 h Corin 39 h nothing left" in words, "since nine o’clock"
    assert "Mon 18 Jan Hours of people 17.0 h of 40.0 h".replace("Hours of people ", "") in words
    assert "The floor is fullest in the week of 11 Jan: 1 of 2 places." in words


def test_leave_and_days_off_are_hours_nobody_has(as_manager, house):
    corin, _ = house
    corin.workdays = [0, 1]
    corin.save()
    Leave.objects.create(person=corin, first_day=dt.date(2027, 1, 18), last_day=dt.date(2027, 1, 24))
    plan_make(by=None, at=MOMENT, why="a page")
    words = text(as_manager.get("/plan/weeks/"))
    assert "Mon 11 Jan 15.0 h of 15.0 h" in words
    assert "Mon 18 Jan nobody is in" in words


def test_a_house_without_a_plan_and_one_without_people_say_so(as_manager, house):
    assert heading(as_manager.get("/plan/weeks/")) == "There is no plan yet, so nothing fills the weeks ahead."
    house[0].is_active = False
    house[0].save()
    assert "Nobody on the bench has a skill yet." in text(as_manager.get("/plan/weeks/"))


def test_a_plan_with_room_everywhere_says_so_and_floor_and_standing_are_told(as_manager, house):
    Task.objects.update(hours_likely=Decimal(4))
    make_skill("gilding")  # nobody has it: it is not shown
    plan_make(by=None, at=MOMENT, why="a page")
    words = text(as_manager.get("/plan/weeks/"))
    assert "In none of the 14 weeks ahead is anybody’s skill over nine tenths full." in words
    assert "Every skill has more than a tenth of its hours left in every week." in words
    assert "gilding" not in words
    assert "No finished instrument waits for its owner. One floor place more would bring nothing in earlier" in words
    assert "Mon 11 Jan, no days Mon 11 Jan at work" in words


def test_work_planned_for_days_that_are_over_is_told_and_fills_no_week(as_manager, house):
    plan_make(by=None, at=MOMENT, why="a page")
    with time_machine.travel(MOMENT + dt.timedelta(days=5), tick=False):  # Saturday
        words = text(as_manager.get("/plan/weeks/"))
    assert "Not done when it was planned : 39 h of open work were planned for days that are over" in words
    assert "Mon 11 Jan " not in words.split("By week")[2], "the weeks begin with the next open day"


def test_a_finished_instrument_that_waits_is_told_with_what_collecting_it_would_bring(as_manager, house):
    corin, first = house
    waits = make_job(make_instrument(), state="ready", finished_on=TODAY - dt.timedelta(days=9),
                     booked_in_on=TODAY - dt.timedelta(days=60))  # fmt: skip
    to_come = make_work(make_job(state="accepted", booked_in_on=None), 8, skill=make_skill("string"))
    dilys = make_person("Dilys", skills=("string",))
    plan = Plan.objects.create(made_at=MOMENT, is_current=True)
    put(plan, first, corin, 0, 1, 2, 3, 4, 7, 8)
    put(plan, to_come, dilys, 9)
    for job, day in ((first.job, 19), (to_come.job, 20)):
        JobEnd.objects.create(plan=plan, job=job, ends_on=dt.date(2027, 1, day))
    words = text(as_manager.get("/plan/weeks/"))
    assert "One finished instrument stands there and waits for the owner." in words
    assert "waits for its owner for nine days" in words
    number, coming = waits.instrument.number, to_come.job.instrument.number
    assert (
        f"If no. {number} were collected now, no. {coming} could come in on Mon 11 Jan instead of Wed 20 Jan." in words
    )
    assert "Tue 12 Jan instead of Wed 20 Jan" in words, "seven hours are left of Monday"


def test_how_long_owners_take_is_told_once_enough_have_fetched_theirs(as_manager, house):
    for days in (1, 2, 3, 9):
        make_job(make_instrument(), state="returned", booked_in_on=None, finished_on=TODAY - dt.timedelta(days=days),
                 returned_on=TODAY)  # fmt: skip
    assert "Half of the owners" not in text(as_manager.get("/plan/weeks/"))
    make_job(make_instrument(), state="returned", booked_in_on=None, finished_on=TODAY, returned_on=TODAY)
    assert "Half of the owners fetched theirs within two days of its being finished" in text(
        as_manager.get("/plan/weeks/")
    )


def test_a_technician_is_told_it_is_the_managers_and_a_stranger_is_led_to_the_door(as_technician, stranger, house):
    assert as_technician.get("/plan/weeks/").status_code == 403
    assert "The weeks ahead" not in text(as_technician.get("/plan/"))
    assert stranger.get("/plan/weeks/").status_code == 302


def test_the_plan_leads_to_it(as_manager, house):
    assert '<a href="/plan/weeks/">' in as_manager.get("/plan/").content.decode()


def test_it_asks_as_often_for_nine_instruments_as_for_two(as_manager, house):
    def asked():
        plan_make(by=None, at=MOMENT, why="a page")
        with CaptureQueriesContext(connection) as found:
            assert as_manager.get("/plan/weeks/").status_code == 200
        return len(found)

    make_work(make_job(make_instrument(), state="accepted", booked_in_on=None), 3)
    few = asked()
    for number in range(7):
        make_work(make_job(make_instrument(), booked_in_on=None, state="accepted"), 3 + number)
        make_person(f"Person{number}", skills=("action", f"skill{number}"))
    assert asked() == few < 30
