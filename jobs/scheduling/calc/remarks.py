"""What can be planned and yet wants looking at: promises that have passed, work that lies over somebody's leave."""

from collections.abc import Iterator
from datetime import date, timedelta

from jobs.scheduling.calc.problem import Problem, day_text
from jobs.scheduling.calc.solution import Solution, Work
from jobs.scheduling.calc.validate import Trouble

DAY = timedelta(days=1)


def remarks(problem: Problem, solution: Solution) -> list[Trouble]:
    """What somebody should mend though it keeps no plan from being made, with the job and what to change.

    ``where`` is the id of a job or an operation. A due date is past when it lies before ``now``, or before the start
    of the problem. Work lies over a leave when it begins before it, in one session, and goes on after it.
    """
    return [*_past_due(problem, solution), *_over_leave(problem, solution)]


def _past_due(problem: Problem, solution: Solution) -> Iterator[Trouble]:
    today = problem.now.date() if problem.now else problem.start
    with_work = {problem.operation_by_id[name].job for name in solution.operations}
    for job in problem.jobs:
        if job.due and job.due < today and job.id in with_work:
            words = f"{job.id} was due {day_text(job.due)}, which has passed: agree on a new date."
            yield Trouble(job.id, words)


def _over_leave(problem: Problem, solution: Solution) -> Iterator[Trouble]:
    for operation in problem.operations:
        work = solution.operations.get(operation.id)
        if work is None or operation.sessions > 1:
            continue
        technician = problem.technician_by_id[work.technician]
        for first, last in technician.leave:
            if work.start.date() < first and work.end.date() > last and _would_work(problem, work, first, last):
                yield Trouble(
                    operation.id,
                    f"{operation.id} is too long for the days {work.technician} has before the leave from"
                    f" {day_text(first)} to {day_text(last)} and rests over it: share it out, or move the leave.",
                )


def _would_work(problem: Problem, work: Work, first: date, last: date) -> bool:
    """Tell whether a leave takes a day on which its technician would have been at work."""
    own = problem.technician_by_id[work.technician].workdays
    days = (first + DAY * number for number in range((last - first).days + 1))
    return any(
        day.weekday() in own and day.weekday() in problem.workdays and day not in problem.holidays for day in days
    )
