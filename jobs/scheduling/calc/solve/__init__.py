"""The engines: a problem in, a solution out. They claim nothing the checker has not confirmed.

``solve(problem, rules=..., rounds=...)`` tries several priority rules with the list scheduler, pulls forward the
jobs the best of them made late, varies priorities from there (seeded), and gives back the best plan found. The same
problem gives the same plan: no clock is read. Nothing is proved optimal.
"""

from jobs.scheduling.calc.solve.list_schedule import NothingCanStart
from jobs.scheduling.calc.solve.priorities import EARLIEST_DUE_DATE, LEAST_SLACK, RULES, Rule
from jobs.scheduling.calc.solve.search import NoPlanFound, Progress, solve

__all__ = [
    "EARLIEST_DUE_DATE",
    "LEAST_SLACK",
    "RULES",
    "NoPlanFound",
    "NothingCanStart",
    "Progress",
    "Rule",
    "solve",
]
