"""The engines: a problem in, a solution out. They claim nothing the checker has not confirmed.

``solve(problem, rules=..., rounds=..., seconds=...)`` tries several priority rules with the compiled list scheduler,
then anneals priorities, leads and pins from the best of them, and gives back the best plan found. Without ``seconds``
no clock is read and the same problem gives the same plan. ``warm_up`` compiles beforehand. numba and ortools are
imported only below this package, and only when they are needed.
"""

from jobs.scheduling.calc.solve.list_schedule import NothingCanStart
from jobs.scheduling.calc.solve.near import Point, near_moved, near_operations, near_until
from jobs.scheduling.calc.solve.priorities import EARLIEST_DUE_DATE, LEAST_SLACK, RULES, Rule
from jobs.scheduling.calc.solve.progress import Progress
from jobs.scheduling.calc.solve.solver import NoPlanFound, plan_again_points, solve
from jobs.scheduling.calc.solve.warm import is_warm, warm_up, warm_up_when_compiled

__all__ = [
    "EARLIEST_DUE_DATE",
    "LEAST_SLACK",
    "RULES",
    "NoPlanFound",
    "NothingCanStart",
    "Point",
    "Progress",
    "Rule",
    "is_warm",
    "near_moved",
    "near_operations",
    "near_until",
    "plan_again_points",
    "solve",
    "warm_up",
    "warm_up_when_compiled",
]
