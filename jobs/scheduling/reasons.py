"""Why a date is as it is, in words of the house."""

import datetime as dt
import re
from collections.abc import Iterable

from jobs.scheduling.calc.decides import Decider, Kind, Link
from jobs.scheduling.calc.moved import Cause, Moved, hours_of
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.house import HoldKind, House
from jobs.scheduling.models import JobEnd
from workshop.calendar.words import day_words, hours_words

PEOPLE = {Kind.PERSON, Kind.AWAY, Kind.ROOM, Kind.APPOINTMENT}
PLACES = {"bench": "every bench is taken", "spray": "the spray room is taken", "floor": "every floor place is held"}
MOST_LETTERS = 40  # of the name of another task in a reason
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
        return _work_words(house, decider)
    longest = _longest(decider)
    lead = {JobEnd.Decider.PERSON: "a person: ", JobEnd.Decider.PLACE: "a place: ", JobEnd.Decider.PART: "a part: "}
    words = link_words(house, longest)
    task = house.tasks.get(longest.operation)
    about = f", before “{task.name}”" if task and "“" not in words else ""
    return f"{lead.get(decider_kind(house, decider), 'a wait: ')}{words}{about}"


def _work_words(house: House, decider: Decider) -> str:
    """Return that it is the work, the longest task of it, who does it, and the days of rests between."""
    words = "the work itself"
    done = {one.operation: one.who for one in decider.links if one.kind == Kind.WORK and one.who}
    hours = {name: house.problem.operation_by_id[name].hours for name in done if name in house.tasks}
    if hours:
        longest = max(hours, key=lambda name: hours[name])
        most = ", longest" if len(hours) > 1 else ":"
        person = house.people.get(done[longest], "nobody")
        words += f"{most} “{_short(house.tasks[longest].name)}” ({person}, {hours_words(hours[longest])})"
    waits = sum((one.end - one.start for one in decider.links if one.kind == Kind.WAIT), dt.timedelta())
    if waits >= NOTABLE_WAIT:
        words += f", and {round(waits / dt.timedelta(days=1))} days of rests"
    return words


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
        kind = f" ({task.wait_reason})" if task and task.wait_reason else ""
        return f"the rest after “{_short(task.name)}”{kind}" if task else "a rest"
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


# Why a date moves, as its owner may read it: nothing of other clients, and nobody is blamed.
FOR_THE_OWNER = {
    JobEnd.Decider.PERSON: "Work that comes before it in our workshop takes longer than we had counted on.",
    JobEnd.Decider.PLACE: "The place your piano needs in our workshop is free later than we had counted on.",
    JobEnd.Decider.PART: "A part your piano needs is here later than we had counted on.",
    JobEnd.Decider.WAIT: "It has to rest before we can go on, and nobody can shorten that.",
    JobEnd.Decider.WORK: "The work itself takes longer than we had counted on.",
}


def move_words(house: House, problem: Problem, moved: Moved) -> str:
    """Return why a task moves, e.g. "Corin does “Fit keys” on no. 203 then, which needs more hours now"."""
    if moved.cause in (Cause.AWAY, Cause.PART, Cause.BEFORE):
        return _dated_words(house, moved)
    if moved.cause == Cause.SKILL:
        return f"{house.people[moved.who]} has it in hand, or is the one who can do it now"
    if moved.cause == Cause.GROWN:
        hours = problem.operation_by_id[moved.operation].hours
        return f"its own hours grew from {hours_words(hours_of(moved.was))} to {hours_words(hours)}"
    if moved.cause == Cause.MADE_WAY:
        return f"{house.people[moved.was.technician]} {_then(house, moved)}"
    if moved.cause == Cause.PLACE:
        behind = _numbers(house, moved.behind)
        return PLACES[moved.who] + (f" then by no. {behind}" if behind else " then")
    if moved.cause == Cause.SOONER:
        return "it can begin sooner, and leaves room for other work"
    return "the house as a whole ends less late so"


def _dated_words(house: House, moved: Moved) -> str:
    """Return the words of what a day decides: somebody away, a part, the work before it."""
    day = day_words(moved.day) if moved.day else ""
    if moved.cause == Cause.AWAY:
        told = house.people[moved.was.technician]
        return f"{told} is not in on {day}" if moved.who else f"the workshop is closed on {day}"
    if moved.cause == Cause.PART:
        hold = house.holds.get(moved.operation)
        return hold.words if hold else f"it cannot begin before {day}"
    first = house.tasks[moved.behind[0]]
    rest = f" and its rest ({first.wait_reason})" if first.wait_hours and first.wait_reason else ""
    why = f"; {_grown(moved)}" if _grown(moved) else ""
    return f"“{_short(first.name)}”{rest} comes before it and is over on {day}{why}"


def _then(house: House, moved: Moved) -> str:
    """Return what a person does instead, and why that is."""
    other, own = house.tasks[moved.behind[0]], house.tasks[moved.operation]
    where = "on the same instrument" if other.job_id == own.job_id else f"on no. {other.job.instrument.number}"
    why = f"; {_grown(moved)}" if _grown(moved) else ""
    return f"does “{_short(other.name)}” {where} then{why}"


def _short(name: str) -> str:
    """Return a long name of a task up to its first stop."""
    return name if len(name) <= MOST_LETTERS else re.split(r"[;:,(]", name)[0].strip()


def _grown(moved: Moved) -> str:
    """Return what is new about the work in the way."""
    return "that one is new in the plan" if moved.is_new else "that one needs more hours now" if moved.grew else ""
