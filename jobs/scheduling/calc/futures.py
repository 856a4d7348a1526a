"""Simulated futures of a plan: the day each job ends with a chance, and what decides it.

The order of the plan is kept and its hours are drawn (``draws``); ``solve.replay`` says how the order is replayed.
Every date is a calendar day of the shop; a chance is a share of the futures, 0 to 1.
"""

import math
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from jobs.scheduling.calc.draws import Uncertainty, days_late, slots_drawn
from jobs.scheduling.calc.problem import BENCH, FLOOR, SPRAY, Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve.compiled.rows import FACT_DAY, FACT_END
from jobs.scheduling.calc.solve.replay import rows as r
from jobs.scheduling.calc.solve.replay.run import replay
from jobs.scheduling.calc.solve.replay.tables import Course, Drawn, Tally, course_of
from jobs.scheduling.calc.solve.warm import is_warm

FUTURES = 2000
PLAIN_PIECES = 15_000
"""Operations placed in all futures together where nothing may be compiled: about a second."""
PLAIN_MOST = 200
DOTS = 20
"""So many equally likely ends stand for all of them."""
SPARE_DAYS = 120
MOST_DAYS = 20_000
BEYOND = 0.02
"""Share of a job's futures that may run over the end of the calendar; more, and a longer calendar is taken."""


class Cause(StrEnum):
    """What most of a job's time went on, on the way to its last end."""

    PERSON = "person"
    PLACE = "place"
    PART = "part"
    DAY = "day"
    """A day it cannot begin before that is no part's: the instrument arrives, a client answers."""
    WAIT = "wait"
    WORK = "work"


@dataclass(frozen=True, slots=True)
class Share:
    """In which share of the futures a kind of thing decides a job's end, and which one of the kind does most often.

    ``what``: a technician, a place, or an operation (for a part or a day the one that waits, for a wait the one it
    follows).
    """

    cause: Cause
    share: float
    what: str


@dataclass(frozen=True, slots=True)
class Outlook:
    """What the futures say of one job.

    ``day_50``, ``day_80``, ``day_90`` hold with that chance; ``dots`` are twenty equally likely ends in order;
    ``chance`` is that of the job's due date, None without one; ``shares`` begin with the largest and are empty where
    the futures were not followed back.
    """

    job: str
    day_50: date
    day_80: date
    day_90: date
    dots: tuple[date, ...]
    chance: float | None
    shares: tuple[Share, ...]


