"""What people were told for the next days, and how much of it another plan moves."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from jobs.scheduling.calc.problem import Operation, Problem
from jobs.scheduling.calc.solution import Solution

NEAR_DAYS = 10
"""Shop working days from now within which a start counts as told to people."""


@dataclass(frozen=True, slots=True)
class Point:
    """One way to plan again: how many of the near operations move, and the plan."""

    name: str
    moved: int
    near: int
    solution: Solution


def near_until(problem: Problem) -> datetime:
    """End of the near window: the clock time of ``now``, ten shop working days later. Raises ValueError without now."""
    if problem.now is None:
        raise ValueError("A problem without now has no near window.")
    day, left = problem.now.date(), NEAR_DAYS
    while left:
        day += timedelta(days=1)
        left -= day.weekday() in problem.workdays and day not in problem.holidays
    return datetime.combine(day, problem.now.time())


def near_operations(problem: Problem) -> list[Operation]:
    """Operations told to begin within the near window and not begun."""
    if problem.now is None:
        return []
    until, now = near_until(problem), problem.now
    found = []
    for operation in problem.operations:
        old = problem.previous.get(operation.id)
        if old is not None and old.stints and now <= old.stints[0].start < until:
            found.append(operation)
    return found


def near_moved(problem: Problem, solution: Solution) -> int:
    """How many of them have another start or technician in a plan."""
    moved = 0
    for operation in near_operations(problem):
        work, old = solution.operations[operation.id], problem.previous[operation.id]
        moved += (work.technician, work.start) != (old.technician, old.stints[0].start)
    return moved
