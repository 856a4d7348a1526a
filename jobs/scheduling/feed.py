"""The plan as a calendar file (RFC 5545)."""

import datetime as dt
from collections.abc import Iterable

from icalendar import Calendar, Event

from jobs.scheduling.models import Promise, Stint


def plan_calendar(stints: Iterable[Stint], promises: Iterable[Promise], *, domain: str, at: dt.datetime) -> bytes:
    """Return stints as moments in UTC and promises as whole days; a UID stays the same when a row moves.

    A promise ends on the day after, because DTEND is exclusive.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Wrestplank//plan//EN")
    calendar.add("version", "2.0")
    numbers: dict[int, int] = {}
    for stint in stints:
        numbers[stint.task_id] = numbers.get(stint.task_id, 0) + 1
        event = Event()
        event.add("uid", f"task-{stint.task_id}-{numbers[stint.task_id]}@{domain}")
        event.add("dtstamp", at.astimezone(dt.UTC))
        event.add("dtstart", stint.starts_at.astimezone(dt.UTC))
        event.add("dtend", stint.ends_at.astimezone(dt.UTC))
        event.add("summary", f"{stint.task.job.instrument.number} {stint.task.name}")
        calendar.add_component(event)
    for promise in promises:
        event = Event()
        event.add("uid", f"promise-{promise.job_id}@{domain}")
        event.add("dtstamp", at.astimezone(dt.UTC))
        event.add("dtstart", promise.date)
        event.add("dtend", promise.date + dt.timedelta(days=1))
        event.add("summary", f"promised: {promise.job.instrument}")
        calendar.add_component(event)
    return bytes(calendar.to_ical())
