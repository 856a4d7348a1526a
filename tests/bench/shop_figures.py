"""How the planner does on a folder of shop problems, as ratios within this run. Run by hand, not by pytest.

    python tests/bench/shop_figures.py FOLDER [--seconds 5] [--exact-seconds 20] [--only NAME,NAME]

For each problem file: the two simple rules, the search, plain CP-SAT from nothing where it can solve the problem, the
fewest moves and the calm way where a plan is in force. Then the time to a first complete plan and to a first answer
around a plan in force, once warm, and how the cost of one schedule grows from the smallest to the biggest shop.
``tests/bench/standard.py`` prints the rows of the standard sets. Nothing of the folder is copied.
"""

import argparse
import time
from pathlib import Path

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.plan import plan, plan_again
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.problem_file import UnreadableFile, problem_read
from jobs.scheduling.calc.solve import EARLIEST_DUE_DATE, LEAST_SLACK, RULES, Progress, near_operations, solve, warm_up
from jobs.scheduling.calc.solve.exact import ExactModel
from jobs.scheduling.calc.solve.search import Search, thread_count

EXACT_PIECES = 800
"""Above about this size the one big model is not built: it needs gigabytes and finds nothing."""


def plain_late(problem: Problem, seconds: float) -> str:
    """Weighted days late of CP-SAT alone: no search, no hint, only asked to be no worse than earliest due date."""
    if len(problem.operations) > EXACT_PIECES or any(job.due is None for job in problem.jobs):
        return "too big, or work without a due date"
    search = Search(problem)
    search.try_rules([EARLIEST_DUE_DATE])
    assert search.kept
    proof = ExactModel(search.prepared, search.kept).solve(seconds, thread_count(), hinted=False)
    if proof is None:
        return "no plan found"
    late = search.prepared.solution(proof.starts, proof.people, "").weighted_days_late(problem)
    return f"{late:g}{', proved' if proof.proved else ''}"


NO_PYJOBSHOP = (
    "PyJobShop: no row here, as its model cannot say that sessions fall on different days, nor that a job holds a floor"
    " place from its first start to its last end. It stands beside ours on the standard sets."
)


def first_answer_seconds(problem: Problem) -> float:
    """From a problem with a plan in force to the first schedule around it, the compiled code being there."""
    begun, found = time.perf_counter(), []

    def stop(_: Progress) -> bool:
        found.append(time.perf_counter() - begun)
        return False

    plan_again(problem, seconds=1, progress=stop)
    return found[0]


def ratio(mine: float, other: float) -> str:
    """Mine over other; 1 when both are nothing."""
    return f"{mine / other:.3f}" if other else ("1.000" if not mine else "inf")


def first_plan_seconds(problem: Problem) -> float:
    """From a problem to its first complete schedule, the compiled code being there."""
    begun = time.perf_counter()
    Search(problem).try_rules(RULES[:1])
    return time.perf_counter() - begun


def schedule_seconds(problem: Problem, number: int = 40) -> float:
    """Mean time to build one schedule."""
    search = Search(problem)
    begun = time.perf_counter()
    for _ in range(number // len(RULES) + 1):
        search.try_rules(RULES)
    return (time.perf_counter() - begun) / search.built


def row(name: str, problem: Problem, seconds: float, exact_seconds: float) -> tuple[float, float, float]:
    """Print one problem's line; days late by due date, by slack, by the search."""
    rules = (EARLIEST_DUE_DATE, LEAST_SLACK)
    edd, slack = (solve(problem, rules=[rule], rounds=0).weighted_days_late(problem) for rule in rules)
    if near_operations(problem):
        fresh = plan(problem, seconds=seconds).weighted_days_late(problem)
        points = plan_again(problem, seconds=seconds)
        late = [ratio(point.solution.weighted_days_late(problem), fresh) for point in points]
        told = "; ".join(
            f"{point.name} {point.moved}/{point.near} moved at {times}"
            for point, times in zip(points, late, strict=True)
        )
        print(f"{name:12} edd {edd:6g} slack {slack:6g} fresh {fresh:6g}  {told} × fresh", flush=True)
        return 0, 0, 0
    solution = plan(problem, seconds=seconds)
    late = solution.weighted_days_late(problem)
    assert not check(problem, solution)
    exact = plain_late(problem, exact_seconds) if exact_seconds else "not run"
    print(
        f"{name:12} edd {edd:6g} slack {slack:6g} plan {late:6g}  {ratio(late, edd)} {ratio(late, slack)}"
        f"  {solution.word}; plain CP-SAT {exact_seconds:g} s: {exact}",
        flush=True,
    )
    return edd, slack, late


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=float, default=5)
    parser.add_argument("--exact-seconds", type=float, default=20)
    parser.add_argument("--only", default="")
    given = parser.parse_args()
    warm_up()
    problems = {}
    for path in sorted(given.folder.glob("*.json")):
        if not given.only or path.stem in given.only.split(","):
            try:
                problems[path.stem] = problem_read(path.read_text(encoding="utf-8"))
            except UnreadableFile as error:
                print(f"{path.name} left out: {error}")
    if not problems:
        raise SystemExit(f"No problem file in {given.folder}.")
    rows = [row(name, problem, given.seconds, given.exact_seconds) for name, problem in problems.items()]
    edd, slack, late = (sum(column) for column in zip(*rows, strict=True))
    print(f"sum: plan/earliest due date {ratio(late, edd)}, plan/least slack {ratio(late, slack)}")
    by_size = sorted(problems.values(), key=lambda problem: len(problem.operations))
    small, big = by_size[0], by_size[-1]
    print(f"first complete plan of {len(big.jobs)} instruments, warm: {first_plan_seconds(big):.2f} s")
    print(NO_PYJOBSHOP)
    growth = schedule_seconds(big) / schedule_seconds(small)
    for name, problem in problems.items():
        if near_operations(problem):
            print(f"first answer around the plan in force, {name}: {first_answer_seconds(problem):.2f} s")
    print(f"one schedule, {len(small.jobs)} to {len(big.jobs)} instruments: {growth:.1f} x")


if __name__ == "__main__":
    main()
