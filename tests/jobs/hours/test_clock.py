"""The clock: pressed twice, over midnight, over the change of the clocks, and by two hands at once."""

import datetime as dt
import threading
import uuid

import pytest
from django.db import connection
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from jobs.hours.models import TimeEntry
from jobs.hours.queries import hours_of, minutes_on, running_of, standing
from jobs.hours.services import (
    clock_start,
    clock_stop,
    entry_correct,
    entry_withdraw,
    hours_left_say,
    task_close,
    time_enter,
)
from jobs.worklist.models import Task
from jobs.worklist.services import variation_report, variation_withdraw
from tests.factories import MOMENT, TODAY, make_job, make_manager, make_operation, make_task, make_technician
from workshop.web.errors import Refused


@pytest.fixture
def corin(db):
    return make_technician()


@pytest.fixture
def task(db):
    return make_task()


def utc(*parts):
    return dt.datetime(*parts, tzinfo=dt.UTC)


def test_a_second_start_on_the_same_task_keeps_the_first(task, corin):
    first = clock_start(task=task, person=corin, at=MOMENT)
    again = clock_start(task=task, person=corin, at=MOMENT + dt.timedelta(minutes=30))
    assert (again, again.started_at) == (first, MOMENT)
    assert TimeEntry.objects.count() == 1


def test_the_same_press_that_arrives_twice_starts_one_clock_and_stays_one_after_it_stopped(task, corin):
    key = uuid.uuid4()
    first = clock_start(task=task, person=corin, at=MOMENT, client_key=key)
    clock_stop(person=corin, at=MOMENT + dt.timedelta(minutes=30))
    late = clock_start(task=task, person=corin, at=MOMENT + dt.timedelta(minutes=31), client_key=key)
    assert late == first
    assert running_of(corin) is None


def test_stopping_without_a_clock_says_what_to_do(corin):
    with pytest.raises(Refused, match="No clock is running"):
        clock_stop(person=corin, at=MOMENT)


def test_a_press_by_mistake_is_not_kept_as_time(task, corin):
    clock_start(task=task, person=corin, at=MOMENT)
    assert clock_stop(person=corin, at=MOMENT + dt.timedelta(seconds=20)) == []
    assert not standing().exists()
    assert clock_start(task=task, person=corin, at=MOMENT + dt.timedelta(minutes=5)).minutes is None


# The change of the clocks in the United Kingdom, Summer Time Act 1972 as amended by SI 2002/262: the last Sunday of
# March and of October at 01:00 UTC. The minutes are counted by hand from UTC.
@pytest.mark.parametrize(
    ("start", "stop", "days"),
    [
        (utc(2027, 3, 27, 22), utc(2027, 3, 28, 3), [(dt.date(2027, 3, 27), 120), (dt.date(2027, 3, 28), 180)]),
        (utc(2027, 10, 30, 21), utc(2027, 10, 31, 3), [(dt.date(2027, 10, 30), 120), (dt.date(2027, 10, 31), 240)]),
        (utc(2027, 3, 28, 0, 30), utc(2027, 3, 28, 1, 30), [(dt.date(2027, 3, 28), 60)]),
        (utc(2027, 10, 31, 0, 30), utc(2027, 10, 31, 1, 30), [(dt.date(2027, 10, 31), 60)]),
        (utc(2027, 6, 30, 22, 59), utc(2027, 6, 30, 23, 1), [(dt.date(2027, 6, 30), 1), (dt.date(2027, 7, 1), 1)]),
    ],
    ids=["spring over midnight", "autumn over midnight", "over the hour that is not", "over the hour twice", "summer"],
)
def test_true_minutes_are_kept_a_piece_for_each_local_day(start, stop, days, task, corin):
    clock_start(task=task, person=corin, at=start)
    kept = clock_stop(person=corin, at=stop)
    assert [(entry.on, entry.minutes) for entry in kept] == days
    assert sum(entry.minutes for entry in kept) == (stop - start).total_seconds() / 60


