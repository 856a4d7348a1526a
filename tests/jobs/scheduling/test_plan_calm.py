"""A new plan keeps to what people were told for the next ten days, unless there is a reason to move it."""

from decimal import Decimal

import pytest

from jobs.scheduling.models import Stint
from jobs.scheduling.services import plan_make, promise_give
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


def told():
    """Return what the plan in force says of each task: who begins it, and when."""
    rows = Stint.objects.filter(plan__is_current=True).order_by("-starts_at")
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
    plan_make(by=None, at=MOMENT, why="first", seconds=0.3)
    before = told()
    pressing, _ = work(9, (5, 7), weight=5)
    promise_give(job=pressing, date=TODAY, chance=None, by=None, at=MOMENT, reason="")
    plan_make(by=None, at=MOMENT, why="a pressing job came in", seconds=1.5)
    after = told()
    moved = [task for task, start in before.items() if after[task] != start]
    assert len(before) == 12
    assert len(moved) <= 3, "a quarter of what was told"
    assert len(after) == 14
