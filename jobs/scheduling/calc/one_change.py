"""The one change that would help a job's date most: each is tried on the same hundred futures.

Tried are a second person with a skill that is waited for, a person without leave, one more bench, spray or floor place,
the job's part that is waited for being here at once, and half of its longest task done by somebody else. A rest is
physics and is not cut. What a change gains is told in calendar days of the date that holds 8 times in 10.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from jobs.scheduling.calc.draws import Uncertainty
from jobs.scheduling.calc.futures import Futures, draw
from jobs.scheduling.calc.problem import BENCH, FLOOR, SPRAY, Technician
from jobs.scheduling.calc.solve.compiled.rows import FACT_FLOOR, FACT_PLACE
from jobs.scheduling.calc.solve.compiled.tables import people_table
from jobs.scheduling.calc.solve.replay import rows as r
from jobs.scheduling.calc.solve.replay.run import replay
from jobs.scheduling.calc.solve.replay.tables import Course, Drawn, own_slots
from jobs.scheduling.calc.solve.timeline import Timeline

TRIED_FUTURES = 100
MOST_JOBS = 10
MOST_SKILLS = 6
MOST_PEOPLE = 6
LEAST_DAYS = 1
"""A smaller gain is none."""
AT = 0.8


class Help(StrEnum):
    """What is changed."""

    PART = "part"
    """All parts of a job are here at once."""
    TASK = "task"
    """Half of an operation is done by somebody else at the same time."""
    LEAVE = "leave"
    """A technician stays in."""
    PLACE = "place"
    """One more bench, spray place or floor place."""
    SKILL = "skill"
    """A second person with a skill."""


@dataclass(frozen=True, slots=True)
class Change:
    """A change, and the calendar days by which the date at 8 in 10 comes sooner."""

    help: Help
    what: str
    days: int


@dataclass(frozen=True, slots=True)
class _Try:
    """One changed replay; ``job``: the only one it is tried for, None for all."""

    help: Help
    what: str
    course: Course
    drawn: Drawn
    job: str | None = None


def changes(
    futures: Futures,
    uncertainty: Uncertainty,
    jobs: Sequence[str],
    *,
    never: Collection[str] = (),
    number: int = TRIED_FUTURES,
    seed: int = 2,
) -> dict[str, Change | None]:
    """For each of some jobs the change that helps most; None when nothing single gains a day.

    ``jobs``: the first ten are looked at. ``never``: skills nobody else can have. Of two changes that gain the same,
    the one named first in ``Help`` is taken. Empty where the futures were not followed back.
    """
    if not futures.followed or not jobs:
        return {}
    looked_at = list(jobs[:MOST_JOBS])
    problem, course = futures.problem, futures.course
    drawn, late = draw(problem, course, uncertainty, number + number % 2, seed)
    columns = [futures.column[job] for job in looked_at]

    def days(tried: Course, slots: Drawn) -> NDArray[np.int64]:
        """Calendar days from the start to the date at 8 in 10, for each job looked at."""
        end = replay(tried, slots, late, follow=False).end[:, columns]
        numbers = tried.numbers[(np.maximum(end, 1) - 1) // tried.fact[0]]
        rank = int(np.ceil(AT * len(numbers))) - 1
        held: NDArray[np.int64] = np.sort(numbers, axis=0)[rank]
        return held

    before = days(course, drawn)
    best: dict[str, Change | None] = dict.fromkeys(looked_at)
    for one in _Tries(futures, drawn, looked_at, never):
        gained = before - days(one.course, one.drawn)
        for place, job in enumerate(looked_at):
            held = best[job]
            if one.job in (None, job) and gained[place] >= max(LEAST_DAYS, held.days + 1 if held else 0):
                best[job] = Change(one.help, one.what, int(gained[place]))
    return best


class _Tries:
    """The changes worth trying, in the order of ``Help``."""

    def __init__(self, futures: Futures, drawn: Drawn, jobs: list[str], never: Collection[str]) -> None:
        self.futures, self.drawn, self.jobs, self.never = futures, drawn, jobs, set(never)
        self.problem, self.course = futures.problem, futures.course
        self.time = Timeline(self.problem, int(self.course.numbers[-1]) + 1)
        self.number_of = {operation.id: number for number, operation in enumerate(self.problem.operations)}

    def __iter__(self) -> Iterator[_Try]:
        yield from self._parts()
        yield from self._tasks()
        yield from self._leaves()
        yield from self._places()
        yield from self._skills()

    def _held(self, row: int) -> dict[str, int]:
        """Slots that operations of the jobs looked at spent, the most first."""
        found: dict[str, int] = {}
        for job in self.jobs:
            found.update(self.futures.held(row, job))
        return dict(sorted(found.items(), key=lambda one: -one[1]))

    def _longest(self, row: int, job: str) -> str | None:
        held = self.futures.held(row, job)
        return max(held, key=lambda name: held[name]) if held else None

    def _parts(self) -> Iterator[_Try]:
        for job in self.jobs:
            if not self.futures.held(r.H_PART, job):
                continue
            op = self.course.op.copy()
            comes = (op[r.O_JOB] == self.futures.column[job]) & (op[r.O_DELIVERY] >= 0)
            op[r.O_EARLIEST, comes], op[r.O_DELIVERY, comes] = 0, r.NONE
            yield _Try(Help.PART, job, self.course._replace(op=op), self.drawn, job)

    def _tasks(self) -> Iterator[_Try]:
        for job in self.jobs:
            longest = self._longest(r.H_WORK, job)
            if longest is None:
                continue
            number = self.number_of[longest]
            drawn = self.drawn.copy()
            drawn[:, number] = np.maximum(-(-drawn[:, number] // 2), self.course.op[r.O_PIECES, number])
            yield _Try(Help.TASK, longest, self.course, drawn, job)

    def _leaves(self) -> Iterator[_Try]:
        first, last = self.problem.start, self.time.dates[-1]
        ends = max(int(self.futures.days.max(initial=0)), 1)
        away = [
            number
            for number, one in enumerate(self.problem.technicians)
            if any(end >= first and begin <= last and (begin - first).days <= ends for begin, end in one.leave)
        ]
        for number in away[:MOST_PEOPLE]:
            people = [replace(one, leave=()) if at == number else one for at, one in enumerate(self._people())]
            yield _Try(Help.LEAVE, people[number].id, self._with_people(people), self.drawn)

    def _places(self) -> Iterator[_Try]:
        wanted = {self.problem.operation_by_id[name].place for name in self._held(r.H_PLACE)}
        rows = {BENCH: FACT_PLACE, SPRAY: FACT_PLACE + 1, FLOOR: FACT_FLOOR}
        if self._held(r.H_FLOOR):
            wanted.add(FLOOR)
        for place, row in rows.items():
            if place in wanted:
                fact = self.course.fact.copy()
                fact[row] += 1
                yield _Try(Help.PLACE, place, self.course._replace(fact=fact), self.drawn)

    def _skills(self) -> Iterator[_Try]:
        waited: dict[str, int] = {}
        for name, slots in self._held(r.H_PERSON).items():
            skill = self.problem.operation_by_id[name].skill
            waited[skill] = waited.get(skill, 0) + slots
        scarce = sorted((skill for skill in waited if skill not in self.never), key=lambda skill: -waited[skill])
        second = Technician("second", (), self.problem.workdays)
        wide = self._with_people([*self._people(), second])
        for skill in scarce[:MOST_SKILLS]:
            piece = wide.piece.copy()
            able = np.array([operation.skill == skill for operation in self.problem.operations])
            piece[r.P_ALSO, able[piece[r.P_OP]]] = len(self.problem.technicians)
            yield _Try(Help.SKILL, skill, wide._replace(piece=piece), self.drawn)

    def _people(self) -> list[Technician]:
        return list(self.problem.technicians)

    def _with_people(self, people: Sequence[Technician]) -> Course:
        own = [self.time.own_days(one) for one in people]
        people_now = people_table(own, len(self.time.dates))
        can = np.zeros((len(people), self.course.can.shape[1]), dtype=np.int64)
        can[: len(self.course.can)] = self.course.can
        return self.course._replace(people=people_now, own=own_slots(people_now, self.time.day), can=can)
