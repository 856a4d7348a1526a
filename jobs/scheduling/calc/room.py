"""Room for one job more in a plan: the day it would be finished, and whose work would end later for it.

Three honest answers to "when?", each a whole plan that the checker has found sound:

* nobody moves: all other work stays at its moment, the job goes into the gaps;
* promises kept: others give way, as far as no promise is passed for it;
* first: it goes before everything that is still far off, whatever that costs.

Work that is begun, fixed or told for the next ten working days never moves, and nothing begins earlier for it. Given to
somebody with more days in the week, work that begins later may end sooner; that is not told as the job's doing.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.fit import Taken, fit
from jobs.scheduling.calc.freed import stints_of
from jobs.scheduling.calc.problem import FLOOR, Operation, Problem
from jobs.scheduling.calc.solution import Hold, Solution, Work
from jobs.scheduling.calc.solve.near import near_until

MOST_TRIES = 25
TRIES_WORK = 6000
"""How often whoever would pass a promise is left where they are before "promises kept" is given up: the fewer the more
operations the house has, so that a page can wait for it."""


@dataclass(frozen=True, slots=True)
class Moved:
    """Another job that would end on a later day. ``due``: its promise."""

    job: str
    was: datetime
    end: datetime
    due: date | None

    @property
    def days(self) -> int:
        """Calendar days it would end later."""
        return (self.end.date() - self.was.date()).days

    @property
    def passes(self) -> bool:
        """Whether it would end after its promise, and did not before."""
        return self.due is not None and self.was.date() <= self.due < self.end.date()

    @property
    def harms(self) -> bool:
        """Whether it would end after its promise, later than it would have."""
        return self.due is not None and self.end.date() > self.due


@dataclass(frozen=True)
class Room:
    """One answer: the plan with the job in it, the end of the job's work, and who ends on a later day for it."""

    solution: Solution
    end: datetime
    moved: tuple[Moved, ...] = ()


@dataclass(frozen=True)
class Rooms:
    """The three answers; one that is no day earlier than the one before it is left out."""

    nobody_moves: Room | None
    promises_kept: Room | None
    first: Room | None


def rooms(problem: Problem, solution: Solution, job: str, *, calm_only: bool = False) -> Rooms:
    """The answers for a job of the problem that the plan ``solution`` does not hold; ``solution`` holds all others.

    ``calm_only``: the other two are not looked for. Raises ValueError for a problem without ``now``.
    """
    calm = room(problem, solution, job, may_move=())
    if calm_only:
        return Rooms(calm, None, None)
    others = {operation.job for operation in problem.operations} - {job}
    first = room(problem, solution, job, may_move=others)
    kept = _promises_kept(problem, solution, job, first, others)
    kept = kept if _sooner(kept, calm) else None
    first = first if _sooner(first, kept or calm) else None
    return Rooms(calm, kept, first)


def _sooner(one: Room | None, other: Room | None) -> bool:
    return one is not None and (other is None or one.end.date() < other.end.date())


