"""``solve``: which engine for which problem, and an honest word about the result."""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from threading import Thread
from typing import TYPE_CHECKING

from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve.near import Point
from jobs.scheduling.calc.solve.plain import best_of_rules
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.priorities import GRID, RULES, Rule
from jobs.scheduling.calc.solve.progress import Progress
from jobs.scheduling.calc.solve.warm import is_warm

if TYPE_CHECKING:
    from jobs.scheduling.calc.solve.search import Search

ROUNDS_WORK = 400_000
"""Pieces placed by the rounds after the rules when nothing else is said: about half a second for any shop."""
MOST_ROUNDS = 400
SEARCH_SHARE = 0.1
"""Share of the time the search has both cores to itself where the exact solver follows on one of them.

One worker of the exact solver proves a shop of a hundred tasks with a third of the work that two take.
"""
MARGIN_SECONDS = 0.15
MOST_PIECES = 170
"""Above about this size nothing is proved within a minute, as prototypes measured."""


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
    begun = time.monotonic()
    prepared = Prepared(problem)
    if not may_compile and not is_warm():
        plain = best_of_rules(prepared, rules)
        if plain is None:
            raise NoPlanFound
        return plain
    return _search(prepared, begun, rules, rounds, seconds, progress)


def _search(
    prepared: Prepared,
    begun: float,
    rules: Sequence[Rule],
    rounds: int | None,
    seconds: float | None,
    progress: Callable[[Progress], bool] | None,
) -> Solution:
    from jobs.scheduling.calc.solve.search import Search  # numba takes most of a second to import

    if rounds is None:
        rounds = min(MOST_ROUNDS, ROUNDS_WORK // len(prepared.piece_slots))
    search = Search(prepared.problem, prepared=prepared, report=progress, begun=begun)
    search.planned = 0 if seconds is not None else len(rules) + rounds
    search.try_rules(rules)
    search.try_present_plan()
    if seconds is not None:
        search.try_rules(GRID)
    if seconds is None:
        search.improve(rounds=rounds)
        return _kept_solution(search)
    small = provable(prepared)
    search.improve(until=seconds * SEARCH_SHARE if small else seconds)
    if small and not search.stopped_by_caller and search.kept:
        solution = _proved(search, seconds)
    else:
        solution = _kept_solution(search)
    return replace(solution, seconds=search.seconds)


def provable(prepared: Prepared) -> bool:
    """Whether the problem is small enough, and every late day costs something, so that the horizon is bounded."""
    jobs = (prepared.problem.jobs[job] for job in set(prepared.job))
    whole = all(job.due and job.weight > 0 and float(job.weight).is_integer() for job in jobs)
    return whole and len(prepared.piece_slots) <= MOST_PIECES


def _proved(search: "Search", seconds: float) -> Solution:
    """The same plan or a better one: from the exact solver on one core, or from the search that goes on on another."""
    from jobs.scheduling.calc.solve.exact import prove  # ortools takes a second to import
    from jobs.scheduling.calc.solve.search import thread_count

    beside = Thread(target=search.improve, kwargs={"until": seconds - MARGIN_SECONDS, "threads": 1})
    if thread_count() > 1:
        beside.start()
    try:
        left = seconds - search.seconds - MARGIN_SECONDS
        proof = prove(search.prepared, search.kept, left, 1, search.goes_on) if search.kept else None
    finally:
        search.stopped = True
        if thread_count() > 1:
            beside.join()
    solution = _kept_solution(search)
    if proof is None:
        return solution
    found = search.prepared.solution(proof.starts, proof.people, "proof" if proof.proved else "exact solver")
    problem = search.prepared.problem
    better = proof.proved or found.objective(problem) < solution.objective(problem)
    return replace(found, proved=proof.proved) if better else solution


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
