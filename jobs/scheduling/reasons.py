"""Why a date is as it is, in words of the house."""

import datetime as dt
from collections.abc import Iterable

from jobs.scheduling.calc.decides import Decider, Kind, Link
from jobs.scheduling.house import HoldKind, House
from jobs.scheduling.models import JobEnd

PEOPLE = {Kind.PERSON, Kind.AWAY, Kind.ROOM, Kind.APPOINTMENT}
PLACES = {"bench": "every bench is taken", "spray": "the spray room is taken", "floor": "every floor place is held"}
NOTABLE_WAIT = dt.timedelta(days=2)  # shorter rests are not worth a word beside the work; our judgement


def decider_kind(house: House, decider: Decider) -> JobEnd.Decider:
    """Return what decides a job's date, as the record keeps it."""
    if decider.kind in PEOPLE:
        return JobEnd.Decider.PERSON
    if decider.kind == Kind.PLACE:
        return JobEnd.Decider.PLACE
    if decider.kind == Kind.WAIT:
        return JobEnd.Decider.WAIT
    if decider.kind == Kind.PART:
        hold = house.holds.get(_longest(decider).operation)
        return JobEnd.Decider.PART if hold and hold.kind == HoldKind.PART else JobEnd.Decider.WAIT
    return JobEnd.Decider.WORK


def decider_words(house: House, decider: Decider) -> str:
    """Return what decides a job's date in words, e.g. "a person: Corin works on no. 203 first, before “Fit …”"."""
    if decider.kind in (Kind.WORK, Kind.BEGIN):
        waits = sum((one.end - one.start for one in decider.links if one.kind == Kind.WAIT), dt.timedelta())
        if waits >= NOTABLE_WAIT:
            return f"the work itself, with {round(waits / dt.timedelta(days=1))} days of rests in it"
        return "the work itself"
    longest = _longest(decider)
    lead = {JobEnd.Decider.PERSON: "a person: ", JobEnd.Decider.PLACE: "a place: ", JobEnd.Decider.PART: "a part: "}
    words = link_words(house, longest)
    task = house.tasks.get(longest.operation)
    place = "after" if decider.kind == Kind.WAIT else "before"
    about = f", {place} “{task.name}”" if task and "“" not in words else ""
    return f"{lead.get(decider_kind(house, decider), 'a wait: ')}{words}{about}"


def link_words(house: House, link: Link) -> str:
    """Return what one stretch of time before a task was spent on."""
    person = str(house.people.get(link.who, "nobody"))
    if link.kind == Kind.AWAY:
        return f"{person} is not in"
    if link.kind == Kind.PERSON:
        return f"{person} {_busy(house, link)} first"
    if link.kind == Kind.ROOM:
        return f"{person} has no stretch long enough"
    if link.kind == Kind.APPOINTMENT:
        return f"the appointment with {person}"
    if link.kind == Kind.PLACE:
        behind = _numbers(house, link.behind)
        return PLACES.get(link.who, f"the {link.who} is taken") + (f" by no. {behind}" if behind else "")
    if link.kind == Kind.PART:
        hold = house.holds.get(link.operation)
        return hold.words if hold else "a part or an answer"
    if link.kind == Kind.WAIT:
        task = house.tasks.get(link.operation)
        return (task.wait_reason if task else "") or "rest"
    if link.kind == Kind.BEGIN:
        return "the workshop opens"
    return "the night or the weekend between"


def _busy(house: House, link: Link) -> str:
    """Return what keeps a person: other instruments by number, or other work on the same one."""
    own = house.tasks.get(link.operation)
    tasks = [house.tasks[name] for name in link.behind if name in house.tasks]
    others = sorted({task.job.instrument.number for task in tasks if own is None or task.job_id != own.job_id})
    if others:
        return f"works on no. {', '.join(map(str, others))}"
    return f"does “{tasks[0].name}”" if tasks else "has other work"


def _numbers(house: House, names: Iterable[str]) -> str:
    """Return the numbers of the instruments behind names of tasks or jobs."""
    jobs = [house.jobs[name] for name in names if name in house.jobs]
    jobs += [house.tasks[name].job for name in names if name in house.tasks]
    return ", ".join(map(str, sorted({job.instrument.number for job in jobs})))


def _longest(decider: Decider) -> Link:
    """Return the longest stretch of what decides a date."""
    same = [link for link in decider.links if link.kind == decider.kind and link.who == decider.who]
    return max(same or decider.links, key=lambda link: link.end - link.start)
