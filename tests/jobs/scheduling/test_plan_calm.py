"""A new plan keeps to what people were told for the next ten days, unless there is a reason to move it."""

from decimal import Decimal

import pytest

from jobs.scheduling.models import Stint
from jobs.scheduling.queries import current_plan
from jobs.scheduling.services import plan_make, plan_renew, promise_give
from jobs.scheduling.wishes import wish_ask
from tests.factories import (
    MOMENT,
    TODAY,
    make_instrument,
    make_job,
    make_operation,
    make_place,
    make_task,
    make_technician,
)

pytestmark = pytest.mark.django_db


def told(plan=None):
    """Return what a plan, or the one in force, says of each task: who begins it, and when."""
    rows = Stint.objects.filter(plan=plan or current_plan()).order_by("-starts_at")
    return {row.task_id: (row.person_id, row.starts_at) for row in rows}


def work(number, hours, **more):
    job = make_job(make_instrument(), **more)
    return job, [make_task(job, make_operation(f"op-{number}-{hour}"), hours_likely=Decimal(hour)) for hour in hours]


def test_a_pressing_job_that_comes_in_moves_few_of_the_tasks_people_were_told_of():
    make_place("floor", 8)
    make_place("bench", 4)
    make_technician("Corin")
    make_technician("Dilys")
    for number in range(4):
        work(number, (4, 6, 8))
    plan_make(by=None, at=MOMENT, why="first")
    before = told()
    pressing, _ = work(9, (5, 7), weight=5)
    promise_give(job=pressing, date=TODAY, chance=None, by=None, at=MOMENT, reason="")
    wish = wish_ask(by=None, at=MOMENT, why="a pressing job came in")
    outcome = plan_renew(wish=wish, at=MOMENT, seconds=1.5)
    calmest = outcome.in_force or outcome.offered[0]
    after = told(calmest)
    moved = [task for task, start in before.items() if after[task] != start]
    assert len(before) == 12
    assert len(moved) <= 3, "a quarter of what was told"
    assert len(after) == 14
    assert len(moved) == calmest.moved == calmest.moves.count()
    assert [way.moved for way in outcome.offered] == sorted({way.moved for way in outcome.offered})
    late = [way.weighted_days_late for way in outcome.offered]
    assert late == sorted(set(late), reverse=True), "a way that moves more is less late, or it is no choice"
