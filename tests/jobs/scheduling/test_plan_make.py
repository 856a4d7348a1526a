"""The plan of a small house, worked out from its rows and held against the independent checker."""

import datetime as dt
import threading
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.db import connection

from jobs.scheduling.calc import solution as calc
from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.solution import Work
from jobs.scheduling.house import house_problem, person_key, plannable, task_key
from jobs.scheduling.models import JobEnd, Plan, Promise, Stint
from jobs.scheduling.services import plan_make, promise_give
from jobs.supplies.models import Need
from jobs.worklist.models import Task
from tests.factories import (
    MOMENT,
    make_instrument,
    make_job,
    make_manager,
    make_operation,
    make_part,
    make_place,
    make_skill,
    make_task,
    make_technician,
)
from workshop.house.queries import the_shop
from workshop.people.models import Leave
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
LONDON = ZoneInfo("Europe/London")


def plan(**more):
    return plan_make(by=None, at=MOMENT, why="asked by a test", **more)


def span(task, made=None):
    """Return the first start and the last end of a task in the plan in force."""
    rows = list(Stint.objects.filter(plan__is_current=True, task=task))
    return min(one.starts_at for one in rows), max(one.ends_at for one in rows)


@pytest.fixture
def house(db):
    """Two people, two benches, a floor, and two jobs of three tasks each in a row."""
    make_place("floor", 4)
    make_place("bench", 2)
    people = [make_technician("Corin"), make_technician("Dilys")]
    jobs = []
    for number in (1, 2):
        job = make_job(make_instrument())
        tasks = [
            make_task(job, make_operation(f"op-{number}-{step}"), hours_likely=Decimal(hours))
            for step, hours in enumerate((5, 9, 3))
        ]
        for first, later in zip(tasks, tasks[1:], strict=False):
            later.after.add(first)
        jobs.append((job, tasks))
    return people, jobs


def as_kept(made):
    """Return a plan as its rows have it, in the terms of the checker."""
    work = {}
    for row in made.stints.order_by("starts_at"):
        start, end = (moment.astimezone(LONDON).replace(tzinfo=None) for moment in (row.starts_at, row.ends_at))
        before = work.get(task_key(row.task_id), Work(person_key(row.person_id), ()))
        work[task_key(row.task_id)] = Work(person_key(row.person_id), (*before.stints, calc.Stint(start, end)))
    return calc.Solution(work)


def test_the_rows_of_the_plan_in_force_pass_the_independent_checker(house):
    made = plan()
    problem, sentences = plannable(house_problem(at=MOMENT))
    assert len(problem.operations) == 6
    assert check(problem, as_kept(made)) == []
    assert sentences == made.troubles == []
    assert made.ends.count() == 2


def test_the_checker_would_have_seen_a_row_that_is_wrong(house):
    made = plan()
    row = made.stints.last()
    Stint.objects.filter(pk=row.pk).update(starts_at=row.starts_at - 9 * DAY, ends_at=row.ends_at - 9 * DAY)
    problem, _ = plannable(house_problem(at=MOMENT))
    assert check(problem, as_kept(made)) != []


def test_every_hour_is_planned_in_the_shops_day_in_order_and_nobody_twice_at_once(house):
    made = plan()
    shop = the_shop()
    for _, tasks in house[1]:
        for task in tasks:
            worked = sum((one.ends_at - one.starts_at for one in made.stints.filter(task=task)), dt.timedelta())
            assert worked == dt.timedelta(hours=float(task.hours_likely))
        for first, later in zip(tasks, tasks[1:], strict=False):
            assert span(first)[1] <= span(later)[0]
    for one in made.stints.all():
        start, end = one.starts_at.astimezone(LONDON), one.ends_at.astimezone(LONDON)
        assert start.weekday() in shop.workdays
        assert shop.opens <= start.time() < end.time() <= shop.closes
        others = made.stints.filter(person=one.person, starts_at__lt=one.ends_at, ends_at__gt=one.starts_at)
        assert list(others) == [one]


def test_the_end_of_a_job_is_the_day_of_its_last_stint(house):
    made = plan()
    for job, tasks in house[1]:
        assert made.ends.get(job=job).ends_on == max(span(task)[1] for task in tasks).astimezone(LONDON).date()


