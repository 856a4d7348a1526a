"""Rules of hours: forgotten clocks, what is left, another day, who has the open task in hand."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest

from jobs.hours.models import TimeEntry
from jobs.hours.queries import minutes_of, minutes_on, next_tasks, running_of, standing
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
from jobs.worklist.services import variation_report
from tests.factories import MOMENT, TODAY, make_job, make_operation, make_skill, make_task, make_technician
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db
HOUR, DAY = dt.timedelta(hours=1), dt.timedelta(days=1)


@pytest.fixture
def corin():
    return make_technician()


@pytest.fixture
def task():
    return make_task()


def test_a_clock_that_was_forgotten_asks_how_long_it_was_and_loses_nothing(task, corin):
    clock_start(task=task, person=corin, at=MOMENT)
    monday = MOMENT + 64 * HOUR
    with pytest.raises(Refused, match=r"Corin’s clock on “operation ky-bush” runs since Mon 11 Jan, 09:00"):
        clock_stop(person=corin, at=monday)
    with pytest.raises(Refused, match="forgotten"):
        clock_start(task=make_task(task.job, make_operation("ky-ease")), person=corin, at=monday)
    with pytest.raises(Refused, match="forgotten"):
        task_close(task=task, by=corin, at=monday)
    assert running_of(corin).started_at == MOMENT
    (entry,) = clock_stop(person=corin, at=monday, worked_minutes=200)
    assert (entry.on, entry.minutes, entry.stopped_at) == (TODAY, 200, MOMENT + dt.timedelta(minutes=200))


@pytest.mark.parametrize("minutes", [-1, 60 * 64 + 2])
def test_a_forgotten_clock_takes_no_more_than_it_ran(task, corin, minutes):
    clock_start(task=task, person=corin, at=MOMENT)
    with pytest.raises(Refused, match="within that"):
        clock_stop(person=corin, at=MOMENT + 64 * HOUR, worked_minutes=minutes)
    assert running_of(corin) is not None


def test_a_forgotten_clock_without_work_leaves_no_time(task, corin):
    clock_start(task=task, person=corin, at=MOMENT)
    assert clock_stop(person=corin, at=MOMENT + 64 * HOUR, worked_minutes=0) == []
    task.refresh_from_db()
    assert (standing().exists(), task.state, task.started_at) == (False, Task.State.TO_COME, None)


def test_a_press_by_mistake_does_not_begin_a_task(task, corin):
    clock_start(task=task, person=corin, at=MOMENT)
    clock_stop(person=corin, at=MOMENT + dt.timedelta(seconds=10))
    task.refresh_from_db()
    assert task.state == Task.State.TO_COME


def test_a_clock_does_not_make_a_day_longer_than_it_is(task, corin):
    time_enter(task=task, person=corin, on=TODAY, minutes=1380, at=MOMENT)
    clock_start(task=task, person=corin, at=MOMENT)
    with pytest.raises(Refused, match="more than a day has"):
        clock_stop(person=corin, at=MOMENT + 2 * HOUR)
    assert (minutes_on(corin, TODAY), running_of(corin).started_at) == (1380, MOMENT)


def test_hours_by_hand_count_the_clock_that_runs_and_say_what_to_enter_instead(task, corin):
    other = make_task(task.job, make_operation("ky-ease"))
    clock_start(task=other, person=corin, at=MOMENT - 3 * HOUR)
    time_enter(task=task, person=corin, on=TODAY, minutes=600, at=MOMENT)
    with pytest.raises(Refused) as refused:
        time_enter(task=task, person=corin, on=TODAY, minutes=661, at=MOMENT)
    assert str(refused.value) == (
        "That would make 24 h 01 on Mon 11 Jan 2027, more than a day has. Besides these there are 10 h kept and 3 h on "
        "the clock that runs. Look at the day, or enter 11 h at most."
    )
    time_enter(task=task, person=corin, on=TODAY, minutes=660, at=MOMENT)
    with pytest.raises(Refused, match="it is full, so correct what is kept on it first"):
        time_enter(task=task, person=corin, on=TODAY, minutes=1, at=MOMENT)
    assert time_enter(task=task, person=corin, on=TODAY - DAY, minutes=1440, at=MOMENT).minutes == 1440


def test_of_a_clock_over_midnight_each_day_counts_its_own_piece_and_a_forgotten_one_none(task, corin):
    other = make_task(task.job, make_operation("ky-ease"))
    clock_start(task=other, person=corin, at=MOMENT - 11 * HOUR)  # Sunday, 22:00
    with pytest.raises(Refused, match="enter 22 h at most"):
        time_enter(task=task, person=corin, on=TODAY - DAY, minutes=1321, at=MOMENT)
    with pytest.raises(Refused, match="enter 15 h at most"):
        time_enter(task=task, person=corin, on=TODAY, minutes=901, at=MOMENT)
    entry = time_enter(task=task, person=corin, on=TODAY, minutes=60, at=MOMENT)
    with pytest.raises(Refused, match="enter 15 h at most"):
        entry_correct(entry=entry, minutes=901, reason="counted again", by=corin, at=MOMENT)
    assert time_enter(task=task, person=corin, on=TODAY - DAY, minutes=1440, at=MOMENT + 4 * HOUR).minutes == 1440


def test_a_clock_that_overfills_its_day_says_how_long_it_may_have_been_and_runs_on(task, corin):
    time_enter(task=task, person=corin, on=TODAY, minutes=1320, at=MOMENT)
    clock_start(task=task, person=corin, at=MOMENT - 10 * HOUR)  # Sunday, 23:00: one hour of it is Sunday's
    with pytest.raises(Refused, match=r"9 h and the 22 h kept make 31 h on Mon 11 Jan 2027.* really was, 3 h at most"):
        clock_stop(person=corin, at=MOMENT)
    assert running_of(corin) is not None
    kept = clock_stop(person=corin, at=MOMENT, worked_minutes=180)
    assert [entry.minutes for entry in kept] == [60, 120]
    assert minutes_on(corin, TODAY) == 1440


def test_what_is_left_goes_down_with_time_kept_and_up_with_time_taken_back(task, corin):
    hours_left_say(task=task, hours=Decimal(5), by=corin)
    entry = time_enter(task=task, person=corin, on=TODAY, minutes=90, at=MOMENT)

    def left():
        return Task.objects.get(pk=task.pk).hours_left

    assert left() == Decimal("3.50")
    entry = entry_correct(entry=entry, minutes=60, reason="counted again", by=corin, at=MOMENT)
    assert left() == Decimal(4)
    entry_withdraw(entry=entry, reason="another piano", by=corin, at=MOMENT)
    assert left() == Decimal(5)
    clock_start(task=task, person=corin, at=MOMENT)
    clock_stop(person=corin, at=MOMENT + 6 * HOUR)
    assert left() == Decimal(0)


@pytest.mark.parametrize("hours", [Decimal("-0.01"), Decimal("1000.01")])
def test_impossible_hours_left_are_refused(task, corin, hours):
    with pytest.raises(Refused, match="between nought and a thousand"):
        hours_left_say(task=task, hours=hours, by=corin)


def test_an_entry_moves_to_another_day_and_the_first_version_stays(task, corin):
    entry = time_enter(task=task, person=corin, on=TODAY, minutes=60, at=MOMENT)
    friday = TODAY - dt.timedelta(days=3)
    moved = entry_correct(entry=entry, minutes=60, reason="it was Friday", by=corin, at=MOMENT, on=friday)
    assert (moved.on, moved.replaces.on) == (friday, TODAY)
    assert (minutes_on(corin, TODAY), minutes_on(corin, friday), minutes_of(task)) == (0, 60, 60)
    for day, sentence in ((TODAY + dt.timedelta(days=1), "still to come"), (TODAY.replace(year=2020), "days ago")):
        with pytest.raises(Refused, match=sentence):
            entry_correct(entry=moved, minutes=60, reason="so", by=corin, at=MOMENT, on=day)


def test_a_day_of_corrections_is_no_longer_than_a_day(task, corin):
    entry = time_enter(task=task, person=corin, on=TODAY, minutes=700, at=MOMENT)
    time_enter(task=task, person=corin, on=TODAY, minutes=700, at=MOMENT)
    with pytest.raises(Refused, match="more than a day has"):
        entry_correct(entry=entry, minutes=741, reason="more", by=corin, at=MOMENT)
    assert entry_correct(entry=entry, minutes=740, reason="more", by=corin, at=MOMENT).minutes == 740


def test_a_running_clock_is_not_corrected(task, corin):
    entry = clock_start(task=task, person=corin, at=MOMENT)
    with pytest.raises(Refused, match="still runs"):
        entry_correct(entry=entry, minutes=5, reason="so", by=corin, at=MOMENT)


def test_the_open_task_before_is_named_with_who_has_it_in_hand(task, corin):
    later = make_task(task.job, make_operation("ky-ease"))
    later.after.add(task)
    with pytest.raises(Refused, match=r"“operation ky-bush” comes before it and is not done; nobody has begun it\."):
        task_close(task=later, by=corin, at=MOMENT)
    time_enter(task=task, person=make_technician("Bram"), on=TODAY, minutes=30, at=MOMENT)
    with pytest.raises(Refused, match=r"not done; Bram has it in hand\."):
        task_close(task=later, by=corin, at=MOMENT)


def test_closing_stops_the_clocks_of_everybody_on_the_task(task, corin):
    bram = make_technician("Bram")
    for person in (corin, bram):
        clock_start(task=task, person=person, at=MOMENT)
    task_close(task=task, by=corin, at=MOMENT + HOUR)
    assert (minutes_of(task), running_of(bram), running_of(corin)) == (120, None, None)


def test_a_reason_for_no_hours_is_not_written_where_hours_are(task, corin):
    time_enter(task=task, person=corin, on=TODAY, minutes=30, at=MOMENT)
    assert "because" not in task_close(task=task, by=corin, at=MOMENT, no_hours_because="because").agreed


def test_a_key_says_one_thing_only(task, corin):
    key = uuid.uuid4()
    time_enter(task=task, person=corin, on=TODAY, minutes=45, at=MOMENT, note="first", client_key=key)
    day_before = TODAY - dt.timedelta(days=1)
    for other in (
        {"on": day_before},
        {"note": "second"},
        {"task": make_task(task.job, make_operation("ky-ease"))},
        {"person": make_technician("Bram")},
    ):
        with pytest.raises(Refused, match="other content"):
            time_enter(
                **{"task": task, "person": corin, "on": TODAY, "minutes": 45, "note": "first", **other},
                at=MOMENT,
                client_key=key,
            )
    assert TimeEntry.objects.count() == 1


def test_what_comes_next_says_what_it_waits_for(corin):
    job = make_job()
    glue = make_operation("ky-glue", wait_hours=24, wait_reason="glue")
    glued = make_task(job, glue, state=Task.State.DONE, done_at=MOMENT, wait_reason="glue")
    resting, held, later, ready = (make_task(job, make_operation(f"x-{name}")) for name in "abcd")
    resting.after.add(glued)
    later.after.add(ready)
    other_skill = make_task(job, make_operation("st-string", skill=make_skill("strings")))
    variation_report(job=job, found="A crack.", affects=[held], by=corin, at=MOMENT)
    assert [one.task for one in next_tasks(corin, TODAY, at=MOMENT)] == [ready]
    for task in (resting, held, later):
        time_enter(task=task, person=corin, on=TODAY, minutes=5, at=MOMENT)
    found = {one.task: one.waits_for for one in next_tasks(corin, TODAY, at=MOMENT)}
    assert found == {
        resting: "glue, till Tue 12 Jan, 09:00",
        held: "variation 1",
        later: ready.name,
    }
    assert other_skill not in found
    tomorrow = MOMENT + 24 * HOUR
    assert {one.task: one.can_start for one in next_tasks(corin, tomorrow.date(), at=tomorrow)}[resting]
