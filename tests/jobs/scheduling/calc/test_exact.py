"""The exact solver against trying every order, and against the checker."""

from dataclasses import replace
from datetime import timedelta
from itertools import permutations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import Job
from jobs.scheduling.calc.solve import RULES
from jobs.scheduling.calc.solve.exact import prove
from jobs.scheduling.calc.solve.search import Search
from jobs.scheduling.calc.solve.solver import provable
from tests.jobs.scheduling.calc.shops import MONDAY, operation, shop, shops, technician

FEW = settings(max_examples=6, deadline=None)
EVERY_DAY = tuple(range(7))


def best_order(days, weights, dues):
    """Weighted days late of the best order of whole days' work for one person who never rests: all orders tried."""
    best = None
    for order in permutations(range(len(days))):
        day, late = 0, 0
        for task in order:
            day += days[task]
            late += weights[task] * max(0, day - 1 - dues[task])
        best = late if best is None else min(best, late)
    return best


@FEW
@given(st.lists(st.tuples(st.integers(1, 3), st.integers(1, 4), st.integers(0, 6)), min_size=2, max_size=5))
def test_the_proved_plan_is_the_best_of_all_orders(rows):
    days, weights, dues = zip(*rows, strict=True)
    problem = shop(
        [operation(f"j{number}.a", 8 * length) for number, length in enumerate(days)],
        technicians=[technician("bram", workdays=EVERY_DAY)],
        workdays=EVERY_DAY,
        jobs=[Job(f"j{n}", weights[n], MONDAY + timedelta(days=dues[n])) for n in range(len(days))],
    )
    solution = plan(problem, seconds=1.5)
    assert solution.proved
    assert solution.word.startswith("proved optimal")
    assert solution.weighted_days_late(problem) == best_order(days, weights, dues)


def all_due(problem):
    """The same shop with a tight due date for every job."""
    jobs = [replace(job, due=MONDAY + timedelta(days=2 + number)) for number, job in enumerate(problem.jobs)]
    return replace(problem, jobs=tuple(jobs))


@FEW
@given(shops())
def test_a_proof_keeps_every_rule_and_is_never_worse_than_the_search(problem):
    problem = all_due(problem)
    search = Search(problem)
    search.try_rules(RULES)
    search.improve(rounds=30)
    assume(search.kept and provable(search.prepared))
    kept = search.kept
    before = search.prepared.solution(kept.starts.tolist(), kept.people.tolist(), "")
    proof = prove(search.prepared, kept, 2, 2)
    assume(proof)  # None: the time was up before anything was shown
    found = search.prepared.solution(proof.starts, proof.people, "")
    assert check(problem, found) == []
    assert found.objective(problem)[0] <= before.objective(problem)[0]


def test_the_plan_of_the_search_satisfies_the_exact_model():
    """Its whole start and people, handed over as the only plan allowed, are feasible: both read the rules alike."""
    tasks = [
        operation("j1.glue", 12, place="bench", wait_hours=60), operation("j1.next", 3, after=("j1.glue",)),
        operation("j2.tune", 5, "string", sessions=3, wait_hours=24), operation("j2.end", 9, after=("j2.tune",)),
    ]  # fmt: skip
    jobs = [Job("j1", 2, MONDAY), Job("j2", 1, MONDAY)]
    away = ((MONDAY + timedelta(days=3), MONDAY + timedelta(days=4)),)
    problem = shop(
        tasks, jobs=jobs, technicians=[technician("bram", leave=away), technician("corin", workdays=(0, 2, 4))]
    )
    search = Search(problem)
    search.try_rules(RULES)
    proof = prove(search.prepared, search.kept, 5, 2)
    assert proof
    assert proof.proved


@pytest.mark.parametrize("change", [{"due": None}, {"weight": 0}, {"weight": 1.5}])
def test_where_lateness_has_no_bound_nothing_is_claimed(change):
    job = replace(Job("j1", 1, MONDAY), **change)
    problem = shop([operation("j1.a", 20)], jobs=[job])
    assert not plan(problem, seconds=0.4).proved
