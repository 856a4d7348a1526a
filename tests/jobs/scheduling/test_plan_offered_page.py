"""The page of what is offered: what moves, for whom and why; answered by pressing, with a script or without."""

import datetime as dt
import re
from decimal import Decimal

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.scheduling.models import Plan, PlanWish, Promise
from jobs.scheduling.queries import current_plan, plans_offered
from jobs.scheduling.services import plan_make, plan_renew
from jobs.updates.models import Update
from jobs.worklist.models import Task
from tests.factories import MOMENT, make_job, make_person
from tests.jobs.scheduling.stored import make_shop, make_work
from tests.jobs.scheduling.test_plan_pages import heading, text
from workshop.calendar.words import day_words, day_words_year
from workshop.people.models import Leave, Person

pytestmark = pytest.mark.django_db
LATER = MOMENT + dt.timedelta(minutes=30)


@pytest.fixture(autouse=True)
def monday_morning():
    with time_machine.travel(LATER, tick=False):
        yield


def offer(number=3):
    """Everybody is ill on Tuesday and Wednesday: what was told for then moves, and a promise with it."""
    make_shop()
    for name in ("Corin", "Dilys"):
        make_person(name, skills=("action",))
    tasks = [make_work(make_job(), 7, name=f"task {place}") for place in range(number)]
    for task in tasks:
        Promise.objects.create(job=task.job, date=dt.date(2027, 1, 13), given_at=MOMENT)
    plan_make(by=None, at=MOMENT, why="told")
    for person in Person.objects.filter(role="technician"):
        Leave.objects.create(person=person, first_day=dt.date(2027, 1, 12), last_day=dt.date(2027, 1, 13))
    return offered_again()


def offered_again(why="all are ill", at=LATER):
    wish = PlanWish.objects.create(asked_at=at, begun_at=at, done_at=at, why=why)
    return plan_renew(wish=wish, at=at).offered


def test_without_anything_offered_the_page_says_when_something_would_be(as_manager):
    assert heading(as_manager.get("/plan/offered/")) == "No plan waits for your answer."
    assert "A new plan waits" not in text(as_manager.get("/plan/"))


def test_the_page_says_what_moves_for_whom_and_why_and_shows_the_message(as_manager):
    way = offer()[0]
    assert "A new plan waits for your answer : one task moves. See what it changes" in text(as_manager.get("/plan/"))
    assert "A new plan waits: one task moves all are ill See what it changes" in text(as_manager.get("/"))
    answer = as_manager.get("/plan/offered/")
    words = text(answer)
    assert heading(answer) == "One way to take in what happened"
    assert "All are ill. The plan in force stays until you answer." in words
    move = way.moves.get()
    assert f"{move.was_person}: one task moves" in words
    assert "Tue 12 Jan, 08:00 Thu 14 Jan, 08:00" in words
    assert f"{move.was_person} is not in on Tue 12 Jan" in words
    sure = way.ends.get(job=move.task.job).day_80
    row = f"{move.task.job.instrument} Mrs Ferrowby Wed 13 Jan Tue 12 Jan Thu 14 Jan {day_words(sure)} one day late"
    assert row in words
    assert f"the date moves to {day_words_year(sure)}" in words, "what a client is told holds 8 times in 10"
    assert f"We told you Wed 13 Jan 2027. From what we know today it will be {day_words_year(sure)}." in words
    assert 'type="range"' not in answer.content.decode(), "there is nothing to choose between"
    assert not Update.objects.exists(), "looking writes nothing"


def test_what_happened_since_it_was_worked_out_is_said(as_manager):
    offer()
    assert "Since it was worked out" not in text(as_manager.get("/plan/offered/"))
    Task.objects.filter(name="task 0").update(done_at=LATER + dt.timedelta(hours=1))
    PlanWish.objects.create(asked_at=LATER + dt.timedelta(hours=1), why="parts arrived")
    with time_machine.travel(LATER + dt.timedelta(hours=2), tick=False):
        words = text(as_manager.get("/plan/offered/"))
    assert "it is 2 h old; one task has been closed; a newer plan is asked for: parts arrived." in words
    assert "Work the plan out again" not in words, "one is on its way"


