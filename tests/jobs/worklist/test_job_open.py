"""A job is opened from the accepted scope: tasks, their order, passes, what the assessment covered."""

import datetime as dt
from decimal import Decimal

import pytest

from jobs.quoting import services as quoting
from jobs.worklist.models import Job, Task
from jobs.worklist.queries import open_before, stages_of
from jobs.worklist.services import (
    job_book_in,
    job_open,
    job_ready,
    job_return,
    job_stop,
    task_agreed_write,
)
from tests.factories import MOMENT, TODAY, make_instrument
from workshop.web.errors import Refused


def codes(job):
    return [task.operation.code for task in job.tasks.select_related("operation")]


def before(job, code, number=1):
    task = job.tasks.get(operation__code=code, pass_number=number)
    return {(first.operation.code, first.pass_number) for first in task.after.select_related("operation")}


def test_tasks_are_the_accepted_operations_in_working_order(job):
    assert codes(job) == ["in-report", "dm-open", "ky-bush", "ky-weigh", "tn-settle", "tn-settle", "tn-settle"]
    assert [task.position for task in job.tasks.all()] == [1, 2, 3, 4, 5, 6, 7]


def test_the_order_holds_through_work_that_is_left_out(job):
    assert before(job, "ky-bush") == {("dm-open", 1)}


def test_passes_come_one_after_another_and_the_first_after_what_comes_before(job):
    assert before(job, "tn-settle", 1) == {("ky-weigh", 1)}
    assert before(job, "tn-settle", 2) == {("tn-settle", 1)}
    assert before(job, "tn-settle", 3) == {("tn-settle", 2)}
    passes = job.tasks.filter(operation__code="tn-settle")
    assert [(one.quantity, one.wait_hours, one.norm_hours) for one in passes] == [(1, 48, Decimal(2))] * 3
    assert [one.name for one in passes] == [f"Work tn-settle: {number} of 3" for number in (1, 2, 3)]


def test_what_the_assessment_covered_is_done(job, accepted):
    done = job.tasks.filter(state=Task.State.DONE)
    assert [(task.operation.code, task.done_by) for task in done] == [("in-report", accepted.assessment.by)]
    assert open_before(job.tasks.get(operation__code="dm-open")) == []
    assert [(stage.stage, stage.is_done) for stage in stages_of(job)] == [
        ("assessing", True), ("opening", False), ("keys", False), ("tuning", False),
    ]  # fmt: skip


def test_the_agreed_total_is_the_scopes_and_the_hours_are_the_scopes_tasks(job):
    assert job.agreed_total == job.scope.total_likely > 0
    assert sum(task.norm_hours for task in job.tasks.all()) == Decimal(2 + 4 + 11 + 9 + 3 * 2)


def test_opened_again_it_is_the_same_job(job, accepted, boss):
    assert job_open(quote=accepted, by=boss, at=MOMENT) == job
    assert (Job.objects.count(), job.tasks.count()) == (1, 7)


def test_nothing_is_opened_before_anything_was_accepted(work, boss):
    quote = quoting.quote_start(instrument=make_instrument(), assessment=None, by=boss, at=MOMENT)
    with pytest.raises(Refused, match="has not been accepted"):
        job_open(quote=quote, by=boss, at=MOMENT)
    assert not Job.objects.exists()


def test_the_day_of_acceptance_is_the_day_on_the_shops_wall(accepted, boss):
    half_past_midnight = dt.datetime(2027, 6, 30, 23, 30, tzinfo=dt.UTC)  # 00:30 on 1 July in British Summer Time
    assert job_open(quote=accepted, by=boss, at=half_past_midnight).accepted_on == dt.date(2027, 7, 1)


def test_a_job_goes_through_the_house_in_one_direction(job, boss):
    with pytest.raises(Refused, match="book it in first"):
        job_ready(job=job, on=TODAY)
    with pytest.raises(Refused, match="sign its proof first"):
        job_return(job=job, by=boss, on=TODAY)
    assert job_book_in(job=job, by=boss, on=TODAY).booked_in_on == TODAY
    with pytest.raises(Refused, match="cannot arrive a second time"):
        job_book_in(job=job, by=boss, on=TODAY)
    assert job_ready(job=job, on=TODAY).state == job_ready(job=job, on=TODAY).state == Job.State.READY
    assert job_return(job=job, by=boss, on=TODAY).returned_on == TODAY


def test_a_job_that_was_stopped_says_so_and_does_not_arrive(job, boss):
    with pytest.raises(Refused, match="why"):
        job_stop(job=job, by=boss, reason=" ")
    assert "flooded" in job_stop(job=job, by=boss, reason="the house was flooded").note
    with pytest.raises(Refused, match="stopped already"):
        job_stop(job=job, by=boss, reason="again")
    with pytest.raises(Refused, match="stopped"):
        job_book_in(job=job, by=boss, on=TODAY)


def test_what_was_agreed_stays_once_the_task_is_done(job, boss):
    task = job.tasks.get(operation__code="ky-bush")
    assert task_agreed_write(task=task, agreed="  Red cloth, as before.  ", by=boss).agreed == "Red cloth, as before."
    with pytest.raises(Refused, match="stays as it was"):
        task_agreed_write(task=job.tasks.get(operation__code="in-report"), agreed="Other", by=boss)
