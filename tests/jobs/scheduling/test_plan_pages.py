"""The pages of the Plan room: what they say first, who may do what, and what of a bad address."""

import datetime as dt
import re
from io import StringIO

import pytest
import time_machine
from django.test import Client

from jobs import tasks
from jobs.scheduling.models import Plan, PlanWish, Promise
from jobs.scheduling.services import plan_make
from jobs.scheduling.table import write_plan
from jobs.scheduling.timelines import plan_blocks
from jobs.worklist.models import Task, Variation
from tests.factories import MOMENT, make_job, make_manager, make_person
from tests.jobs.scheduling.stored import make_ordered, make_shop, make_work, starts
from workshop.places.models import Place

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def monday_morning():
    with time_machine.travel(MOMENT, tick=False):
        yield


@pytest.fixture
def house():
    """Two instruments: one promised too early whose hammers are on their way, one without a promise."""
    make_shop()
    make_person("Corin", skills=("action",))
    first = make_work(make_job(weight=3), 12)
    rest = make_work(first.job, 6, after=[first], wait_hours=72, wait_reason="glue")
    last = make_work(first.job, 3, after=[rest])
    make_ordered(rest, dt.date(2027, 1, 20))
    Promise.objects.create(job=first.job, date=dt.date(2027, 1, 15), given_at=MOMENT)
    other = make_work(make_job(), 5)
    return first, rest, last, other


def plan(**more):
    return plan_make(by=None, at=MOMENT, why="a page", **more)


