"""Everything on the page of the weeks ahead."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils import timezone
from django.utils.safestring import SafeString

from jobs.scheduling.calc.freed import brought_in_earlier
from jobs.scheduling.calc.load import Load, SkillWeek, first_open, holds_standing, load_of, places_by_week
from jobs.scheduling.calc.problem import BENCH, FLOOR, SPRAY, Problem
from jobs.scheduling.calc.solution import Hold
from jobs.scheduling.house import House, house_problem, skill_key
from jobs.scheduling.models import Plan
from jobs.scheduling.queries import current_plan
from jobs.scheduling.weeks.draw import draw_skill
from jobs.scheduling.weeks.rows import InForce, days_to_collect, in_force, with_all_places
from jobs.worklist.models import Job
from workshop.calendar.words import count_words, day_words
from workshop.people.models import Person, Skill
from workshop.web.errors import Refused

WEEKS = 14


@dataclass(frozen=True)
class FullWeek:
    """A skill in a week that is over nine tenths full, and who carries it: person, hours."""

    skill: str
    week: SkillWeek
    carriers: tuple[tuple[Person, float], ...]


@dataclass(frozen=True)
class SkillRow:
    """One skill over the weeks, drawn and in figures. ``people``: who can do it."""

    name: str
    people: tuple[Person, ...]
    weeks: tuple[SkillWeek, ...]
    wide: SafeString
    narrow: SafeString

    @property
    def tight(self) -> int:
        """Return in how many weeks it is over nine tenths full."""
        return sum(week.is_tight for week in self.weeks)


@dataclass(frozen=True)
class HouseWeek:
    """One week of the whole house: hours of people, each counted once, and the most places held at once."""

    monday: dt.date
    planned: float
    there: float
    tight: tuple[str, ...]
    floor: int
    bench: int
    spray: int


@dataclass(frozen=True)
class Standing:
    """An instrument in the house: since when, when its work ends by the plan, and how long it has waited finished."""

    job: Job
    ends: dt.date | None
    waits: int | None
    """Days since its work was finished; None while there is work to do."""

    @property
    def days(self) -> int:
        """Return the days it has stood here; 0 on the day it came."""
        return (timezone.localdate() - self.job.booked_in_on).days if self.job.booked_in_on else 0


@dataclass(frozen=True)
class ComesEarlier:
    """An instrument that could come in, and would be finished, on other days if places came free."""

    job: Job
    comes: dt.date
    could_come: dt.date
    ends: dt.date
    could_end: dt.date


@dataclass(frozen=True)
class WeeksPage:
    """Everything on the page of the weeks ahead."""

    plan: Plan | None
    now: dt.datetime
    sentence: str
    lede: str
    full: tuple[FullWeek, ...]
    skills: tuple[SkillRow, ...]
    people: tuple[tuple[Person, tuple[tuple[float, float, bool], ...]], ...]
    weeks: tuple[HouseWeek, ...]
    totals: Mapping[str, int]
    standing: tuple[Standing, ...]
    finished: tuple[Standing, ...]
    earlier: tuple[ComesEarlier, ...]
    one_more: tuple[ComesEarlier, ...]
    collected_in: int | None
    overdue: float
    trouble: str = ""

    @property
    def mondays(self) -> list[dt.date]:
        """Return the Mondays of the weeks shown."""
        return [week.monday for week in self.weeks]


def weeks_page(
    at: dt.datetime, *, logged: Mapping[int, int] | None = None, working: Mapping[int, int] | None = None
) -> WeeksPage:
    """Return the page of the weeks ahead as things stand. The number of questions does not grow with the house.

    ``logged`` and ``working`` are handed in as to ``house_problem``. Raises Refused when the shop's own week cannot be
    planned in.
    """
    try:
        house = house_problem(at=at, logged=logged, working=working)
    except ValueError as error:
        raise Refused(f"The weeks cannot be counted: {error}") from error
    plan = current_plan()
    problem = with_all_places(house.problem)
    now = first_open(problem, problem.now or timezone.localtime(at).replace(tzinfo=None))
    said = in_force(plan, house, now)
    skills = {skill_key(skill.code): skill for skill in Skill.objects.all()}
    load = load_of(problem, said.stints, skills=list(skills), since=now, weeks=WEEKS)
    holds = holds_standing(problem, said.solution, now=now)
    rows = _skill_rows(load, skills, house)
    full = tuple(
        FullWeek(str(skills[week.skill]), week, tuple((house.people[who], hours) for who, hours in week.carriers))
        for week in load.tight
    )
    weeks = _house_weeks(load, holds, now, full)
    totals = {place: problem.places.of(place) for place in (FLOOR, BENCH, SPRAY)}
    standing = _standing(house, said, at)
    finished = tuple(one for one in standing if one.waits is not None)
    return WeeksPage(
        plan=plan,
        now=now,
        sentence=_sentence(full, plan),
        lede=_lede(weeks, totals, finished),
        full=full,
        skills=rows,
        people=tuple(
            (house.people[who], tuple((week.planned, week.there, week.is_tight) for week in own))
            for who, own in load.people.items()
        ),
        weeks=weeks,
        totals=totals,
        standing=standing,
        finished=finished,
        earlier=_earlier(house, problem, said, holds, leaving=[one.job for one in finished]),
        one_more=() if finished else _earlier(house, problem, said, holds, more=1),
        collected_in=days_to_collect(),
        overdue=said.overdue,
    )


def _skill_rows(load: Load, skills: Mapping[str, Skill], house: House) -> tuple[SkillRow, ...]:
    """Return the skills somebody has or is planned for, those with the most full weeks first."""
    scale = max(
        (max(week.could, week.planned + week.elsewhere) for own in load.skills.values() for week in own), default=0
    )
    rows = []
    for number, (key, weeks) in enumerate(load.skills.items()):
        if not any(week.could or week.planned for week in weeks):
            continue
        able = tuple(house.people[one.id] for one in house.problem.technicians if key in one.skills)
        name = str(skills[key])
        drawn = [draw_skill(name, weeks, scale, form, f"skill-{number}") for form in ("wide", "narrow")]
        rows.append(SkillRow(name, able, weeks, *drawn))
    return tuple(sorted(rows, key=lambda row: -row.tight))


def _house_weeks(
    load: Load, holds: Sequence[Hold], now: dt.datetime, full: Sequence[FullWeek]
) -> tuple[HouseWeek, ...]:
    used = {place: places_by_week(holds, place, load.mondays, now) for place in (FLOOR, BENCH, SPRAY)}
    return tuple(
        HouseWeek(
            monday,
            *load.house(number),
            tuple(one.skill for one in full if one.week.monday == monday),
            used[FLOOR][number],
            used[BENCH][number],
            used[SPRAY][number],
        )
        for number, monday in enumerate(load.mondays)
    )


def _standing(house: House, said: InForce, at: dt.datetime) -> tuple[Standing, ...]:
    """Return the instruments in the house: finished ones first, the longest first; then by the end of their work."""
    with_work = {task.job_id for task in house.tasks.values()}
    ends = said.solution.job_ends(house.problem)
    today = timezone.localdate(at)
    found = []
    for key, job in house.jobs.items():
        if job.booked_in_on is None:
            continue
        waits = None
        if job.state == Job.State.READY or job.pk not in with_work:
            waits = (today - job.finished_on).days if job.finished_on else 0
        end = ends.get(key)
        found.append(Standing(job, end.date() if end and waits is None else None, waits))
    return tuple(
        sorted(found, key=lambda one: (one.waits is None, -(one.waits or 0), one.ends or dt.date.max, one.job.pk))
    )


def _earlier(
    house: House,
    problem: Problem,
    said: InForce,
    holds: Sequence[Hold],
    *,
    leaving: Sequence[Job] = (),
    more: int = 0,
) -> tuple[ComesEarlier, ...]:
    if not leaving and not more:
        return ()
    keys = [key for key, job in house.jobs.items() if job in leaving]
    found = brought_in_earlier(problem, said.solution, holds, leaving=keys, more=more)
    return tuple(
        ComesEarlier(
            house.jobs[one.job], one.comes.date(), one.could_come.date(), one.ends.date(), one.could_end.date()
        )
        for one in found
        if one.could_come.date() < one.comes.date()
    )


def _sentence(full: Sequence[FullWeek], plan: Plan | None) -> str:
    """Return how full the weeks are, the nearest full one first."""
    if plan is None:
        return "There is no plan yet, so nothing fills the weeks ahead."
    if not full:
        return f"In none of the {WEEKS} weeks ahead is anybody’s skill over nine tenths full."
    mondays = list(dict.fromkeys(one.week.monday for one in full))
    first = full[0]
    number = count_words(len(mondays))
    verb = "is" if len(mondays) == 1 else "are"
    week = day_words(first.week.monday).split(" ", 1)[1]
    return (
        f"{number[0].upper()}{number[1:]} of the {WEEKS} weeks ahead {verb} over nine tenths full in some skill, "
        f"the week of {week} first: {first.skill.lower()}."
    )


def _lede(weeks: Sequence[HouseWeek], totals: Mapping[str, int], finished: Sequence[Standing]) -> str:
    """Return how full the floor gets, and what stands there finished."""
    most = max(weeks, key=lambda week: week.floor)
    words = (
        f"The floor is fullest in the week of {day_words(most.monday).split(' ', 1)[1]}: "
        f"{most.floor} of {totals[FLOOR]} places."
    )
    if finished:
        number = count_words(len(finished))
        words += f" {number[0].upper()}{number[1:]} finished instrument{'' if len(finished) == 1 else 's'} "
        words += (
            f"stand{'s' if len(finished) == 1 else ''} there and wait{'s' if len(finished) == 1 else ''} for the owner."
        )
    return words
