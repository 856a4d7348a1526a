"""plan_make on real rows: what it keeps, what it sets aside, and what it says."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from jobs.scheduling.models import JobEnd, Plan, Promise, Stint
from jobs.scheduling.queries import current_plan, planned_end, planned_starts, tasks_unplanned, visits_unplanned
from jobs.scheduling.services import plan_make, plans_thin
from jobs.worklist.models import Job, Task, Variation
from tests.factories import MOMENT, TODAY, make_job, make_manager, make_operation, make_person, make_skill
from tests.jobs.scheduling.stored import (
    broken,
    ends,
    make_ordered,
    make_shop,
    make_work,
    most_at_once,
    overlaps,
    starts,
)
from workshop.calendar.models import Closure
from workshop.people.models import Leave
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db

MONDAY = dt.datetime(2027, 1, 11, 9, 0)  # the shop's clock at MOMENT
DAY = dt.timedelta(days=1)


def corin(**more):
    return make_person("Corin", skills=("action",), **more)


def plan(**more):
    return plan_make(by=None, at=MOMENT, why="a test", **more)


def test_work_begins_now_and_a_task_waits_for_the_one_before():
    make_shop()
    corin()
    job = make_job()
    first = make_work(job, 10)
    second = make_work(job, 2, after=[first])
    made = plan()
    assert starts(made, first) == MONDAY
    assert ends(made, first) == dt.datetime(2027, 1, 12, 11, 0), "7 h on Monday, 3 h on Tuesday"
    assert starts(made, second) == dt.datetime(2027, 1, 12, 11, 0)
    assert broken(made) == []
    assert planned_end(job).ends_on == dt.date(2027, 1, 12)
    assert planned_starts() == {first.pk: TODAY, second.pk: dt.date(2027, 1, 12)}


def test_a_plan_that_breaks_a_rule_is_found_out():
    """The control of this file: moved by hand, a stored stint is caught by the same check."""
    make_shop()
    corin()
    job = make_job()
    first = make_work(job, 4)
    make_work(job, 2, after=[first])
    made = plan()
    assert broken(made) == []
    made.stints.filter(task=first).update(ends_at=MOMENT + dt.timedelta(hours=5))
    assert {one.rule for one in broken(made)} >= {"hours", "after"}


def test_parts_on_their_way_hold_a_task_back_and_decide_the_date():
    make_shop()
    corin()
    job = make_job()
    task = make_work(job, 4)
    make_ordered(task, dt.date(2027, 2, 3))
    made = plan()
    assert starts(made, task) == dt.datetime(2027, 2, 3, 8, 0)
    end = planned_end(job)
    assert end.decider == JobEnd.Decider.PART
    assert "Hammers, set: expected Wed 3 Feb" in end.decider_words


def test_where_the_work_itself_decides_its_longest_task_and_its_rests_are_named():
    make_shop()
    corin()
    job = make_job()
    first = make_work(job, 6, name="Set the strike line", wait_hours=50, wait_reason="glue")
    make_work(job, 30, name="Fit keys: ease, square and level them all along the key frame", after=[first])
    plan()
    end = planned_end(job)
    assert end.decider == JobEnd.Decider.WORK
    assert end.decider_words == "the work itself, longest “Fit keys” (Corin, 30 h), and 2 days of rests"


@pytest.mark.parametrize(
    ("hours_ago", "begins"),
    [
        (1, dt.datetime(2027, 1, 12, 8, 0)),  # over on Tuesday at 8:00
        (0.5, dt.datetime(2027, 1, 13, 8, 0)),  # over on Tuesday at 8:30: the morning after
        (30, MONDAY),  # the rest is over
        (23.5, dt.datetime(2027, 1, 12, 8, 0)),  # over today at 9:30
    ],
)
def test_the_rest_after_done_work_is_waited_out(hours_ago, begins):
    make_shop()
    corin()
    job = make_job()
    done = make_work(job, 4, wait_hours=24, wait_reason="glue", state="done",
                     done_at=MOMENT - dt.timedelta(hours=hours_ago), done_by=make_manager())  # fmt: skip
    task = make_work(job, 2, after=[done])
    assert starts(plan(), task) == begins


def test_a_planned_rest_is_clock_time_over_the_weekend():
    make_shop()
    corin()
    job = make_job()
    polish = make_work(job, 39, wait_hours=48)  # Monday 9:00 to Friday 16:00
    after = make_work(job, 2, after=[polish])
    made = plan()
    assert ends(made, polish) == dt.datetime(2027, 1, 15, 16, 0)
    assert starts(made, after) == dt.datetime(2027, 1, 18, 8, 0), "48 h are over on Sunday"


def test_begun_work_stays_with_the_person_who_began_it():
    make_shop()
    quick = make_person("Abel", skills=("action",))
    began = make_person("Zita", skills=("action",), workdays=[3, 4])  # not in before Thursday
    task = make_work(None, 6, state="at_work")
    free = plan()
    assert free.stints.get(task=task).person == quick
    kept = plan(working={task.pk: began.pk})
    assert {stint.person for stint in kept.stints.filter(task=task)} == {began}
    assert starts(kept, task) == dt.datetime(2027, 1, 14, 8, 0)
    assert broken(kept, working={task.pk: began.pk}) == []


def test_begun_work_of_somebody_who_left_goes_to_whoever_can():
    make_shop()
    gone = make_person("Zita", skills=("action",), is_active=False)
    can = corin()
    task = make_work(None, 6, state="at_work")
    assert plan(working={task.pk: gone.pk}).stints.get(task=task).person == can


@pytest.mark.parametrize(
    ("logged", "left", "planned"),
    [(0, None, 8), (180, None, 5), (600, None, 1), (180, Decimal("2.25"), 2.5), (2400, None, 1)],
)
def test_what_is_left_of_a_task_is_planned(logged, left, planned):
    make_shop()
    corin()
    task = make_work(None, 8, hours_left=left)
    stints = plan(logged={task.pk: logged}).stints.filter(task=task)
    assert sum(((one.ends_at - one.starts_at) / dt.timedelta(hours=1) for one in stints), 0) == planned


def test_leave_holidays_closures_and_days_off_are_free_of_work():
    make_shop()
    person = corin(workdays=[0, 1, 2, 3])
    Leave.objects.create(person=person, first_day=dt.date(2027, 3, 22), last_day=dt.date(2027, 3, 23))
    Closure.objects.create(first_day=dt.date(2027, 4, 5), last_day=dt.date(2027, 4, 6), reason="stocktaking")
    task = make_work(None, 8 * 10)
    made = plan_make(by=None, at=dt.datetime(2027, 3, 22, 7, 0, tzinfo=dt.UTC), why="spring")
    days = {one.starts_at.date() for one in made.stints.filter(task=task)}
    assert days == {
        dt.date(2027, 3, 24), dt.date(2027, 3, 25),
        # Good Friday 26 March and Easter Monday 29 March 2027 are bank holidays in England (gov.uk, from memory).
        dt.date(2027, 3, 30), dt.date(2027, 3, 31), dt.date(2027, 4, 1),
        dt.date(2027, 4, 7), dt.date(2027, 4, 8), dt.date(2027, 4, 12), dt.date(2027, 4, 13), dt.date(2027, 4, 14),
    }  # fmt: skip


@pytest.mark.parametrize(("place", "holds"), [("bench", 2), ("spray", 1)])
def test_no_place_holds_more_than_it_can(place, holds):
    make_shop(floor=9, bench=2, spray=1)
    for name in "ABCD":
        make_person(name, skills=("action",))
    tasks = [make_work(make_job(), 7, work_place=place) for _ in range(6)]
    made = plan()
    assert made.stints.values("task").distinct().count() == len(tasks)
    assert most_at_once(made, place) == holds
    assert overlaps(made) == []
    assert broken(made) == []


def accepted(**more):
    return make_job(booked_in_on=None, state="accepted", **more)


def test_an_instrument_comes_in_when_a_floor_place_is_free():
    make_shop(floor=1)
    corin()
    make_person("Dilys", skills=("action",))
    here = make_work(make_job(), 14)
    comes = make_work(accepted(), 4)
    made = plan()
    assert ends(made, here) == dt.datetime(2027, 1, 12, 15, 0)
    assert starts(made, comes) >= ends(made, here)
    end = planned_end(comes.job)
    assert (end.decider, "every floor place is held" in end.decider_words) == (JobEnd.Decider.PLACE, True)


def test_a_finished_instrument_that_waits_holds_its_floor_place():
    make_shop(floor=2)
    corin()
    make_person("Dilys", skills=("action",))
    make_job(state="ready")
    here = make_work(make_job(), 14)
    comes = make_work(accepted(), 4)
    assert starts(plan(), comes) >= dt.datetime(2027, 1, 12, 15, 0)
    assert here.job.state == Job.State.IN_HOUSE


def test_an_overfull_floor_is_said_and_still_planned():
    make_shop(floor=1)
    corin()
    tasks = [make_work(make_job(), 4) for _ in range(3)]
    made = plan()
    assert made.stints.values("task").distinct().count() == len(tasks)
    assert made.troubles == [
        "The house holds three instruments on one floor place: enter the places they stand on, or let one go home."
    ]


def test_an_instrument_arrives_before_anything_is_done_to_it():
    make_shop()
    corin()
    task = make_work(accepted(arrives_on=dt.date(2027, 1, 20)), 2)
    made = plan()
    assert starts(made, task) == dt.datetime(2027, 1, 20, 8, 0)
    assert "arrives Wed 20 Jan" in planned_end(task.job).decider_words


def variation_on(task, state="sent"):
    variation = Variation.objects.create(
        job=task.job, number=1, state=state, found="Two ribs are loose.", found_at=MOMENT, found_by=make_manager(),
        answered_at=MOMENT if state == "agreed" else None, answered_name="Mr Pasketh" if state == "agreed" else "",
    )  # fmt: skip
    variation.affects.add(task)
    return variation


@pytest.mark.parametrize(
    ("state", "begins"),
    [("found", dt.datetime(2027, 1, 18, 8, 0)), ("sent", dt.datetime(2027, 1, 18, 8, 0)), ("agreed", MONDAY)],
)
def test_a_task_held_by_an_unanswered_variation_waits_a_week(state, begins):
    make_shop()
    corin()
    make_person("Dilys", skills=("action",))
    held, other = make_work(None, 2), make_work(None, 2)
    variation_on(held, state)
    made = plan()
    assert starts(made, held) == begins
    assert starts(made, other) == MONDAY


def test_a_skill_nobody_has_is_named_with_the_instrument_and_the_rest_is_planned():
    make_shop()
    corin()
    spray = make_operation("cs-spray", name="Spray the lid", skill=make_skill("spraying", name="Spraying"))
    lost = make_work(make_job(), 4)
    late = Task.objects.create(
        job=lost.job, operation=spray, stage="case", name=spray.name, norm_hours=3, hours_likely=3, hours_80=4,
        skill=spray.skill, work_place="spray", position=2,
    )  # fmt: skip
    goes_on = make_work(make_job(), 4)
    made = plan()
    assert made.troubles == [
        f"“Spray the lid” on {lost.job.instrument} needs the skill “Spraying”, which nobody has: "
        "give it to a technician."
    ]
    assert {stint.task for stint in made.stints.all()} == {goes_on}
    assert {one.pk for one in tasks_unplanned(made)} == {lost.pk, late.pk}


def test_an_instrument_set_aside_still_stands_on_its_floor_place():
    make_shop(floor=1, spray=0)
    corin()
    make_work(make_job(), 4, work_place="spray")
    make_work(accepted(), 4)
    with pytest.raises(Refused, match="needs the place spray, which the shop lacks.* There is no floor place"):
        plan()


def test_visits_after_the_return_are_in_no_plan_and_counted():
    make_shop()
    corin()
    job = make_job()
    task = make_work(job, 2)
    make_work(job, 2, stage="finish", work_place="home")
    made = plan()
    assert {stint.task for stint in made.stints.all()} == {task}
    assert (tasks_unplanned(made), visits_unplanned(made)) == ([], 1)


def test_work_none_of_which_can_be_planned_is_refused_with_reasons_and_the_old_plan_stays():
    make_shop(spray=0)
    corin()
    task = make_work(None, 2)
    before = plan()
    Task.objects.filter(pk=task.pk).update(work_place="spray")
    with pytest.raises(
        Refused, match="no instrument can be planned as it is. “operation ky-bush” on .* needs the place"
    ):
        plan()
    assert current_plan() == before
    assert Plan.objects.count() == 1


def test_a_house_with_all_work_done_has_an_empty_plan():
    make_shop()
    corin()
    task = make_work(None, 2)
    plan()
    Task.objects.filter(pk=task.pk).update(state="done", done_at=MOMENT, done_by=make_manager())
    made = plan_make(by=None, at=MOMENT + DAY, why="all done")
    assert (current_plan(), made.stints.count(), made.ends.count(), made.troubles) == (made, 0, 0, [])


@pytest.mark.parametrize(
    ("floor", "more", "sentence"),
    [
        (0, {}, "There is no floor place"),
        (2, {"closes": dt.time(16, 10)}, "not whole slots of 30 minutes"),
        (2, {"workdays": []}, "at least one working day"),
        (2, {"country": "XX"}, "cannot be planned"),
    ],
)
def test_a_shop_that_cannot_be_planned_in_says_what_to_mend(floor, more, sentence):
    make_shop(floor=floor, **more)
    corin()
    make_work(None, 2)
    with pytest.raises(Refused, match=sentence):
        plan()
    assert not Plan.objects.exists()


def test_a_new_plan_takes_the_place_of_the_old_one_which_stays_readable():
    make_shop()
    corin()
    make_work(None, 2)
    first = plan()
    second = plan_make(by=make_manager(), at=MOMENT + DAY, why="the morning’s plan")
    assert current_plan() == second
    first.refresh_from_db()
    assert (first.is_current, first.stints.count()) == (False, 1)


def test_a_plan_begun_earlier_that_comes_in_later_is_kept_but_not_put_in_force():
    make_shop()
    corin()
    make_work(None, 2)
    newer = plan_make(by=None, at=MOMENT + dt.timedelta(seconds=5), why="knows more")
    late = plan()
    assert (current_plan(), late.is_current, late.stints.count()) == (newer, False, 1)


def test_old_plans_are_thinned_to_one_a_day():
    make_shop()
    corin()
    make_work(None, 2)
    made = [plan_make(by=None, at=MOMENT + dt.timedelta(hours=hour), why="") for hour in (0, 1, 2, 26)]
    assert plans_thin(at=MOMENT + 59 * DAY) == 0
    assert plans_thin(at=MOMENT + 90 * DAY) == 2
    assert set(Plan.objects.all()) == {made[2], made[3]}


def test_the_database_refuses_a_second_current_plan_and_a_person_twice_at_once():
    make_shop()
    person = corin()
    task = make_work(None, 2)
    made = plan()
    with pytest.raises(IntegrityError), transaction.atomic():
        Plan.objects.create(made_at=MOMENT, is_current=True)
    with pytest.raises(IntegrityError), transaction.atomic():
        Stint.objects.create(plan=made, task=task, person=person, starts_at=MOMENT, ends_at=MOMENT + DAY)
    with pytest.raises(IntegrityError), transaction.atomic():
        Stint.objects.create(plan=made, task=task, person=person, starts_at=MOMENT + DAY, ends_at=MOMENT)


def test_a_person_with_other_work_decides_a_date():
    make_shop()
    corin()
    promised, other = make_work(None, 60), make_work(None, 4)
    Promise.objects.create(job=promised.job, date=dt.date(2027, 1, 20), given_at=MOMENT)
    made = plan()
    assert starts(made, other) >= ends(made, promised)
    end = planned_end(other.job)
    assert end.decider == JobEnd.Decider.PERSON
    assert end.decider_words == (
        f"a person: Corin works on no. {promised.job.instrument.number} first, before “operation ky-bush”"
    )