class Futures:
    """The ends of all jobs in all futures. ``days``: calendar days after ``start`` [future, job]."""

    def __init__(self, problem: Problem, course: Course, tally: Tally, *, followed: bool) -> None:
        self.problem, self.course, self.tally = problem, course, tally
        self.followed = followed
        with_work = {operation.job for operation in problem.operations}
        self.column = {job.id: number for number, job in enumerate(problem.jobs) if job.id in with_work}
        self.days: NDArray[np.int64] = course.numbers[(np.maximum(tally.end, 1) - 1) // course.fact[FACT_DAY]]
        self._sorted = np.sort(self.days, axis=0)

    def __len__(self) -> int:
        return len(self.days)

    @property
    def jobs(self) -> tuple[str, ...]:
        """The jobs that have work."""
        return tuple(self.column)

    def day_at(self, job: str, chance: float) -> date:
        """The first day by which a job has ended in at least that share of the futures. Raises KeyError."""
        rank = min(len(self), max(1, math.ceil(round(chance * len(self), 6))))
        return self._date(self._sorted[rank - 1, self.column[job]])

    def chance_by(self, job: str, day: date) -> float:
        """The share of the futures in which a job has ended by a day. Raises KeyError."""
        number = (day - self.problem.start).days
        return float(np.mean(self.days[:, self.column[job]] <= number))

    def outlook(self, job: str) -> Outlook:
        """What the futures say of a job. Raises KeyError for a job without work."""
        due = self.problem.job_by_id[job].due
        return Outlook(
            job=job,
            day_50=self.day_at(job, 0.5),
            day_80=self.day_at(job, 0.8),
            day_90=self.day_at(job, 0.9),
            dots=tuple(self.day_at(job, (number + 0.5) / DOTS) for number in range(DOTS)),
            chance=None if due is None else self.chance_by(job, due),
            shares=self._shares(job) if self.followed else (),
        )

    def held(self, row: int, job: str) -> dict[str, int]:
        """Slots that a job's operations spent on its way to the end, over all futures; ``row``: see ``replay.rows``."""
        return {
            operation.id: int(self.tally.held[row, number])
            for number, operation in enumerate(self.problem.operations)
            if operation.job == job and self.tally.held[row, number]
        }

    def _date(self, number: int) -> date:
        return self.problem.start + timedelta(days=int(number))

    def _shares(self, job: str) -> tuple[Share, ...]:
        counts = self.tally.decided[self.column[job]]
        people, places = counts[r.T_PERSON :], counts[[r.T_BENCH, r.T_SPRAY, r.T_FLOOR]]
        technicians = [technician.id for technician in self.problem.technicians]
        found = [
            (Cause.WORK, counts[r.T_WORK], self._most(r.H_WORK, job)),
            (Cause.WAIT, counts[r.T_WAIT], self._most(r.H_WAIT, job)),
            (Cause.PART, counts[r.T_PART], self._most(r.H_PART, job)),
            (Cause.DAY, counts[r.T_DAY], self._most(r.H_DAY, job)),
            (Cause.PLACE, places.sum(), (BENCH, SPRAY, FLOOR)[int(places.argmax())]),
            (Cause.PERSON, people.sum(), technicians[int(people.argmax())] if technicians else ""),
        ]
        shares = [Share(cause, float(count / len(self)), what) for cause, count, what in found if count]
        return tuple(sorted(shares, key=lambda one: -one.share))

    def _most(self, row: int, job: str) -> str:
        held = self.held(row, job)
        return max(held, key=lambda name: held[name]) if held else ""


def futures(
    problem: Problem,
    solution: Solution,
    uncertainty: Uncertainty,
    *,
    number: int = FUTURES,
    seed: int = 1,
    may_compile: bool = True,
) -> Futures:
    """The futures of a plan that keeps every rule; the same seed gives the same ones.

    ``number``: how many, rounded up to an even number. ``may_compile`` False: where the compiled replay is not on
    disk yet, take fewer futures in plain Python instead of waiting for the compiler; they are not followed back then.
    Raises KeyError for an operation that the plan does not hold.
    """
    compiled = may_compile or is_warm()
    number = number + number % 2 if compiled else _few(problem, number)
    last = solution.last_end()
    days = 2 * ((last.date() if last else problem.start) - problem.start).days + SPARE_DAYS
    while True:
        course = course_of(problem, solution, days, deliveries_of(problem, uncertainty))
        drawn, late = draw(problem, course, uncertainty, number, seed)
        tally = replay(course, drawn, late, compiled=compiled)
        beyond = np.mean(tally.end >= course.fact[FACT_END], axis=0).max(initial=0)
        if beyond <= BEYOND or days > MOST_DAYS:
            return Futures(problem, course, tally, followed=compiled)
        days *= 3


def _few(problem: Problem, number: int) -> int:
    """So many futures as plain Python has the time for, an even number, forty at least where that many are wanted."""
    fewer = min(PLAIN_MOST, max(40, PLAIN_PIECES // max(1, len(problem.operations))))
    return min(number + number % 2, fewer + fewer % 2)


def deliveries_of(problem: Problem, uncertainty: Uncertainty) -> dict[str, int]:
    """Operation → number of the delivery its parts come with, numbered in the order of the operations."""
    numbers: dict[str, int] = {}
    found: dict[str, int] = {}
    for operation in problem.operations:
        name = uncertainty.parts.get(operation.id)
        if name is not None:
            found[operation.id] = numbers.setdefault(name, len(numbers))
    return found


def draw(problem: Problem, course: Course, uncertainty: Uncertainty, number: int, seed: int) -> tuple[Drawn, Drawn]:
    """Slots [future, operation] and slots of delay [future, delivery] for so many futures."""
    drawn = slots_drawn(
        left=course.op[r.O_LEFT].tolist(),
        least=np.minimum(course.op[r.O_PIECES], course.op[r.O_LEFT]).tolist(),
        job_of=course.op[r.O_JOB].tolist(),
        spreads=[uncertainty.spreads.get(operation.id, 0.0) for operation in problem.operations],
        tau=uncertainty.tau,
        number=number,
        seed=seed,
    )
    deliveries = max(1, int(course.op[r.O_DELIVERY].max(initial=-1)) + 1)
    late = days_late(deliveries, uncertainty.delays, number, seed) * np.int32(course.fact[FACT_DAY])
    return drawn, late
