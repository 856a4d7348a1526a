"""A full house is planned in a few seconds, and its page does not ask more often because there is more work."""

import datetime as dt
import time
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.scheduling.calc.solve import RULES, solve
from jobs.scheduling.house import house_problem, plannable
from jobs.scheduling.models import Promise
from jobs.scheduling.queries import current_plan
from jobs.scheduling.services import plan_make
from jobs.scheduling.timelines import plan_page
from jobs.worklist.models import Task
from tests.factories import MOMENT, make_job, make_operation, make_person, make_skill
from tests.jobs.scheduling.stored import broken, make_shop, overlaps

pytestmark = pytest.mark.django_db

SKILLS = ("action", "strings", "case", "tuning", "keys")
PEOPLE = {
    "Bram": ("strings", "case"), "Corin": ("action", "keys"), "Dilys": ("case",), "Edda": ("tuning", "keys"),
    "Fintan": ("action", "strings", "tuning"),
}  # fmt: skip
WHERE = ("bench", "floor", "bench", "bench", "spray")
SECONDS = 10  # a few on a quiet machine; the bound is wide because the tests share theirs
PAGE_BYTES = 400_000


def full_house(instruments=14, tasks=29):
    """Five people, ten floor places, and as many instruments with as many tasks each, in rows of three lines."""
    make_shop(floor=10, bench=5, spray=1)
    for number, (name, skills) in enumerate(PEOPLE.items()):
        make_person(name, skills=skills, workdays=[0, 1, 2, 3] if number % 2 else [0, 1, 2, 3, 4])
    operations = [make_operation(f"op-{code}", skill=make_skill(code), name=f"Work of {code}") for code in SKILLS]
    for number in range(instruments):
        inside = number < 8
        job = make_job(
            booked_in_on=MOMENT.date() if inside else None, state="in_house" if inside else "accepted",
            weight=1 + number % 3,
        )  # fmt: skip
        Promise.objects.create(job=job, date=MOMENT.date() + dt.timedelta(days=3 + 2 * number), given_at=MOMENT)
        rows = Task.objects.bulk_create(
            Task(
                job=job, operation=operations[place % 5], position=place, stage="action", name=f"Task {place}",
                norm_hours=4, hours_likely=Decimal(1 + (number + 7 * place) % 6), hours_80=9,
                skill=operations[place % 5].skill, wait_hours=72 if place % 11 == 4 else 0, wait_reason="glue",
                work_place=WHERE[(place + number) % 5] if place % 3 else "floor",
            )
            for place in range(tasks)
        )  # fmt: skip
        links = Task.after.through.objects
        links.bulk_create(
            Task.after.through(from_task=later, to_task=first) for first, later in zip(rows, rows[3:], strict=False)
        )


def test_fourteen_instruments_with_four_hundred_tasks_are_planned_in_a_few_seconds():
    full_house()
    begun = time.monotonic()
    plan = plan_make(by=None, at=MOMENT, why="a full house")
    taken = time.monotonic() - begun
    assert plan.stints.values("task").distinct().count() == 14 * 29
    assert plan.troubles == []
    assert overlaps(plan) == []
    assert broken(plan) == []
    assert taken < SECONDS
    problem, _ = plannable(house_problem(at=MOMENT))
    alone = min(solve(problem, rules=[rule], rounds=0).weighted_days_late(problem) for rule in RULES)
    assert plan.weighted_days_late <= alone, "the search gives nothing away that a single rule found"


def questions():
    with CaptureQueriesContext(connection) as asked:
        plan_page(current_plan(), MOMENT.date(), MOMENT)
    return len(asked)


def test_the_page_asks_as_often_with_four_hundred_tasks_as_with_forty():
    full_house(instruments=4, tasks=10)
    plan_make(by=None, at=MOMENT - dt.timedelta(hours=1), why="before")
    plan_make(by=None, at=MOMENT, why="few")
    few = questions()
    Task.objects.update(state="done", done_at=MOMENT)
    full_house_again()
    plan_make(by=None, at=MOMENT + dt.timedelta(hours=1), why="many")
    assert questions() == few


def full_house_again():
    """More of the same in a shop that is there already."""
    operation = make_operation("op-action")
    for _ in range(10):
        job = make_job(booked_in_on=None, state="accepted")
        Task.objects.bulk_create(
            Task(job=job, operation=operation, position=place, stage="action", name=f"More {place}", norm_hours=2,
                 hours_likely=2, hours_80=3, skill=operation.skill, work_place="floor")
            for place in range(40)
        )  # fmt: skip


def test_the_page_of_a_full_house_is_quick_and_not_too_heavy(as_manager):
    full_house()
    plan_make(by=None, at=MOMENT, why="a full house")
    as_manager.get("/plan/?from=2027-01-11")  # templates are read once
    begun = time.monotonic()
    answer = as_manager.get("/plan/?from=2027-01-11")
    taken = time.monotonic() - begun
    assert answer.status_code == 200
    assert len(answer.content) < PAGE_BYTES
    assert taken < 3, "0.3 s on a quiet machine"