def test_accepting_puts_it_in_force_and_leaves_the_message_as_a_draft(as_manager, manager):
    way = offer()[0]
    answer = as_manager.post("/plan/offered/accept/", {"plan": way.pk}, follow=True)
    assert "The new plan is in force. One message waits to be read." in text(answer)
    assert current_plan() == way
    draft = Update.objects.get()
    job = way.moves.get().task.job
    sure = way.ends.get(job=job).day_80
    assert (draft.state, draft.event, draft.job, draft.new_date) == ("draft", "date_moved", job, sure)
    assert draft.written_from == "the plan accepted by Tamsin"
    assert [promise.date.day for promise in job.promises.all()] == [13], "a promise moves when its message goes"
    release = {"subject": draft.subject, "body": draft.body, "release": "1"}
    as_manager.post(reverse("update-show", args=[draft.pk]), release)
    assert [promise.date for promise in job.promises.all()] == [sure, dt.date(2027, 1, 13)]
    assert job.promises.first().chance >= Decimal("0.80")
    assert job.promises.first().reason == draft.reason != ""
    assert Update.objects.count() == 1, "the client is told once"


@pytest.mark.parametrize(("later", "states"), [(6, ["draft", "dropped"]), (0, ["draft"])])
def test_nobody_is_told_two_dates_or_one_twice(as_manager, later, states):
    way = offer()[0]
    job = way.moves.get().task.job
    Update.objects.create(
        client=job.instrument.client, instrument=job.instrument, job=job, event="date_moved", event_key="older",
        happened_at=MOMENT, subject="older", body="x",
        new_date=way.ends.get(job=job).day_80 + dt.timedelta(days=later),
    )  # fmt: skip
    as_manager.post("/plan/offered/accept/", {"plan": way.pk})
    assert sorted(Update.objects.values_list("state", flat=True)) == states


def test_a_plan_that_is_stale_is_refused_and_a_new_try_is_offered(as_manager):
    way = offer()[0]
    make_work(make_job(), 3, name="new")
    old = current_plan()
    words = text(as_manager.post("/plan/offered/accept/", {"plan": way.pk}, follow=True))
    assert "Not done. The house has changed since: “new” on" in words
    assert "Work the plan out again" in words
    assert (current_plan(), plans_offered()) == (old, [way])
    assert not Update.objects.exists()


@pytest.mark.parametrize("asked", ["", "x", "999999", "9" * 40])
def test_a_form_that_names_no_plan_that_waits_changes_nothing(as_manager, asked):
    way = offer()[0]
    for address in ("/plan/offered/accept/", "/plan/offered/keep/"):
        assert "waits for an answer no more" in text(as_manager.post(address, {"plan": asked}, follow=True))
    assert plans_offered() == [way]


def test_keeping_the_plan_in_force_throws_the_offer_away(as_manager):
    way, old = offer()[0], current_plan()
    words = text(as_manager.post("/plan/offered/keep/", {"plan": way.pk}, follow=True))
    assert "The plan in force stays. What was offered is gone." in words
    assert (current_plan(), Plan.objects.count()) == (old, 1)


def test_a_technician_and_a_stranger_see_nothing_of_it(as_technician, stranger):
    way = offer(4)[0]
    assert "waits for your answer" not in text(as_technician.get("/plan/"))
    for address in (f"/plan/?plan={way.pk}", f"/plan/plan.csv?plan={way.pk}"):
        assert as_technician.get(address).status_code == 404
    assert as_technician.get("/plan/offered/").status_code == 403
    for address in ("/plan/offered/accept/", "/plan/offered/keep/", "/plan/stop/"):
        assert as_technician.post(address, {"plan": way.pk}).status_code == 403
        assert stranger.post(address, {"plan": way.pk})["Location"].startswith("/sign-in/")
    assert plans_offered() == [way]


