"""The plan as a calendar file (RFC 5545)."""

import datetime as dt
from collections.abc import Iterable

from icalendar import Calendar, Event

from jobs.scheduling.models import Promise, Stint


def plan_calendar(stints: Iterable[Stint], promises: Iterable[Promise], *, domain: str, at: dt.datetime) -> bytes:
    """Return stints as moments in UTC and promises as whole days.

    ``stints`` come in order and from the beginning of their plan: the UID is the task with the number of the
    stint, so an entry that moves stays the same entry. A promise ends on the day after, because DTEND is
    exclusive (RFC 5545, 3.6.1).
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Wrestplank//plan//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    stamp = at.astimezone(dt.UTC).replace(microsecond=0)
    numbers: dict[int, int] = {}
    for stint in stints:
        numbers[stint.task_id] = numbers.get(stint.task_id, 0) + 1
        event = Event()
        event.add("uid", f"task-{stint.task_id}-{numbers[stint.task_id]}@{domain}")
        event.add("dtstamp", stamp)
        event.add("dtstart", stint.starts_at.astimezone(dt.UTC))
        event.add("dtend", stint.ends_at.astimezone(dt.UTC))
        event.add("summary", f"{stint.task.job.instrument.number} {stint.task.name}")
        event.add("description", f"{stint.task.job.instrument}, {stint.task.get_work_place_display()}")
        calendar.add_component(event)
    for promise in promises:
        event = Event()
        event.add("uid", f"promise-{promise.job_id}@{domain}")
        event.add("dtstamp", stamp)
        event.add("dtstart", promise.date)
        event.add("dtend", promise.date + dt.timedelta(days=1))
        event.add("transp", "TRANSPARENT")
        event.add("summary", f"promised: {promise.job.instrument}")
        calendar.add_component(event)
    return bytes(calendar.to_ical())
