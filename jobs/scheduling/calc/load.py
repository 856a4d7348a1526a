"""How full the coming weeks are: hours of people against hours planned, and places held at once.

Pure arithmetic on a problem and the stints of a plan. Moments are local and naive, hours are hours of work, a week
begins on its Monday. The first week counts from ``since`` on: what is over cannot be filled any more.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cached_property

from jobs.scheduling.calc.problem import FLOOR, Problem, Technician, minutes_of
from jobs.scheduling.calc.solution import Hold, Solution
from jobs.scheduling.calc.steps import NEVER

WEEK = timedelta(days=7)
TIGHT = 0.9
"""Above this share of their hours people have no room for a surprise; the shop's own judgement."""


@dataclass(frozen=True, slots=True)
class Planned:
    """One stint as the plan has it: who, with which skill, on which job, from when to when within one day."""

    technician: str
    skill: str
    job: str
    start: datetime
    end: datetime


@dataclass(frozen=True)
class SkillWeek:
    """One skill in one week. ``could``: hours of all who could do it; ``planned``: hours planned in it;
    ``elsewhere``: hours the same people are planned for in their other skills.

    A person with several skills is shared as the plan shares them: what they do in one skill is taken off in the
    others. What is left of them stands under each of their skills and can be spent once.
    """

    skill: str
    monday: date
    could: float
    planned: float
    elsewhere: float
    carriers: tuple[tuple[str, float], ...] = ()
    """Who does the planned hours, most first: technician, hours in this skill."""

    @property
    def left(self) -> float:
        """Hours nobody has planned for; below nought when more is planned than the people are there."""
        return self.could - self.planned - self.elsewhere

    @property
    def full(self) -> float | None:
        """Share of their hours that is planned, 1 for all of them; None when nobody is there."""
        return (self.planned + self.elsewhere) / self.could if self.could else None

    @property
    def is_tight(self) -> bool:
        """Whether work is planned in it and its people are more than nine tenths full."""
        return self.planned > 0 and (self.full is None or self.full > TIGHT + 1e-9)


@dataclass(frozen=True)
class PersonWeek:
    """One person in one week: hours they are there and hours they are planned for, each counted once."""

    technician: str
    monday: date
    there: float
    planned: float

    @property
    def is_tight(self) -> bool:
        """Whether more than nine tenths of their hours are planned."""
        return self.planned > TIGHT * self.there + 1e-9


@dataclass(frozen=True)
class Load:
    """People and skills of the coming weeks, week by week in order."""

    mondays: tuple[date, ...]
    skills: Mapping[str, tuple[SkillWeek, ...]]
    people: Mapping[str, tuple[PersonWeek, ...]]

    @cached_property
    def tight(self) -> tuple[SkillWeek, ...]:
        """The weeks of a skill that are over nine tenths full, by week, the fullest first."""
        found = [week for weeks in self.skills.values() for week in weeks if week.is_tight]
        return tuple(sorted(found, key=lambda week: (week.monday, -(week.full or NEVER.year), week.skill)))

    def house(self, number: int) -> tuple[float, float]:
        """Hours planned and hours there of all people in a week, everybody counted once."""
        weeks = [own[number] for own in self.people.values()]
        return sum(week.planned for week in weeks), sum(week.there for week in weeks)


def mondays_from(day: date, weeks: int) -> tuple[date, ...]:
    """The Mondays of so many weeks, the week of ``day`` first."""
    monday = day - timedelta(days=day.weekday())
    return tuple(monday + WEEK * number for number in range(weeks))


def first_open(problem: Problem, moment: datetime) -> datetime:
    """The moment itself on a day the shop works, else the beginning of the next day it does, within a year."""
    for number in range(366):
        day = moment.date() + timedelta(days=number)
        if day.weekday() in problem.workdays and day not in problem.holidays:
            return moment if not number else datetime.combine(day, time())
    return moment


def hours_there(problem: Problem, technician: Technician, monday: date, since: datetime) -> float:
    """Hours a person is in the shop in a week from ``since`` on: shop days, own days, holidays, leave; no lunch gap."""
    hours = 0.0
    for number in range(7):
        day = monday + timedelta(days=number)
        if day < since.date() or day in problem.holidays:
            continue
        if day.weekday() not in problem.workdays or day.weekday() not in technician.workdays:
            continue
        if any(first <= day <= last for first, last in technician.leave):
            continue
        opens = minutes_of(problem.opens)
        if day == since.date():
            opens = min(max(opens, minutes_of(since.time())), minutes_of(problem.closes))
        hours += (minutes_of(problem.closes) - opens) / 60
    return hours


