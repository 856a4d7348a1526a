"""What of a house can be planned: troubled jobs are set aside with a sentence, the rest goes on."""

from collections.abc import Iterable
from dataclasses import replace

from jobs.scheduling.calc.plan import PlanRefused
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.validate import Trouble, validate
from jobs.scheduling.house.house import House
from jobs.scheduling.house.words import in_words


def plannable(house: House) -> tuple[Problem, list[str]]:
    """Return what of a house can be planned, and a sentence for each task that keeps its instrument out.

    An instrument with one task that cannot be placed is left out whole: half of it would end on a wrong day.
    Raises PlanRefused when the trouble lies with the shop itself.
    """
    problem, sentences = house.problem, list(house.notes)
    seen: list[Trouble] = []
    while troubles := validate(problem):
        jobs = {
            problem.operation_by_id[one.where].job if one.where in problem.operation_by_id else one.where
            for one in troubles
        }
        if not jobs <= problem.job_by_id.keys():
            raise PlanRefused([*seen, *troubles])
        seen += troubles
        sentences += [in_words(house, str(one)) for one in troubles]
        problem = without(problem, jobs)
    return problem, sentences


def without(problem: Problem, jobs: Iterable[str]) -> Problem:
    """Return the problem without some jobs, so that the rest can be planned; what stands in the house stays there."""
    gone = set(jobs)
    standing = sum(problem.job_by_id[name].in_house for name in gone)
    return replace(
        problem,
        places=replace(problem.places, floor=max(0, problem.places.floor - standing)),
        jobs=tuple(job for job in problem.jobs if job.id not in gone),
        operations=tuple(operation for operation in problem.operations if operation.job not in gone),
    )
