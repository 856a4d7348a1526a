"""From a problem to a plan that may be shown: validated before, checked after, or refused."""

from collections.abc import Callable, Sequence

from jobs.scheduling.calc.check import Broken, check
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve import RULES, NoPlanFound, Progress, Rule, solve
from jobs.scheduling.calc.validate import Trouble, validate

SHOWN = 5


class PlanRefused(ValueError):
    """No plan may be shown. ``troubles``: what to mend first; ``broken``: rules the plan found breaks."""

    def __init__(self, troubles: Sequence[Trouble] = (), broken: Sequence[Broken] = ()) -> None:
        self.troubles, self.broken = tuple(troubles), tuple(broken)
        sentences = [str(entry) for entry in (*self.troubles, *self.broken)]
        more = f" And {len(sentences) - SHOWN} more." if len(sentences) > SHOWN else ""
        super().__init__(" ".join(sentences[:SHOWN]) + more)


def plan(
    problem: Problem,
    *,
    rules: Sequence[Rule] = RULES,
    rounds: int | None = None,
    seconds: float | None = None,
    progress: Callable[[Progress], bool] | None = None,
    may_compile: bool = True,
) -> Solution:
    """The best plan found that keeps every rule. Arguments as for ``solve``. Raises PlanRefused."""
    troubles = validate(problem)
    if troubles:
        raise PlanRefused(troubles)
    try:
        solution = solve(
            problem, rules=rules, rounds=rounds, seconds=seconds, progress=progress, may_compile=may_compile
        )
    except NoPlanFound as error:
        raise PlanRefused([Trouble("shop", str(error))]) from error
    broken = check(problem, solution)
    if broken:
        raise PlanRefused(broken=broken)
    return solution
