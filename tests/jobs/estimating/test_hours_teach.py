"""Hours of closed tasks reach the learner, follow corrections and norm changes, and change the next quote."""

import datetime as dt
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from jobs import flow
from jobs.estimating.models import HoursLog, QuoteOutcome
from jobs.estimating.services import estimator, hours_for, hours_sentence, log_count_again, log_leave_out
from jobs.hours.services import time_enter
from jobs.operations.models import NormVersion
from jobs.operations.services import norm_change
from tests.factories import (
    MOMENT,
    make_job,
    make_manager,
    make_operation,
    make_quote,
    make_scope,
    make_task,
    make_technician,
)
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


def closed(hours, *, operation=None, who=None, days_ago=0, job=None):
    operation = operation or make_operation(hours_low=Decimal(8), hours_likely=Decimal(12), hours_high=Decimal(18))
    who = who or make_technician()
    task = make_task(job, operation)
    at = MOMENT - dt.timedelta(days=days_ago)
    left, day = round(hours * 60), 0
    entries = []
    while left > 0:
        piece = min(left, 480)
        entries.append(
            time_enter(
                task=task, person=who, on=(at - dt.timedelta(days=day)).date(), minutes=piece, note="", at=MOMENT
            )
        )
        left, day = left - piece, day + 1
    return flow.task_closed(task, by=who, at=at), entries


def test_a_closed_task_teaches_the_next_forecast():
    who = make_technician()
    for hours in (13.0, 14.5, 15.0):
        task, _ = closed(hours, who=who)
    log = HoursLog.objects.get(task_number=task.pk)
    assert (log.hours, log.norm_hours, log.technician) == (Decimal("15.00"), Decimal(12), who)
    assert log.finished_on == MOMENT.date()
    found = hours_for(operation=task.operation, quantity=1, kind="grand")
    assert 12 < found.likely < 15
    assert hours_sentence(found).startswith("Norm 12 h. Logged 3 of these, 13 to 15 h. Expect ")


def test_a_technicians_own_logs_speak_for_their_own_forecast():
    quick, slow = make_technician("Corin"), make_technician("Dilys")
    for week in range(6):
        task, _ = closed(9.0, who=quick, days_ago=7 * week)
        closed(15.0, who=slow, days_ago=7 * week)
    given = estimator(MOMENT.date())
    own = [given.hours_for(operation=task.operation, quantity=1, kind="grand", technician=one) for one in (quick, slow)]
    assert own[0].likely < own[1].likely
    assert (own[0].logs, own[0].own) == (6, True)
    assert hours_sentence(own[0], "Corin").startswith("Norm 12 h. Corin logged 6 of these, 9 h.")


def test_a_correction_and_a_withdrawal_reach_the_log():
    boss = make_manager()
    task, entries = closed(14.0)
    flow.hours_corrected(entries[0], 240, "typed twice", boss, MOMENT)
    assert HoursLog.objects.get(task_number=task.pk).hours == Decimal("10.00")
    assert estimator().learned(code=task.operation.code, norm=12).most == pytest.approx(10)
    for entry in (entries[0].replaced_by, entries[1]):
        flow.hours_withdrawn(entry, "another piano", boss, MOMENT)
    assert not HoursLog.objects.filter(task_number=task.pk).exists()


def test_gathering_again_changes_nothing():
    closed(14.0)
    before = list(HoursLog.objects.values())
    assert flow.hours_gathered(MOMENT + dt.timedelta(days=1)) == 0
    assert list(HoursLog.objects.values()) == before


def test_tasks_closed_before_hours_taught_are_gathered_by_a_command():
    work = make_operation(hours_low=Decimal(8), hours_likely=Decimal(12), hours_high=Decimal(18))
    task, entries = closed(14.0, operation=work)
    open_task = make_task(task.job, work)
    time_enter(task=open_task, person=entries[0].person, on=MOMENT.date(), minutes=60, note="", at=MOMENT)
    HoursLog.objects.all().delete()
    assert hours_for(operation=work, quantity=1, kind="grand").logs == 0
    for told in (
        "One closed task is new or changed.\n",
        "Nothing new: every closed task with hours is known already.\n",
    ):
        out = StringIO()
        call_command("hours_gather", stdout=out)
        assert out.getvalue() == told
        assert HoursLog.objects.get().task_number == task.pk
    assert hours_for(operation=work, quantity=1, kind="grand").logs == 1


def test_first_times_do_not_count():
    task, entries = closed(30.0)
    entries[0].first_time = True
    entries[0].save()
    flow.hours_closed([task], MOMENT)
    assert hours_for(operation=task.operation, quantity=1, kind="grand").likely == pytest.approx(12)


