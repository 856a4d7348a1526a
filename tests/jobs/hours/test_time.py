"""Hours: the clock, hours by hand, corrections that keep what was, and what is refused."""

import datetime as dt
import uuid

import pytest

from jobs.hours.models import TimeEntry
from jobs.hours.services import clock_start, clock_stop, entry_correct, entry_withdraw, task_close, time_enter
from jobs.worklist.models import Task
from tests.factories import MOMENT, TODAY, make_job, make_manager, make_operation, make_task, make_technician
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def corin():
    return make_technician()


@pytest.fixture
def task():
    return make_task()


def enter(task, person, minutes, *, on=TODAY, **more):
    return time_enter(task=task, person=person, on=on, minutes=minutes, at=MOMENT, **more)


def test_the_clock_keeps_what_passed_and_marks_the_task_as_begun(task, corin):
    clock_start(task=task, person=corin, at=MOMENT)
    (entry,) = clock_stop(person=corin, at=MOMENT + dt.timedelta(minutes=95), extra_minutes=15)
    task.refresh_from_db()
    assert (entry.minutes, task.state) == (110, Task.State.AT_WORK)


def test_starting_another_task_keeps_the_first(task, corin):
    other = make_task(task.job, make_operation("ky-ease"))
    clock_start(task=task, person=corin, at=MOMENT)
    clock_start(task=other, person=corin, at=MOMENT + dt.timedelta(minutes=20))
    assert TimeEntry.objects.get(task=task).minutes == 20
    assert TimeEntry.objects.get(task=other).minutes is None


def test_a_clock_over_midnight_is_cut_into_days(task, corin):
    evening = MOMENT.replace(hour=22)
    clock_start(task=task, person=corin, at=evening)
    entries = clock_stop(person=corin, at=evening + dt.timedelta(hours=4))
    assert [(entry.on, entry.minutes) for entry in entries] == [
        (TODAY, 120),
        (TODAY + dt.timedelta(days=1), 120),
    ]


@pytest.mark.parametrize(
    ("minutes", "day", "sentence"),
    [
        (0, 0, "more than nothing"),
        (1441, 0, "more than a day has"),
        (60, 1, "still to come"),
        (60, -4000, "days ago"),
    ],
)
def test_impossible_hours_are_refused_in_words_and_not_kept(minutes, day, sentence, task, corin):
    with pytest.raises(Refused, match=sentence):
        enter(task, corin, minutes, on=TODAY + dt.timedelta(days=day))
    assert not TimeEntry.objects.exists()


def test_two_entries_of_one_day_do_not_make_more_than_a_day(task, corin):
    enter(task, corin, 800)
    with pytest.raises(Refused, match="more than a day has"):
        enter(task, corin, 700)
    assert TimeEntry.objects.get().minutes == 800


def test_the_same_entry_sent_twice_is_one_and_with_other_content_refused(task, corin):
    key = uuid.uuid4()
    first = enter(task, corin, 45, client_key=key)
    assert enter(task, corin, 45, client_key=key) == first
    with pytest.raises(Refused, match="other content"):
        enter(task, corin, 50, client_key=key)
    assert TimeEntry.objects.count() == 1


def test_a_correction_keeps_what_was_written_before(task, corin):
    old = enter(task, corin, 45)
    new = entry_correct(entry=old, minutes=60, reason="forgot the voicing", by=corin, at=MOMENT)
    assert (new.replaces, new.minutes, TimeEntry.objects.get(pk=old.pk).minutes) == (old, 60, 45)
    with pytest.raises(Refused, match="corrected before"):
        entry_correct(entry=old, minutes=30, reason="again", by=corin, at=MOMENT)
    gone = entry_withdraw(entry=new, reason="another piano", by=corin, at=MOMENT)
    assert gone.withdrawn
    assert TimeEntry.objects.count() == 3


def test_only_they_or_the_manager_correct_hours_and_never_without_a_reason(task, corin):
    entry = enter(task, corin, 45)
    with pytest.raises(Refused, match="Only they or the manager"):
        entry_correct(entry=entry, minutes=60, reason="so", by=make_technician("Edda"), at=MOMENT)
    with pytest.raises(Refused, match="why"):
        entry_correct(entry=entry, minutes=60, reason=" ", by=corin, at=MOMENT)
    assert entry_correct(entry=entry, minutes=60, reason="as she said", by=make_manager(), at=MOMENT).minutes == 60


def test_a_task_is_not_closed_while_something_before_it_is_open(task, corin):
    later = make_task(task.job, make_operation("ky-ease"))
    later.after.add(task)
    enter(later, corin, 30)
    with pytest.raises(Refused, match=task.name):
        task_close(task=later, by=corin, at=MOMENT)
    later.refresh_from_db()
    assert later.state != Task.State.DONE
    enter(task, corin, 30)
    task_close(task=task, by=corin, at=MOMENT)
    assert task_close(task=later, by=corin, at=MOMENT).state == Task.State.DONE


def test_a_task_without_hours_is_closed_only_with_a_reason(task, corin):
    with pytest.raises(Refused):
        task_close(task=task, by=corin, at=MOMENT)
    assert task_close(task=task, by=corin, at=MOMENT, no_hours_because="found done").state == Task.State.DONE


def test_no_time_belongs_to_a_task_that_is_left_out_or_gone_home(corin):
    with pytest.raises(Refused, match="left out"):
        enter(make_task(state=Task.State.LEFT_OUT), corin, 30)
    with pytest.raises(Refused, match="no more time"):
        enter(make_task(make_job(state="returned", returned_on=TODAY)), corin, 30)


def test_hours_forgotten_at_closing_are_taken_for_a_fortnight(task, corin):
    task_close(task=task, by=corin, at=MOMENT, no_hours_because="forgot")
    fortnight = MOMENT + dt.timedelta(days=14)
    kept = time_enter(task=task, person=corin, on=TODAY, minutes=30, at=fortnight)
    task.refresh_from_db()
    assert (kept.minutes, task.state) == (30, Task.State.DONE)
    with pytest.raises(Refused, match="more than 14 days ago"):
        time_enter(task=task, person=corin, on=TODAY, minutes=30, at=fortnight + dt.timedelta(days=1))
    with pytest.raises(Refused, match="belong to another task"):
        time_enter(task=task, person=corin, on=fortnight.date(), minutes=30, at=fortnight)