def text(answer):
    """The words of a page, without its marks."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def heading(answer):
    return re.search(r"<h1>(.*?)</h1>", answer.content.decode(), re.S).group(1).strip()


def test_without_a_plan_the_page_says_so_and_offers_to_make_one(as_manager, house):
    answer = as_manager.get("/plan/")
    assert heading(answer) == "There is no plan yet."
    assert "Work the plan out again" in text(answer)


def test_the_page_says_first_what_is_late_and_what_decides_it(as_manager, house):
    plan()
    answer = as_manager.get("/plan/")
    number = house[0].job.instrument.number
    assert heading(answer) == f"Two instruments are planned, and no. {number} ends ten days after its promise."
    words = text(answer)
    assert (
        f"What decides no. {number} is a part: Hammers, set: expected Wed 20 Jan, before “operation ky-bush”." in words
    )
    assert "ten days late" in words
    assert "Tasks of these eight weeks" in words
    assert "Hammers, set" in words
    assert "glue 3 d" in words


def test_the_page_of_a_technician_shows_the_plan_and_no_button(as_technician, house):
    plan()
    words = text(as_technician.get("/plan/"))
    assert "planned" in words
    assert "Work the plan out again" not in words
    assert "give a date" not in words


def test_every_promise_that_holds_is_said(as_manager, house):
    Promise.objects.update(date=dt.date(2027, 3, 1))
    plan()
    assert heading(as_manager.get("/plan/")) == "Two instruments are planned, and every promise holds."
    Promise.objects.all().delete()
    assert heading(as_manager.get("/plan/")) == "Two instruments are planned; no date has been promised yet."


def test_the_button_asks_for_a_plan_once_and_the_page_shows_the_progress(
    as_manager, house, manager, django_capture_on_commit_callbacks, monkeypatch
):
    monkeypatch.setattr(tasks.plan_make, "apply_async", lambda **_: None)  # a broker that loses everything
    with django_capture_on_commit_callbacks(execute=True):
        assert as_manager.post("/plan/make/").status_code == 302
        assert as_manager.post("/plan/make/").status_code == 302
    wish = PlanWish.objects.get()
    assert (wish.asked_by, wish.why) == (manager, "Tamsin asked for it")
    answer = as_manager.get("/plan/")
    assert "A new plan is asked for" in text(answer)
    assert "Stop and keep the best" not in text(answer), "nothing is searched yet"
    assert "Work the plan out again" not in text(answer), "one is on its way"
    assert 'hx-get="/plan/progress/"' in answer.content.decode()
    assert "or look again yourself" in text(answer), "without a script the link does the same"
    going_on = as_manager.get("/plan/progress/")
    assert ("HX-Refresh" in going_on, "A new plan is asked for" in text(going_on)) == (False, True)
    tasks.plan_make(wish.pk)
    done = as_manager.get("/plan/progress/")
    assert (done["HX-Refresh"], text(done).strip()) == ("true", "")
    assert Plan.objects.get().made_by == manager


def test_a_wish_nobody_begins_is_said_to_be_stuck(as_manager, house):
    PlanWish.objects.create(asked_at=MOMENT - dt.timedelta(minutes=2), why="parts arrived")
    words = text(as_manager.get("/plan/"))
    assert "Nobody has begun the new plan yet" in words
    assert "Is the worker running?" in words


def test_a_try_that_found_no_plan_is_said_beside_the_old_one(as_manager, house):
    plan()
    PlanWish.objects.create(
        asked_at=MOMENT, begun_at=MOMENT, done_at=MOMENT, why="x", trouble="There is no floor place."
    )
    words = text(as_manager.get("/plan/"))
    assert "The last try found no plan; the one before stays in force There is no floor place." in words


def test_what_could_not_be_planned_is_named(as_manager, house):
    Task.objects.filter(pk=house[3].pk).update(work_place="spray")
    Place.objects.filter(kind="spray").delete()
    plan()
    words = text(as_manager.get("/plan/"))
    assert "To be mended" in words
    assert f"“operation ky-bush” on {house[3].job.instrument} needs the place spray, which the shop lacks" in words
    assert "One task stands in no plan" in words


def test_a_promise_that_has_passed_is_named_and_its_instrument_is_planned_all_the_same(as_manager, house):
    Promise.objects.create(job=house[3].job, date=dt.date(2027, 1, 5), given_at=MOMENT)
    made = plan()
    sentence = f"{house[3].job.instrument} was due Tue 5 Jan 2027, which has passed: agree on a new date."
    assert made.troubles == [sentence]
    assert house[3].job_id in made.ends.values_list("job", flat=True)
    assert sentence in text(as_manager.get("/plan/"))


def test_in_a_full_house_the_table_of_what_is_drawn_has_a_page_of_its_own(as_manager, house, monkeypatch):
    plan()
    short = as_manager.get("/plan/")
    monkeypatch.setattr("jobs.scheduling.timelines.page.LISTED", 3)
    long = as_manager.get("/plan/")
    assert "/plan/tasks/?from=2027-01-11" not in short.content.decode()
    assert "/plan/tasks/?from=2027-01-11" in long.content.decode()
    assert "Tasks of these eight weeks" not in text(long)

    def table(answer):
        return re.findall(r"<tbody>.*?</tbody>", answer.content.decode(), re.S)

    [listed] = table(as_manager.get("/plan/tasks/?from=2027-01-11"))
    assert listed.count("<tr>") == 4
    assert listed in table(short)
    assert "Mon 1 Mar 2027 to Sun 25 Apr 2027" in text(as_manager.get("/plan/tasks/?from=2027-03-01"))


@pytest.mark.parametrize("asked", ["", "x", "2027-02-30", "9999-12-31", "0001-01-01", "2027-01-13", "2027-1-1'\""])
def test_any_week_asked_for_gives_a_page(as_manager, house, asked):
    plan()
    answer = as_manager.get("/plan/", {"from": asked})
    assert answer.status_code == 200
    assert "Mon 11 Jan 2027 to Sun 7 Mar 2027" in text(answer)


def test_weeks_can_be_turned_and_a_task_is_shown_with_its_true_beginning(as_manager, house):
    plan()
    later = text(as_manager.get("/plan/?from=2027-03-08"))
    assert "Mon 8 Mar 2027 to Sun 2 May 2027" in later
    assert "no tasks" in later
    assert "from=2027-01-11" in as_manager.get("/plan/?from=2027-03-08").content.decode()


def test_an_earlier_plan_can_be_read_and_nothing_is_pressed_there(as_manager, house):
    old = plan()
    with time_machine.travel(MOMENT + dt.timedelta(hours=2), tick=False):
        new = plan_make(by=make_manager(), at=MOMENT + dt.timedelta(hours=2), why="two hours later")
        page = as_manager.get("/plan/")
        assert f"?plan={old.pk}" in page.content.decode()
        assert "Since the plan of Mon 11 Jan, 09:00" in re.sub(r"\s+,", ",", text(page))
        answer = as_manager.get(f"/plan/?plan={old.pk}")
    assert "An earlier plan" in text(answer)
    assert "Work the plan out again" not in text(answer)
    assert (old.pk, new.pk) == tuple(Plan.objects.order_by("pk").values_list("pk", flat=True))


@pytest.mark.parametrize("asked", ["999999", "9" * 18])
def test_a_plan_that_is_not_there_is_not_found(as_manager, house, asked):
    assert as_manager.get(f"/plan/?plan={asked}").status_code == 404


@pytest.mark.parametrize("asked", ["x", "-1", "²", "9" * 40])
def test_a_plan_asked_for_in_no_number_is_the_one_in_force(as_manager, house, asked):
    plan()
    assert "An earlier plan" not in text(as_manager.get("/plan/", {"plan": asked}))


def test_a_task_says_why_it_stands_where_it_stands(as_manager, house):
    first, rest, last, other = house
    made = plan()
    words = text(as_manager.get(f"/plan/tasks/{rest.pk}/"))
    assert "Corin begins it on Wed 20 Jan, 08:00 and ends on Wed 20 Jan, 14:00" in re.sub(r"\s+,", ",", words)
    assert "because of this: Hammers, set: expected Wed 20 Jan." in words
    words = text(as_manager.get(f"/plan/tasks/{last.pk}/"))
    assert f"because of this: the rest after “{rest.name}” (glue)." in words
    assert "Nothing waits for it." in words
    early, late = sorted((first, other), key=lambda task: starts(made, task))
    words = text(as_manager.get(f"/plan/tasks/{late.pk}/"))
    assert f"because of this: Corin works on no. {early.job.instrument.number} first." in words


def test_a_task_that_is_done_or_in_no_plan_has_its_page_too(as_technician, house):
    other = house[3]
    assert "The plan in force does not hold this task." in text(as_technician.get(f"/plan/tasks/{other.pk}/"))
    plan()
    Task.objects.filter(pk=other.pk).update(state="done", done_at=MOMENT, done_by=make_manager())
    words = text(as_technician.get(f"/plan/tasks/{other.pk}/"))
    assert "Done Mon 11 Jan 2027 by Tamsin." in words
    assert as_technician.get("/plan/tasks/999999/").status_code == 404


def test_a_held_task_is_drawn_as_waiting_for_an_answer(as_manager, house):
    variation = Variation.objects.create(
        job=house[3].job, number=1, state="sent", found="x", found_at=MOMENT, found_by=make_manager()
    )
    variation.affects.add(house[3])
    plan()
    page = as_manager.get("/plan/").content.decode()
    assert re.search(r'<rect class="work draft"[^>]*><title>[^<]*waits for an answer', page)


def test_the_plan_as_a_file_has_a_row_for_every_task_and_no_formula(as_technician, house):
    Task.objects.filter(pk=house[3].pk).update(name="=1+1 “bushing”")
    made = plan()
    answer = as_technician.get("/plan/plan.csv")
    assert answer["Content-Type"].startswith("text/csv")
    lines = answer.content.decode("utf-8-sig").strip().splitlines()
    assert lines[0] == "Instrument,Name,Task,Stage,Who,From,To,Hours,State"
    assert len(lines) == 1 + 4
    assert any("'=1+1" in line for line in lines)
    assert any(line.endswith("Corin,2027-01-20 08:00,2027-01-20 14:00,6,planned") for line in lines)
    out = StringIO()
    write_plan(plan_blocks(made), out)
    assert out.getvalue().splitlines() == answer.content.decode().splitlines()


def test_the_calendar_numbers_stints_from_the_beginning_of_the_plan(house, as_manager):
    made = plan()
    corin = made.stints.first().person
    client = Client()
    client.force_login(corin, backend="django.contrib.auth.backends.ModelBackend")
    uids = set(re.findall(r"UID:(\S+)", client.get("/plan/plan.ics").content.decode()))
    with time_machine.travel(MOMENT + dt.timedelta(days=2), tick=False):
        assert set(re.findall(r"UID:(\S+)", client.get("/plan/plan.ics").content.decode())) == uids
    assert len(uids) == made.stints.count()
    assert "promise-" not in " ".join(uids), "promises are the manager's"
    assert f"UID:promise-{house[0].job_id}@" in as_manager.get("/plan/plan.ics").content.decode()
