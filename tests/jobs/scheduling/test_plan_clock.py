"""Stints are local wall-clock times of the shop, whatever the clock of the country does, in a shop of any hours."""

import datetime as dt

import pytest
from django.utils import timezone

from jobs.scheduling.house import next_slot
from jobs.scheduling.services import plan_make
from tests.factories import make_person
from tests.jobs.scheduling.stored import broken, local, make_job, make_shop, make_work, starts
from workshop.house.models import Shop

pytestmark = pytest.mark.django_db


def wall(plan, task):
    """The stints of a task on the shop's clock, and in UTC."""
    rows = plan.stints.filter(task=task).order_by("starts_at")
    zone = timezone.get_current_timezone()
    return [
        (
            local(one.starts_at).strftime("%a %d %b %H:%M"),
            local(one.ends_at).strftime("%H:%M"),
            one.starts_at.astimezone(dt.UTC).strftime("%H:%M"),
            one.starts_at.astimezone(zone).utcoffset() / dt.timedelta(hours=1),
        )
        for one in rows
    ]


# British Summer Time begins on the last Sunday of March and ends on the last Sunday of October, at 01:00 UTC
# (Summer Time Order 2002, SI 2002/262, from memory): in 2027 on 28 March and 31 October.
@pytest.mark.parametrize(
    ("friday", "expected"),
    [
        (
            dt.datetime(2027, 3, 19, 8, 0, tzinfo=dt.UTC),
            [
                ("Fri 19 Mar 08:00", "16:00", "08:00", 0.0), ("Mon 22 Mar 08:00", "16:00", "08:00", 0.0),
                ("Tue 23 Mar 08:00", "16:00", "08:00", 0.0), ("Wed 24 Mar 08:00", "16:00", "08:00", 0.0),
                ("Thu 25 Mar 08:00", "16:00", "08:00", 0.0), ("Tue 30 Mar 08:00", "16:00", "07:00", 1.0),
            ],
        ),
        (
            dt.datetime(2027, 10, 28, 7, 0, tzinfo=dt.UTC),
            [
                ("Thu 28 Oct 08:00", "16:00", "07:00", 1.0), ("Fri 29 Oct 08:00", "16:00", "07:00", 1.0),
                ("Mon 01 Nov 08:00", "16:00", "08:00", 0.0), ("Tue 02 Nov 08:00", "16:00", "08:00", 0.0),
                ("Wed 03 Nov 08:00", "16:00", "08:00", 0.0), ("Thu 04 Nov 08:00", "16:00", "08:00", 0.0),
            ],
        ),
    ],
)  # fmt: skip
def test_the_shop_opens_at_eight_before_and_after_the_clock_changes(friday, expected):
    make_shop()
    make_person("Corin", skills=("action",))
    task = make_work(None, 48)
    made = plan_make(by=None, at=friday, why="over the change of the clocks")
    assert wall(made, task) == expected
    assert broken(made, at=friday) == []


def test_a_shop_with_hours_of_its_own_is_planned_on_its_own_slots():
    make_shop(opens=dt.time(7, 30), closes=dt.time(16, 30), slot_minutes=15, workdays=[1, 2, 3, 4, 5])
    make_person("Corin", skills=("action",), workdays=[1, 2, 3, 4, 5])
    job = make_job()
    first = make_work(job, 9.1)  # 9 h 06 become 9 h 15
    second = make_work(job, 0.05, after=[first])
    at = dt.datetime(2027, 1, 15, 15, 50, tzinfo=dt.UTC)  # Friday 15:50
    made = plan_make(by=None, at=at, why="an early shop")
    assert [row[:2] for row in wall(made, first)] == [("Fri 15 Jan 16:00", "16:30"), ("Sat 16 Jan 07:30", "16:15")]
    assert [row[:2] for row in wall(made, second)] == [("Sat 16 Jan 16:15", "16:30")]
    assert broken(made, at=at) == []


def test_sessions_fall_on_different_days_and_none_is_longer_than_the_day():
    make_shop()
    make_person("Corin", skills=("action",))
    task = make_work(None, 20, sessions=2)  # 10 h each would not fit a day of 8
    made = plan_make(by=None, at=dt.datetime(2027, 1, 11, 8, 0, tzinfo=dt.UTC), why="sessions")
    lengths = [one.ends_at - one.starts_at for one in made.stints.filter(task=task).order_by("starts_at")]
    assert [length / dt.timedelta(hours=1) for length in lengths] == [7, 6.5, 6.5]
    assert len({one.starts_at.date() for one in made.stints.filter(task=task)}) == 3


@pytest.mark.parametrize(
    ("moment", "slot"),
    [
        ((2027, 1, 11, 6, 0), (2027, 1, 11, 7, 30)),
        ((2027, 1, 11, 7, 30), (2027, 1, 11, 7, 30)),
        ((2027, 1, 11, 7, 31), (2027, 1, 11, 7, 45)),
        ((2027, 1, 11, 16, 15), (2027, 1, 11, 16, 15)),
        ((2027, 1, 11, 16, 16), (2027, 1, 12, 7, 30)),
        ((2027, 1, 11, 22, 0), (2027, 1, 12, 7, 30)),
    ],
)
def test_a_plan_begins_at_the_next_slot_of_the_day(moment, slot):
    shop = Shop(opens=dt.time(7, 30), closes=dt.time(16, 30), slot_minutes=15)
    assert next_slot(dt.datetime(*moment), shop) == dt.datetime(*slot)


def test_a_plan_made_after_closing_time_begins_the_next_morning():
    make_shop()
    make_person("Corin", skills=("action",))
    task = make_work(None, 2)
    made = plan_make(by=None, at=dt.datetime(2027, 1, 15, 19, 0, tzinfo=dt.UTC), why="Friday evening")
    assert starts(made, task) == dt.datetime(2027, 1, 18, 8, 0)
