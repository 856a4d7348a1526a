"""The plan as a calendar file, read line by line as RFC 5545 has it."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from icalendar import Calendar

from jobs.scheduling.feed import plan_calendar
from jobs.scheduling.models import Plan, Promise, Stint
from tests.factories import MOMENT, make_client, make_instrument, make_job, make_operation, make_task, make_technician

pytestmark = pytest.mark.django_db
LONG = "Bush the keys, front and balance, in red cloth; ease, square and level — “all 85” ♯ 🎹, then " * 2


@pytest.fixture
def rows(db):
    """One stint in winter, one in summer of the same task, and a promise on the day summer time begins."""
    job = make_job(make_instrument(client=make_client("Zoë Ferrowby")))
    task = make_task(job, make_operation(), name=LONG[:200])
    plan = Plan.objects.create(made_at=MOMENT, is_current=True)
    person = make_technician()
    for day in (dt.datetime(2027, 1, 12, 9, tzinfo=dt.UTC), dt.datetime(2027, 7, 1, 8, tzinfo=dt.UTC)):
        Stint.objects.create(plan=plan, task=task, person=person, starts_at=day, ends_at=day + dt.timedelta(hours=3))
    Promise.objects.create(job=job, date=dt.date(2027, 3, 28), chance=Decimal("0.8"), given_at=MOMENT)
    return job, task


@pytest.fixture
def feed(rows):
    return plan_calendar(
        Stint.objects.order_by("starts_at"), Promise.objects.all(), domain="harrowmere.example", at=MOMENT
    )


def test_lines_end_with_carriage_return_and_line_feed(feed):
    """RFC 5545, 3.1."""
    assert feed.endswith(b"END:VCALENDAR\r\n")
    assert not re.search(rb"(?<!\r)\n|\r(?!\n)", feed)


def test_no_line_is_longer_than_75_octets_and_folding_cuts_no_character(feed):
    """RFC 5545, 3.1: lines SHOULD NOT be longer than 75 octets, excluding the line break."""
    lines = feed.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert any(line.startswith(b" ") for line in lines)
    for line in lines:
        line.decode()


def test_every_event_has_a_uid_of_its_own_and_a_stamp_in_utc(feed):
    """RFC 5545, 3.6.1: UID and DTSTAMP are required, and DTSTAMP is in UTC (3.8.7.2)."""
    events = Calendar.from_ical(feed).walk("VEVENT")
    assert len(events) == 3
    assert len({str(event["UID"]) for event in events}) == 3
    assert feed.count(b"\r\nDTSTAMP:20270111T090000Z\r\n") == 3
    assert all(str(event["UID"]).endswith("@harrowmere.example") for event in events)


def test_the_required_properties_of_the_calendar_come_once(feed):
    """RFC 5545, 3.6: PRODID and VERSION are required and come once."""
    assert feed.count(b"\r\nPRODID:") == feed.count(b"\r\nVERSION:2.0\r\n") == 1


def test_a_promise_is_a_whole_day_whose_end_is_the_day_after(feed):
    """RFC 5545, 3.6.1: DTEND is exclusive."""
    assert b"\r\nDTSTART;VALUE=DATE:20270328\r\n" in feed
    assert b"\r\nDTEND;VALUE=DATE:20270329\r\n" in feed


def test_a_stint_is_two_moments_in_utc_in_winter_and_in_summer(feed):
    assert b"\r\nDTSTART:20270112T090000Z\r\n" in feed
    assert b"\r\nDTEND:20270112T120000Z\r\n" in feed
    assert b"\r\nDTSTART:20270701T080000Z\r\n" in feed


def test_words_come_back_as_they_were_whatever_is_in_them(feed, rows):
    job, task = rows
    summaries = {str(event["SUMMARY"]) for event in Calendar.from_ical(feed).walk("VEVENT")}
    assert summaries == {f"{job.instrument.number} {task.name}", f"promised: {job.instrument}"}


def test_uids_stay_when_rows_move(feed):
    def uids(data):
        return [str(event["UID"]) for event in Calendar.from_ical(data).walk("VEVENT")]

    for row in Stint.objects.all():
        Stint.objects.filter(pk=row.pk).update(
            starts_at=row.starts_at + dt.timedelta(days=7), ends_at=row.ends_at + dt.timedelta(days=7)
        )
    Promise.objects.update(date=dt.date(2027, 4, 9))
    moved = plan_calendar(
        Stint.objects.order_by("starts_at"), Promise.objects.all(), domain="harrowmere.example", at=MOMENT
    )
    assert uids(moved) == uids(feed)
    assert moved != feed


def test_the_address_gives_the_file_as_a_calendar(rows, as_technician):
    answer = as_technician.get("/plan/plan.ics")
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/calendar")
    assert Calendar.from_ical(answer.content)["VERSION"] == "2.0"