def _promises_kept(
    problem: Problem, solution: Solution, job: str, first: Room | None, others: Collection[str]
) -> Room | None:
    """As ``first``, but whoever would pass their promise stays where they are, until nobody passes one."""
    found, movable = first, set(others)
    for _ in range(max(1, min(MOST_TRIES, TRIES_WORK // len(problem.operations)))):
        harmed = {moved.job for moved in found.moved if moved.harms} if found else set()
        if not harmed:
            return found
        movable -= harmed
        found = room(problem, solution, job, may_move=movable)
    return found if found and not any(moved.harms for moved in found.moved) else None


def room(problem: Problem, solution: Solution, job: str, *, may_move: Collection[str]) -> Room | None:
    """A plan with one job more, in which only far work of some jobs may give way, and only as far as it must.

    The job takes the earliest gaps beside what stays; whoever of the others is then in the way goes to the next gap,
    beside everybody else as planned, those closest to their promise being asked last. None when there is no such plan.
    Raises ValueError for a problem without ``now``.
    """
    until = near_until(problem)
    old = solution.operations
    far = {
        operation.id
        for operation in problem.operations
        if operation.job in may_move
        and not operation.fixed
        and operation.id in old
        and old[operation.id].start >= until
    }
    stays = {key: work for key, work in old.items() if key not in far}
    taken = Taken(problem, stints_of(stays), _holds(problem, solution, stays))
    own = [operation for operation in problem.operations if operation.job == job]
    works = fit(problem, own, taken)
    if not works:
        return None
    _take(problem, taken, own, works)
    placed = {**stays, **works}
    displaced = []
    for name, operations in _by_job(problem, far, solution):
        was = {operation.id: old[operation.id] for operation in operations}
        if _fits_as_it_is(problem, taken, operations, was, stays):
            _take(problem, taken, operations, was, arrives=not _is_here(problem, name, stays))
            placed |= was
        else:
            displaced.append((name, operations, was))
    for name, operations, was in sorted(displaced, key=lambda one: min(work.start for work in one[2].values())):
        kept = {key: work for key, work in stays.items() if problem.operation_by_id[key].job == name}
        found = fit(problem, operations, taken, kept=kept, was=was)
        if not found:
            return None
        _take(problem, taken, operations, found, arrives=not _is_here(problem, name, stays))
        placed |= found
    return _checked(problem, solution, Solution(placed), job)


def _checked(problem: Problem, before: Solution, after: Solution, job: str) -> Room | None:
    if check(problem, after):
        return None
    was, ends = before.job_ends(problem), after.job_ends(problem)
    moved = [
        Moved(name, was[name], end, problem.job_by_id[name].due)
        for name, end in ends.items()
        if name != job and end.date() > was[name].date()
    ]
    return Room(after, ends[job], tuple(sorted(moved, key=lambda one: (-one.days, one.job))))


def _holds(problem: Problem, solution: Solution, stays: dict[str, Work]) -> list[Hold]:
    """The places held by what stays; an instrument that is here holds its floor place to its present end."""
    held = [hold for hold in Solution(stays).holds(problem) if hold.place != FLOOR]
    ends = solution.job_ends(problem)
    here: dict[str, datetime] = {
        job.id: datetime.combine(problem.start, time()) for job in problem.jobs if job.in_house and job.id in ends
    }
    for key, work in stays.items():
        name = problem.operation_by_id[key].job
        here[name] = min(here.get(name, work.start), work.start)
    return [*held, *(Hold(FLOOR, name, start, ends[name]) for name, start in here.items())]


def _is_here(problem: Problem, job: str, stays: dict[str, Work]) -> bool:
    return problem.job_by_id[job].in_house or any(problem.operation_by_id[key].job == job for key in stays)


def _by_job(problem: Problem, far: Collection[str], solution: Solution) -> list[tuple[str, list[Operation]]]:
    """The far work job by job, those with the fewest days in hand first, those without a promise last."""
    own: dict[str, list[Operation]] = {}
    for operation in problem.operations:
        if operation.id in far:
            own.setdefault(operation.job, []).append(operation)
    ends = solution.job_ends(problem)

    def hand(name: str) -> tuple[int, datetime, str]:
        due = problem.job_by_id[name].due
        return ((due - ends[name].date()).days if due else 10**6, ends[name], name)

    return sorted(own.items(), key=lambda one: hand(one[0]))


def _fits_as_it_is(
    problem: Problem, taken: Taken, operations: Sequence[Operation], was: dict[str, Work], stays: dict[str, Work]
) -> bool:
    if not all(taken.allows(operation, was[operation.id]) for operation in operations):
        return False
    if _is_here(problem, operations[0].job, stays):
        return True
    start, end = min(work.start for work in was.values()), max(work.end for work in was.values())
    return taken.places[FLOOR].clash(start, end, problem.places.floor) is None


def _take(
    problem: Problem, taken: Taken, operations: Iterable[Operation], works: dict[str, Work], *, arrives: bool = True
) -> None:
    for operation in operations:
        taken.take(operation, works[operation.id])
    if arrives:
        taken.places[FLOOR].add(min(work.start for work in works.values()), max(work.end for work in works.values()))
