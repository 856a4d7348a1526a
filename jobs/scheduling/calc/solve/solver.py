"""``solve``: which engine for which problem, and an honest word about the result."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve.plain import best_of_rules
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.priorities import RULES, Rule
from jobs.scheduling.calc.solve.progress import Progress
from jobs.scheduling.calc.solve.warm import is_warm

ROUNDS_WORK = 400_000
"""Pieces placed by the rounds after the rules when nothing else is said: about half a second for any shop."""
MOST_ROUNDS = 400


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
    from jobs.scheduling.calc.solve.search import Search  # numba takes most of a second to import

    if rounds is None:
        rounds = min(MOST_ROUNDS, ROUNDS_WORK // len(prepared.piece_slots))
    search = Search(problem, prepared=prepared, report=progress)
    search.planned = 0 if seconds is not None else len(rules) + rounds
    search.try_rules(rules)
    search.try_present_plan()
    if seconds is None:
        search.improve(rounds=rounds)
    else:
        search.improve(until=seconds)
    kept = search.kept
    if kept is None:
        raise NoPlanFound
    solution = prepared.solution(kept.starts.tolist(), kept.people.tolist(), kept.name)
    return replace(solution, seconds=search.seconds if seconds is not None else 0.0)
