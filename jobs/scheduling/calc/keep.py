"""Planning again without a search: what people were told is kept where it can be, the rest follows simple rules."""

import contextlib
from dataclasses import replace

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.problem import Fixed, Operation, Previous, Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve import NoPlanFound, Point, near_moved, near_operations, solve

MOST_TRIES = 25


def points_at_once(problem: Problem) -> list[Point]:
    """Two ways without a search, the calmer first: told starts kept as appointments, and the best simple rule.

    For a problem with ``now`` and ``previous``. Unchecked, like the ways of a search; a way that leads to no plan is
    left out.
    """
    near = len(near_operations(problem))
    found: list[tuple[str, Solution | None]] = [("calm", _kept(problem))]
    with contextlib.suppress(NoPlanFound):
        found.append(("earliest", solve(problem, rounds=0, may_compile=False)))
    return [Point(name, near_moved(problem, plan), near, plan) for name, plan in found if plan is not None]


def _kept(problem: Problem) -> Solution | None:
    """Hold every near start that its person, days and parts still allow; let go of those the checker then names."""
    told = {one.id: problem.previous[one.id] for one in near_operations(problem)}
    held = {key for key, old in told.items() if _possible(problem, problem.operation_by_id[key], old)}
    for _ in range(MOST_TRIES):
        appointed = tuple(
            replace(one, fixed=Fixed(told[one.id].technician, told[one.id].stints[0].start)) if one.id in held else one
            for one in problem.operations
        )
        tried = replace(problem, operations=appointed)
        try:
            solution = solve(tried, rounds=0, may_compile=False)
        except NoPlanFound:
            return None
        broken = {one.where for one in check(tried, solution)}
        if not broken:
            return solution
        lost = {key for key in held if key in broken or problem.operation_by_id[key].job in broken}
        if not lost:
            return None
        held -= lost
    return None


def _possible(problem: Problem, operation: Operation, old: Previous) -> bool:
    """Whether an operation could begin as it was told to, looked at by itself."""
    told, first = problem.technician_by_id.get(old.technician), old.stints[0].start
    if told is None or operation.fixed or operation.skill not in told.skills:
        return False
    if operation.not_before and operation.not_before > first.date():
        return False
    away = any(begins <= first.date() <= ends for begins, ends in told.leave)
    return not away and first.weekday() in told.workdays and first.date() not in problem.holidays
