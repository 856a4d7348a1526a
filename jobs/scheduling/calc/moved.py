"""What another plan changes for people who were told what to do in the next ten working days, and why."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from jobs.scheduling.calc.problem import BENCH, FLOOR, SPRAY, Operation, Previous, Problem
from jobs.scheduling.calc.solution import Solution, Work
from jobs.scheduling.calc.solve.near import near_operations, near_until


class Cause(StrEnum):
    """Why a task moves."""

    SKILL = "skill"
    """Who was told to do it cannot do it any more, or somebody else has it in hand."""
    AWAY = "away"
    PART = "part"
    BEFORE = "before"
    """What comes before it ends later."""
    GROWN = "grown"
    MADE_WAY = "made way"
    """Whoever was told to do it does other work then."""
    PLACE = "place"
    SOONER = "sooner"
    WHOLE = "whole"
    """None of these: the plan as a whole is better so."""


@dataclass(frozen=True, slots=True)
class Moved:
    """An operation with another technician or start. ``who``: technician or place; ``behind``: work in the way.

    ``grew``: the work in the way has more hours than before; ``is_new``: the plan before did not know it.
    """

    operation: str
    was: Previous
    now: Work
    cause: Cause
    who: str = ""
    behind: tuple[str, ...] = ()
    day: date | None = None
    grew: bool = False
    is_new: bool = False


def moved_operations(problem: Problem, solution: Solution) -> list[Moved]:
    """The near operations whose technician or start a plan changes, in the order in which they were to begin.

    For a problem with ``now`` and ``previous``. Of several causes the one nearest to the task is named.
    """
    look = _Look(problem, solution)
    found = []
    for operation in near_operations(problem):
        was, now = problem.previous[operation.id], solution.operations[operation.id]
        if (now.technician, now.start) != (was.technician, was.stints[0].start):
            found.append(look.moved(operation, was, now))
    return sorted(found, key=lambda one: (one.was.stints[0].start, one.operation))


def moved_later(problem: Problem, solution: Solution) -> int:
    """How many operations told to begin after the ten days have another technician or start."""
    if problem.now is None:
        return 0
    until = near_until(problem)
    return sum(
        (solution.operations[key].technician, solution.operations[key].start) != (old.technician, old.stints[0].start)
        for key, old in problem.previous.items()
        if key in solution.operations and old.stints and old.stints[0].start >= until
    )


def hours_of(previous: Previous) -> float:
    """Hours an operation had in the plan before."""
    return sum((stint.end - stint.start for stint in previous.stints), timedelta()) / timedelta(hours=1)


class _Look:
    """A plan looked at from the moments the plan before had in mind."""

    def __init__(self, problem: Problem, solution: Solution) -> None:
        self.problem, self.works = problem, solution.operations
        self.holds = solution.holds(problem)
        self.busy: dict[str, list[tuple[datetime, datetime, str]]] = defaultdict(list)
        for key, work in self.works.items():
            self.busy[work.technician] += [(stint.start, stint.end, key) for stint in work.stints]

    def moved(self, operation: Operation, was: Previous, now: Work) -> Moved:
        for cause in (self._unable, self._away, self._held, self._before, self._grown, self._made_way, self._full):
            found = cause(operation, was, now)
            if found is not None:
                return found
        cause_left = Cause.SOONER if now.start < was.stints[0].start else Cause.WHOLE
        return Moved(operation.id, was, now, cause_left)

    def _unable(self, operation: Operation, was: Previous, now: Work) -> Moved | None:
        told = self.problem.technician_by_id.get(was.technician)
        if told is not None and operation.skill in told.skills:
            return None
        return Moved(operation.id, was, now, Cause.SKILL, now.technician)

    def _away(self, operation: Operation, was: Previous, now: Work) -> Moved | None:
        """Not in, or the shop is closed, on a day it was to be worked on."""
        told = self.problem.technician_by_id[was.technician]
        for stint in was.stints:
            day = stint.start.date()
            if day in self.problem.holidays or day.weekday() not in self.problem.workdays:
                return Moved(operation.id, was, now, Cause.AWAY, "", day=day)
            off = any(first <= day <= last for first, last in told.leave)
            if off or day.weekday() not in told.workdays:
                return Moved(operation.id, was, now, Cause.AWAY, told.id, day=day)
        return None

    def _held(self, operation: Operation, was: Previous, now: Work) -> Moved | None:
        day = operation.not_before
        if day is None or day <= was.stints[0].start.date():
            return None
        return Moved(operation.id, was, now, Cause.PART, day=day)

    def _before(self, operation: Operation, was: Previous, now: Work) -> Moved | None:
        last = None
        for key in operation.after:
            if key in self.works:
                free = self.works[key].end + timedelta(hours=self.problem.operation_by_id[key].wait_hours)
                if free > was.stints[0].start and (last is None or free > last[0]):
                    last = free, key
        if last is None:
            return None
        return self._behind(Moved(operation.id, was, now, Cause.BEFORE, behind=(last[1],), day=last[0].date()))

    def _grown(self, operation: Operation, was: Previous, now: Work) -> Moved | None:
        return Moved(operation.id, was, now, Cause.GROWN) if self._grew(operation.id) else None

    def _made_way(self, operation: Operation, was: Previous, now: Work) -> Moved | None:
        """What the technician who was told to begin it then does at that time, or before it would have been over."""
        first, last = was.stints[0].start, was.stints[-1].end
        there = sorted(
            (start, key) for start, end, key in self.busy[was.technician]
            if key != operation.id and start < last and end > first
        )  # fmt: skip
        if not there:
            return None
        return self._behind(Moved(operation.id, was, now, Cause.MADE_WAY, was.technician, (there[0][1],)))

    def _full(self, operation: Operation, was: Previous, now: Work) -> Moved | None:
        moment = was.stints[0].start
        there: dict[str, list[str]] = defaultdict(list)
        for hold in self.holds:
            if hold.start <= moment < hold.end and hold.holder not in (operation.id, operation.job):
                there[hold.place].append(hold.holder)
        for place in (operation.place, FLOOR):
            needed = place in (BENCH, SPRAY) or (place == FLOOR and not self.problem.job_by_id[operation.job].in_house)
            if place and needed and len(there[place]) >= self.problem.places.of(place):
                return Moved(operation.id, was, now, Cause.PLACE, place, tuple(there[place]))
        return None

    def _behind(self, moved: Moved) -> Moved:
        """Say of the work in the way whether it grew or is new."""
        key = moved.behind[0]
        is_new = key not in self.problem.previous
        return Moved(
            moved.operation, moved.was, moved.now, moved.cause, moved.who, moved.behind, moved.day,
            grew=not is_new and self._grew(key), is_new=is_new,
        )  # fmt: skip

    def _grew(self, key: str) -> bool:
        old = self.problem.previous.get(key)
        return old is not None and self.problem.operation_by_id[key].hours > hours_of(old) + 1e-6
