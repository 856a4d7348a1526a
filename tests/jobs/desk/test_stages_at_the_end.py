"""A job's stages at its end: their sums are the job's, in hours and in money; the manager reads them on the job."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.desk.queries.completion import job_at_end
from jobs.hours.services import house_time_keep
from tests.factories import (
    MOMENT,
    TODAY,
    make_assessment,
    make_job,
    make_manager,
    make_operation,
    make_quote,
    make_scope,
    make_task,
    make_technician,
)
from tests.jobs.desk.test_at_the_end import time_enter_row

pytestmark = pytest.mark.django_db


def piano(quoted=40):
    """Two stages with a line each, 10 h and 20 h, quoted together; one task of each, and one assessing task done."""
    quote = make_quote()
    quote.assessment = make_assessment(quote.instrument)
    quote.save()
    scope = make_scope(quote, hours_likely=Decimal(quoted), hours_80=Decimal(quoted) * 2)
    job, tasks = make_job(quote.instrument, quote=quote, scope=scope), []
    for stage, hours in (("assessing", 2), ("keys", 10), ("action", 20)):
        work = make_operation(f"w-{stage}", stage=stage, hours_low=1, hours_likely=hours, hours_high=40)
        scope.operations.create(operation=work, because="chosen", hours_likely=hours, hours_80=hours * 2)
        tasks.append(make_task(job, work, stage=stage, hours_likely=hours, hours_80=hours * 2))
    tasks[0].state = "done"
    tasks[0].save()
    return job, tasks


def test_the_stages_add_up_to_the_job():
    job, (_, keys, action) = piano()
    time_enter_row(keys, 14 * 60)
    keys.state = "done"
    keys.save()
    time_enter_row(action, 6 * 60)
    variation = job.variations.create(
        number=1, state="agreed", found="x", found_at=MOMENT, found_by=make_manager(), hours_likely=Decimal(9),
        answered_at=MOMENT, answered_name="Mrs Ferrowby",
    )  # fmt: skip
    variation.operations.create(operation=keys.operation, hours_likely=Decimal(7))
    found = job_at_end(job)
    whole, stages = found.whole, {one.words: one for one in found.stages}
    assert list(stages) == ["Assessing", "Action", "Keys"]
    assert whole.quoted == pytest.approx(49)
    for figure in ("quoted", "so_far"):
        assert sum(getattr(one, figure) for one in found.stages) == pytest.approx(getattr(whole, figure))
    for figure in ("used", "to_finish", "likely"):
        assert sum(getattr(one.end, figure) for one in found.stages) == pytest.approx(getattr(whole.end, figure))
    assert sum(one.margin for one in found.stages) == pytest.approx(whole.margin, abs=Decimal("1.50"))
    # worked by hand: 40 h quoted over 2, 20 and 10 h of lines, 7 of the variation's 9 h on keys and its rest shared
    assert stages["Keys"].quoted == pytest.approx(42 * 10 / 32 + 7)
    assert stages["Keys"].end.used == pytest.approx(14)
    assert stages["Keys"].so_far == pytest.approx(42 * 10 / 32 + 7 - 14)
    assert stages["Action"].so_far == 0  # begun and within its hours: nothing can be said yet
    assert stages["Keys"].eater == keys
    assert whole.eater in (keys, action)


def test_what_is_finished_has_the_same_margin_now_and_at_the_end():
    job, tasks = piano()
    for one, minutes in zip(tasks[1:], (600, 1500), strict=True):
        time_enter_row(one, minutes // 2)
        time_enter_row(one, minutes // 2)
        one.state = "done"
        one.save()
    whole = job_at_end(job).whole
    assert (whole.margin, whole.margin_now) == (Decimal("3.00") * 48, Decimal("3.00") * 48)
    assert whole.margin_words == "£144"


def test_an_order_takes_over_the_hours_of_its_assessment():
    job, _ = piano()
    assert job_at_end(job).whole.end.used == pytest.approx(2)
    who = make_technician()
    house_time_keep(about=job.quote.assessment, person=who, on=TODAY, minutes=210, by=who, at=MOMENT)
    assert job_at_end(job).whole.end.used == pytest.approx(3.5)
    job.tasks.filter(stage="assessing").delete()
    found = job_at_end(job)
    assert found.whole.end.used == pytest.approx(3.5)
    assert sum(one.end.used for one in found.stages) == pytest.approx(3.5)
    assert sum(one.so_far for one in found.stages) == pytest.approx(found.whole.so_far)


def test_the_jobs_page_shows_its_stages_to_the_manager_alone(client):
    job, (_, keys, _) = piano(12)
    time_enter_row(keys, 13 * 60)
    client.force_login(make_manager())
    text = client.get(reverse("job-show", args=[job.pk])).content.decode()
    assert "Stage by stage; margin is quoted hours less hours used" in text
    assert "quoted hours used up" in text
    client.force_login(make_technician())
    assert "Stage by stage; margin" not in client.get(reverse("job-show", args=[job.pk])).content.decode()


def test_a_job_without_tasks_has_no_end():
    assert job_at_end(make_job()) is None


def test_one_job_asks_as_often_as_its_tasks_grow():
    job, (_, keys, _) = piano()
    job_at_end(job)  # the job itself is read once
    with CaptureQueriesContext(connection) as few:
        job_at_end(job)
    for _ in range(6):
        make_task(job, keys.operation, stage="keys")
    with CaptureQueriesContext(connection) as many:
        job_at_end(job)
    assert len(many) == len(few) <= 10
