"""What of a house can be planned: troubled jobs are set aside with a sentence, the rest goes on."""

from collections.abc import Iterable
from dataclasses import replace

from jobs.scheduling.calc.plan import PlanRefused
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.validate import validate
from jobs.scheduling.house import House


def plannable(house: House) -> tuple[Problem, list[str]]:
    """Return what of a house can be planned, and a sentence for each job that cannot.

    Raises PlanRefused when the trouble lies with the shop itself.
    """
    problem, sentences = house.problem, list(house.notes)
    while troubles := validate(problem):
        jobs = {
            problem.operation_by_id[one.where].job if one.where in problem.operation_by_id else one.where
            for one in troubles
        }
        if not jobs <= problem.job_by_id.keys():
            raise PlanRefused(troubles)
        sentences += [_in_words(house, one.where, str(one)) for one in troubles]
        problem = without(problem, jobs)
    return problem, sentences


def _in_words(house: House, where: str, sentence: str) -> str:
    """Return a trouble with the name of task and instrument instead of their keys."""
    task = house.tasks.get(where)
    if task is not None:
        return sentence.replace(where, f"“{task.name}” on {task.job.instrument}", 1)
    job = house.jobs.get(where)
    return sentence.replace(where, str(job.instrument), 1) if job else sentence


def without(problem: Problem, jobs: Iterable[str]) -> Problem:
    """Return the problem without some jobs, so that the rest can be planned."""
    gone = set(jobs)
    return replace(
        problem,
        jobs=tuple(job for job in problem.jobs if job.id not in gone),
        operations=tuple(operation for operation in problem.operations if operation.job not in gone),
    )