def test_a_part_that_is_not_here_holds_its_task_back_and_is_named_as_the_reason(house):
    job, tasks = house[1][0]
    part = make_part(lead_days=21)
    Need.objects.create(task=tasks[0], part=part, quantity=1)
    made = plan()
    assert span(tasks[0])[0].astimezone(LONDON).date() >= MOMENT.date() + 21 * DAY
    assert span(house[1][1][1][0])[0].astimezone(LONDON).date() == MOMENT.date()
    assert made.ends.get(job=job).decider == JobEnd.Decider.PART


def test_what_rests_after_it_was_done_still_holds_the_next_task(house):
    _, (first, second, _) = house[1][0]
    Task.objects.filter(pk=first.pk).update(
        state="done", done_at=MOMENT - dt.timedelta(hours=1), wait_hours=72, wait_reason="glue"
    )
    plan()
    assert span(second)[0] >= MOMENT - dt.timedelta(hours=1) + dt.timedelta(hours=72)


def test_begun_work_stays_with_the_person_who_began_it_and_only_what_is_left_is_planned(house):
    (_, dilys), jobs = house
    task = jobs[0][1][0]
    Task.objects.filter(pk=task.pk).update(state="at_work", started_at=MOMENT)
    made = plan(logged={task.pk: 120}, working={task.pk: dilys.pk})
    stints = made.stints.filter(task=task)
    assert {one.person for one in stints} == {dilys}
    assert sum((one.ends_at - one.starts_at for one in stints), dt.timedelta()) == dt.timedelta(hours=3)


def test_a_skill_nobody_has_is_named_with_the_instrument_and_the_rest_is_planned(house):
    (lost, tasks), (kept, others) = house[1]
    Task.objects.filter(pk=tasks[1].pk).update(skill=make_skill("gilding", name="gilding"))
    made = plan()
    (sentence,) = made.troubles
    assert "gilding" in sentence
    assert str(lost.instrument.number) in sentence
    assert not made.stints.filter(task__job=lost).exists()
    assert made.stints.filter(task__job=kept).count() >= len(others)


def test_nobody_is_planned_while_away(house):
    corin, dilys = house[0]
    for person in (corin, dilys):
        Leave.objects.create(person=person, first_day=MOMENT.date(), last_day=MOMENT.date() + 6 * DAY)
    made = plan()
    assert min(one.starts_at for one in made.stints.all()).date() >= MOMENT.date() + 7 * DAY


def test_an_empty_house_is_planned_or_refused_in_words(db):
    make_technician()
    make_place("floor", 4)
    made = plan()
    assert (made.stints.count(), made.ends.count(), made.is_current) == (0, 0, True)


def test_a_new_plan_takes_the_place_of_the_old_which_stays_readable(house):
    old = plan()
    count = old.stints.count()
    new = plan()
    old.refresh_from_db()
    assert (old.is_current, new.is_current, old.stints.count()) == (False, True, count)


@pytest.mark.django_db(transaction=True)
def test_two_who_plan_at_once_leave_one_plan_in_force(house):
    ready, raised = threading.Barrier(3), []

    def press():
        ready.wait()
        try:
            plan()
        except Exception as error:  # whatever it is, the test reads it
            raised.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=press) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert raised == []
    assert (Plan.objects.filter(is_current=True).count(), Plan.objects.count()) == (1, 3)


def test_a_promise_is_a_day_to_come_and_says_why_it_moves(house):
    job, boss = house[1][0][0], make_manager()

    def give(day, reason=""):
        return promise_give(job=job, date=day, chance=Decimal("0.80"), by=boss, at=MOMENT, reason=reason)

    with pytest.raises(Refused, match="has passed"):
        give(MOMENT.date() - DAY)
    first = give(MOMENT.date() + 30 * DAY)
    with pytest.raises(Refused, match="why the date moves"):
        give(MOMENT.date() + 37 * DAY, " ")
    second = give(MOMENT.date() + 37 * DAY, "The felt came late.")
    assert list(Promise.objects.filter(job=job)) == [second, first]
