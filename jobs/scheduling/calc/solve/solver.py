"""``solve``: which engine for which problem, and an honest word about the result."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve.near import Point
from jobs.scheduling.calc.solve.plain import best_of_rules
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.priorities import RULES, Rule
from jobs.scheduling.calc.solve.progress import Progress
from jobs.scheduling.calc.solve.warm import is_warm

if TYPE_CHECKING:
    from jobs.scheduling.calc.solve.search import Search

ROUNDS_WORK = 400_000
"""Pieces placed by the rounds after the rules when nothing else is said: about half a second for any shop."""
MOST_ROUNDS = 400
SEARCH_SHARE = 0.3
"""Share of the time the search has where the exact solver follows."""
MARGIN_SECONDS = 0.15


class NoPlanFound(RuntimeError):
    """No rule led to a complete plan."""

    def __init__(self) -> None:
        super().__init__(
            "No order of work was found that keeps every rule. An appointment or a full house may be in the way: "
            "move the appointment, add a place, or let an instrument go."
        )


def solve(
    problem: Problem,
    *,
    rules: Sequence[Rule] = RULES,
    rounds: int | None = None,
    seconds: float | None = None,
    progress: Callable[[Progress], bool] | None = None,
    may_compile: bool = True,
) -> Solution:
    """The best plan found for a validated problem; never worse than the best of ``rules``.

    ``seconds``: the whole time it may take; then several threads search, and a small problem is also given to the
    exact solver. Without it, ``rounds`` schedules are built after the rules (by default as many as take about half a
    second), no clock is looked at, and the same problem gives the same plan. ``progress`` is called now and then and
    may return False to stop with the best so far. ``may_compile`` False: if the compiled scheduler is not on disk yet,
    take the best rule in plain Python instead of waiting for the compiler. Raises NoPlanFound.
    """
    if not problem.operations:
        return Solution({}, made_by=rules[0].name)
    prepared = Prepared(problem)
    if not may_compile and not is_warm():
        plain = best_of_rules(prepared, rules)
        if plain is None:
            raise NoPlanFound
        return plain
    return _search(problem, prepared, rules, rounds, seconds, progress)


def _search(
    problem: Problem,
    prepared: Prepared,
    rules: Sequence[Rule],
    rounds: int | None,
    seconds: float | None,
    progress: Callable[[Progress], bool] | None,
) -> Solution:
    from jobs.scheduling.calc.solve.exact import provable, prove  # numba and ortools take most of a second to import
    from jobs.scheduling.calc.solve.search import Search, thread_count

    if rounds is None:
        rounds = min(MOST_ROUNDS, ROUNDS_WORK // len(prepared.piece_slots))
    search = Search(problem, prepared=prepared, report=progress)
    search.planned = 0 if seconds is not None else len(rules) + rounds
    search.try_rules(rules)
    search.try_present_plan()
    if seconds is None:
        search.improve(rounds=rounds)
        return _kept_solution(search)
    small = provable(prepared)
    search.improve(until=seconds * SEARCH_SHARE if small else seconds)
    solution = _kept_solution(search)
    if small and search.kept and not search.stopped_by_caller:
        proof = prove(prepared, search.kept, seconds - search.seconds - MARGIN_SECONDS, thread_count())
        if proof:
            found = prepared.solution(proof.starts, proof.people, "proof" if proof.proved else "exact solver")
            if proof.proved or found.objective(problem) < solution.objective(problem):
                solution = replace(found, proved=proof.proved)
    return replace(solution, seconds=search.seconds)


def _kept_solution(search: "Search") -> Solution:
    """The best of a search as a plan. Raises NoPlanFound."""
    kept = search.kept
    if kept is None:
        raise NoPlanFound
    return search.prepared.solution(kept.starts.tolist(), kept.people.tolist(), kept.name)


def plan_again_points(
    problem: Problem,
    *,
    seconds: float,
    free: bool = False,
    progress: Callable[[Progress], bool] | None = None,
) -> list[Point]:
    """See ``replan.replan``; imported only when it is needed. No points when there is no work."""
    if not problem.operations:
        return []
    from jobs.scheduling.calc.solve.replan import replan

    return replan(problem, seconds=seconds, free=free, progress=progress)
