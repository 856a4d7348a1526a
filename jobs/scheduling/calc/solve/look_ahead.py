"""How long a job may hold its floor place, roughly: for keeping places free for appointments."""

from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.priorities import clock_lengths, remaining
from jobs.scheduling.calc.solve.timeline import DAY_MINUTES

LOOK_AHEAD = 2.0
"""A floor place is kept for an appointment if the job asking might still be here: twice its rough length."""


def look_ahead(prepared: Prepared) -> list[int]:
    """For each job the working slots within which an appointment is thought to need its place."""
    rest = remaining(prepared, clock_lengths(prepared))
    problem = prepared.problem
    axis = problem.day_minutes / problem.slot_minutes * len(set(problem.workdays)) / 7 / DAY_MINUTES
    longest = [0.0] * len(problem.jobs)
    for number, job in enumerate(prepared.job):
        longest[job] = max(longest[job], rest[number])
    return [int(LOOK_AHEAD * minutes * axis) for minutes in longest]