def load_of(problem: Problem, stints: Iterable[Planned], *, skills: Sequence[str], since: datetime, weeks: int) -> Load:
    """The load of some weeks from the one of ``since`` on, for each of ``skills`` and for each person.

    Who has planned work in a skill they are not down for carries it in that week all the same. Stints of people
    who are no technicians of the problem are left out.
    """
    mondays = mondays_from(since.date(), weeks)
    there = {
        technician.id: [hours_there(problem, technician, monday, since) for monday in mondays]
        for technician in problem.technicians
    }
    hours: dict[tuple[str, int], dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for stint in stints:
        number = (stint.start.date() - mondays[0]).days // 7
        length = (stint.end - max(stint.start, since)) / timedelta(hours=1)
        if stint.technician in there and 0 <= number < weeks and length > 0:
            hours[stint.technician, number][stint.skill] += length
    by_skill = {
        skill: tuple(_skill_week(problem, skill, monday, number, there, hours) for number, monday in enumerate(mondays))
        for skill in skills
    }
    by_person = {
        who: tuple(
            PersonWeek(who, monday, own[number], sum(hours[who, number].values()))
            for number, monday in enumerate(mondays)
        )
        for who, own in there.items()
    }
    return Load(mondays, by_skill, by_person)


def _skill_week(
    problem: Problem,
    skill: str,
    monday: date,
    number: int,
    there: Mapping[str, Sequence[float]],
    hours: Mapping[tuple[str, int], Mapping[str, float]],
) -> SkillWeek:
    could = planned = elsewhere = 0.0
    carriers = []
    for technician in problem.technicians:
        own = hours.get((technician.id, number), {})
        in_it = own.get(skill, 0.0)
        if in_it:
            carriers.append((technician.id, in_it))
        if in_it or skill in technician.skills:
            could += there[technician.id][number]
            planned += in_it
            elsewhere += sum(own.values()) - in_it
    carriers.sort(key=lambda carrier: (-carrier[1], carrier[0]))
    return SkillWeek(skill, monday, could, planned, elsewhere, tuple(carriers))


def holds_standing(problem: Problem, solution: Solution, *, now: datetime) -> tuple[Hold, ...]:
    """Every place held from ``now`` on, as a plan has it and as instruments stand in the house.

    What is in the house holds its floor place from the plan's start to the end of its work, and without an end that is
    still to come (finished and not collected, or in no plan) for as long as anybody can see: to ``NEVER``.
    """
    held = [
        hold for hold in solution.holds(problem) if hold.place != FLOOR or not problem.job_by_id[hold.holder].in_house
    ]
    ends = solution.job_ends(problem)
    start = datetime.combine(problem.start, time())
    for job in problem.jobs:
        if job.in_house:
            end = ends.get(job.id)
            held.append(Hold(FLOOR, job.id, start, end if end is not None and end > now else NEVER))
    return tuple(
        sorted((hold for hold in held if hold.end > now), key=lambda hold: (hold.start, hold.end, hold.holder))
    )


def most_at_once(holds: Iterable[Hold], place: str, first: datetime, until: datetime) -> int:
    """The most places of a kind held at one moment from ``first`` up to ``until``; holds are half open."""
    changes: list[tuple[datetime, int]] = []
    for hold in holds:
        if hold.place == place and hold.start < until and hold.end > first and hold.start < hold.end:
            changes += [(max(hold.start, first), 1), (hold.end, -1)]
    level = most = 0
    for _, step in sorted(changes):
        level += step
        most = max(most, level)
    return most


def places_by_week(holds: Sequence[Hold], place: str, mondays: Sequence[date], since: datetime) -> tuple[int, ...]:
    """The most places of a kind held at once in each week, in the first from ``since`` on."""
    spans = [
        (max(since, datetime.combine(monday, time())), datetime.combine(monday + WEEK, time())) for monday in mondays
    ]
    return tuple(most_at_once(holds, place, first, until) for first, until in spans)
