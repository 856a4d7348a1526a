"""Engine for standard projects: compiled genetic search beside an exact solver, on two threads.

``solve_project(project, seconds)`` → ``StandardResult``; ``warm_up()`` compiles beforehand.
"""

from jobs.scheduling.calc.solve.standard.project import (
    StandardResult,
    WrongSchedule,
    lower_bound,
    solve_project,
    warm_up,
)

__all__ = ["StandardResult", "WrongSchedule", "lower_bound", "solve_project", "warm_up"]