def test_a_corrected_norm_is_not_corrected_twice():
    boss = make_manager()
    for _ in range(40):
        task, _ = closed(15.0)
    before = hours_for(operation=task.operation, quantity=1, kind="grand")
    task.operation.refresh_from_db()
    row = norm_change(
        operation=task.operation, hours_low=Decimal(10), hours_likely=Decimal(15), hours_high=Decimal(20),
        by=boss, reason="forty logs", on=MOMENT.date(),
    )  # fmt: skip
    after = hours_for(operation=row, quantity=1, kind="grand")
    assert before.likely == pytest.approx(15, rel=0.02)
    assert after.likely == pytest.approx(15, rel=0.02)
    version = NormVersion.objects.get()
    assert (version.likely_before, version.likely_after, version.reason, version.by) == (12, 15, "forty logs", boss)


def test_what_the_manager_leaves_out_counts_no_more_until_it_counts_again():
    boss = make_manager()
    task, _ = closed(20.0)
    log = HoursLog.objects.get()
    log_leave_out(log=log, reason="two pianos on one task", by=boss, at=MOMENT)
    assert hours_for(operation=task.operation, quantity=1, kind="grand").likely == pytest.approx(12)
    log_count_again(log=log, by=boss, at=MOMENT + dt.timedelta(minutes=1))
    assert hours_for(operation=task.operation, quantity=1, kind="grand").likely > 12.5
    with pytest.raises(Refused, match="Say in a few words"):
        log_leave_out(log=log, reason=" ", by=boss, at=MOMENT)
    with pytest.raises(Refused, match="settled by the manager"):
        log_leave_out(log=log, reason="mine", by=make_technician(), at=MOMENT)


def test_asking_again_reads_no_log_twice():
    closed(14.0)
    estimator()
    with CaptureQueriesContext(connection) as asked:
        estimator()
    assert len(asked) == 3
    closed(13.0)
    learner = estimator().learner
    assert len(learner) == 2


def job_of_two():
    """Return a quote of two operations of 12 h each, the job of it, and the operations."""
    quote = make_quote()
    scope = make_scope(quote, hours_likely=Decimal(24), hours_80=Decimal(30))
    first, second = (
        make_operation("ky-bush", hours_likely=Decimal(12)),
        make_operation("ac-hang", hours_likely=Decimal(12)),
    )
    for one in (first, second):
        scope.operations.create(
            operation=one, because="chosen", norm_hours=12, hours_likely=Decimal(12), hours_80=Decimal(16)
        )
    job = make_job(quote.instrument, quote=quote, scope=scope)
    return quote, job, first, second


def test_a_job_whose_last_task_is_closed_says_how_its_quote_turned_out():
    quote, job, first, second = job_of_two()
    other = make_task(job, second)
    closed(15.0, operation=first, job=job)
    assert not QuoteOutcome.objects.exists()
    who = make_technician()
    time_enter(task=other, person=who, on=MOMENT.date(), minutes=480, note="", at=MOMENT)
    flow.task_closed(other, by=who, at=MOMENT)
    kept = QuoteOutcome.objects.get()
    assert (kept.quote_number, kept.likely, kept.figure_80, kept.hours) == (quote.number, 24, 30, 23)
    assert kept.mean == pytest.approx(24.69, abs=0.05)
    assert len(estimator().finished) == 1


def test_a_quote_is_compared_on_the_tasks_that_were_done():
    _, job, first, second = job_of_two()
    make_task(job, second, state="left_out")
    closed(13.0, operation=first, job=job)
    kept = QuoteOutcome.objects.get()
    assert (kept.tasks_left_out, kept.hours) == (1, 13)
    assert 12 <= kept.likely < 13


def test_a_first_time_marked_on_the_bench_is_left_out_of_the_norm(as_technician, technician):
    task = make_task(make_job(), make_operation(hours_low=Decimal(8), hours_likely=Decimal(12), hours_high=Decimal(18)))
    assert "for the first time" not in as_technician.get(reverse("bench-enter", args=[task.pk])).content.decode()
    time_enter(task=task, person=technician, on=timezone.localdate(), minutes=1200, note="", at=timezone.now())
    assert "for the first time" in as_technician.get(reverse("bench-enter", args=[task.pk])).content.decode()
    assert as_technician.post(reverse("bench-close", args=[task.pk]), {"first_time": "on"}).status_code == 302
    log = HoursLog.objects.get(task_number=task.pk)
    assert (log.hours, log.first_time) == (Decimal("20.00"), True)
    found = hours_for(operation=task.operation, quantity=1, kind="grand")
    assert (found.logs, round(found.likely, 2)) == (0, 12.0)