def test_the_manager_sees_an_offered_plan_drawn_and_marked(as_manager):
    way = offer()[0]
    words = text(as_manager.get(f"/plan/?plan={way.pk}"))
    assert "A plan that waits for your answer : it is not in force." in words
    assert "Work the plan out again" not in words


def several():
    """Three ways of one plan in force, as a search would leave them."""
    way = offer()[0]
    for name, moved in ((Plan.Way.CALMEST, 0), (Plan.Way.EARLIEST, 9)):
        Plan.objects.create(
            made_at=way.made_at, why=way.why, wish=way.wish, is_offered=True, answers=way.answers, way=name,
            told=12, moved=moved,
        )  # fmt: skip
    return way


@pytest.mark.parametrize(
    ("asked", "chosen"), [("", "In between"), ("1", "Fewest moves"), ("3", "Least late"), ("7", "In between")]
)
def test_a_slider_chooses_between_calm_and_early_and_links_do_without_it(as_manager, asked, chosen):
    several()
    answer = as_manager.get("/plan/offered/", {"way": asked} if asked else {})
    page = answer.content.decode()
    assert heading(answer) == "Three ways to take in what happened"
    assert re.search(r'<tr class="chosen"><th scope="row"><span aria-current="true">(.*?)</span>', page)[1] == chosen
    assert len(re.findall(r'<a href="\?way=\d">', page)) == 2, "each other way is a link"
    form = re.search(r'<form class="slide" method="get".*?</form>', page, re.S)[0]
    assert 'type="range" id="way" name="way" min="1" max="3" step="1"' in form
    assert "<button>Show this way</button>" in form, "it is sent without a script too"


def test_the_page_asks_as_often_for_many_moves_as_for_few(as_manager):
    def questions():
        with CaptureQueriesContext(connection) as asked:
            assert as_manager.get("/plan/offered/").status_code == 200
        return len(asked)

    offer()
    few = questions()
    for place in range(12):
        Promise.objects.create(job=make_work(make_job(), 3, name=f"more {place}").job, date=MOMENT, given_at=MOMENT)
    plan_make(by=None, at=LATER, why="more of it")
    Leave.objects.update(first_day=dt.date(2027, 1, 11))
    assert offered_again(at=LATER + dt.timedelta(minutes=1))[0].moves.count() > 3
    assert questions() == few
    assert few < 25


def test_the_progress_says_how_it_goes_and_a_manager_can_stop_it(as_manager, as_technician, manager):
    wish = PlanWish.objects.create(asked_at=LATER, begun_at=LATER, why="parts arrived")
    with time_machine.travel(LATER + dt.timedelta(seconds=2), tick=False):
        words = text(as_manager.get("/plan/progress/"))
    assert "being worked out for 2 s: parts arrived. The first whole plan is not there yet." in words
    PlanWish.objects.update(searched_seconds=4.2, first_plan_seconds=0.1, best_days_late=12, late_instruments=2)
    words = text(as_manager.get("/plan/progress/"))
    assert "for 4 s: parts arrived. Best so far: two instruments late, 12 days late by weight in all." in words
    assert "Stop and keep the best" in words
    assert "Stop and keep the best" in text(as_manager.get("/plan/")), "without a script the page has it too"
    assert "Stop and keep the best" not in text(as_technician.get("/plan/progress/"))
    assert as_manager.post("/plan/stop/", {"wish": wish.pk})["Location"] == "/plan/"
    wish.refresh_from_db()
    assert (wish.stop_asked_at, wish.stop_asked_by) == (LATER, manager)
    words = text(as_manager.get("/plan/progress/"))
    assert "Tamsin asked it to stop at 09:30:00: the best so far is kept." in words
    assert "Stop and keep the best" not in words
    PlanWish.objects.update(done_at=LATER)
    for asked in (wish.pk, "", "x"):
        assert "That search has ended by itself" in text(as_manager.post("/plan/stop/", {"wish": asked}, follow=True))
