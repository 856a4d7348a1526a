"""From a problem to a plan that may be shown: validated before, checked after, or refused."""

from collections.abc import Callable, Sequence

from jobs.scheduling.calc.check import Broken, check
from jobs.scheduling.calc.keep import points_at_once
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve import RULES, NoPlanFound, Point, Progress, Rule, plan_again_points, solve
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


def plan_again(
    problem: Problem,
    *,
    seconds: float | None,
    free: bool = False,
    progress: Callable[[Progress], bool] | None = None,
) -> list[Point]:
    """Ways to plan again around what people were told, the calmest first, each keeping every rule.

    With ``free`` the last is never later than the best simple rule of the same run; the calm ways may be, for they
    keep what people were told. The last way without ``free`` moves less than a quarter of the near starts where that
    can be done.

    For a problem with ``now`` and ``previous``. ``seconds``: for all of them; ``free``: also one that thinks of
    no moves. ``progress`` may stop it at once: each way is then the best of the rules. Without ``seconds`` nothing is
    searched: what was told is kept where it can be, or the best simple rule. Raises PlanRefused when there is none.
    """
    troubles = validate(problem)
    if troubles:
        raise PlanRefused(troubles)
    points, broken = [], []
    if seconds is None:
        ways = points_at_once(problem)
    else:
        ways = plan_again_points(problem, seconds=seconds, free=free, progress=progress)
    for point in ways:
        found = check(problem, point.solution)
        broken += found
        if not found:
            points.append(point)
    if not points:
        raise PlanRefused([Trouble("shop", str(NoPlanFound()))] if not broken else (), broken)
    return points