def test_a_task_held_by_a_variation_is_neither_begun_nor_closed_until_it_is_free(task, corin):
    time_enter(task=task, person=corin, on=TODAY, minutes=30, at=MOMENT)
    variation = variation_report(job=task.job, found="Two cracked keys.", affects=[task], by=corin, at=MOMENT)
    with pytest.raises(Refused, match="variation"):
        clock_start(task=task, person=corin, at=MOMENT)
    with pytest.raises(Refused, match="variation"):
        task_close(task=task, by=corin, at=MOMENT)
    variation_withdraw(variation=variation, by=corin)
    assert task_close(task=task, by=corin, at=MOMENT).state == Task.State.DONE


def test_closing_keeps_the_clock_that_runs(task, corin):
    clock_start(task=task, person=corin, at=MOMENT)
    task_close(task=task, by=corin, at=MOMENT + dt.timedelta(minutes=50))
    assert (hours_of(task.job), running_of(corin)) == ({task.pk: 50}, None)


def test_a_done_task_takes_no_more_time_and_says_since_when(task, corin):
    task_close(task=task, by=corin, at=MOMENT, no_hours_because="found done")
    tomorrow = MOMENT + dt.timedelta(days=1)
    for press in (
        lambda: clock_start(task=task, person=corin, at=MOMENT),
        lambda: time_enter(task=task, person=corin, on=tomorrow.date(), minutes=5, at=tomorrow),
        lambda: hours_left_say(task=task, hours=1, by=corin),
    ):
        with pytest.raises(Refused, match="was closed on Mon 11 Jan 2027"):
            press()


class Totals(TestCase):
    @settings(max_examples=25)
    @given(
        st.lists(
            st.tuples(
                st.integers(1, 300),
                st.one_of(st.none(), st.integers(1, 300)),
                st.booleans(),
            ),
            min_size=1,
            max_size=4,
        )
    )
    def test_totals_are_what_stands_last_whatever_was_corrected_and_taken_back(self, steps):
        job, person, manager = make_job(), make_technician(), make_manager()
        task = make_task(job, make_operation())
        expected = 0
        for minutes, corrected, taken_back in steps:
            entry = time_enter(task=task, person=person, on=TODAY, minutes=minutes, at=MOMENT)
            if corrected:
                entry = entry_correct(entry=entry, minutes=corrected, reason="counted again", by=manager, at=MOMENT)
            if taken_back:
                entry_withdraw(entry=entry, reason="not here", by=person, at=MOMENT)
            expected += 0 if taken_back else (corrected or minutes)
        assert hours_of(job).get(task.pk, 0) == expected
        assert minutes_on(person, TODAY) == expected
        kept = TimeEntry.objects.filter(replaces=None).order_by("pk").values_list("minutes", flat=True)
        assert list(kept) == [minutes for minutes, _, _ in steps]


def at_once(*presses):
    """Run the presses in threads that begin together; return what they raised."""
    ready, raised = threading.Barrier(len(presses)), []

    def run(press):
        ready.wait()
        try:
            press()
        except Exception as error:  # whatever it is, the test reads it
            raised.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(press,)) for press in presses]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return raised


@pytest.mark.django_db(transaction=True)
def test_two_hands_that_start_at_once_leave_one_running_clock(corin, task):
    others = [make_task(task.job, make_operation(f"ky-{number}")) for number in range(4)]
    raised = at_once(*(lambda one=one: clock_start(task=one, person=corin, at=MOMENT) for one in others))
    assert raised == []
    assert TimeEntry.objects.filter(person=corin, minutes=None, withdrawn=False).count() == 1


@pytest.mark.django_db(transaction=True)
def test_an_entry_that_arrives_by_two_ways_at_once_is_kept_once(corin, task):
    key = uuid.uuid4()
    raised = at_once(
        *(lambda: time_enter(task=task, person=corin, on=TODAY, minutes=45, at=MOMENT, client_key=key) for _ in "abcd")
    )
    assert raised == []
    assert TimeEntry.objects.get().minutes == 45
