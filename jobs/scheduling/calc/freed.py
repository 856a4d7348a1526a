"""What a floor place that comes free would bring in earlier, everything else of a plan staying where it is."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from jobs.scheduling.calc.fit import Taken, fit
from jobs.scheduling.calc.problem import FLOOR, Problem, Stint
from jobs.scheduling.calc.solution import Hold, Solution, Work


@dataclass(frozen=True, slots=True)
class Earlier:
    """A job that could come in earlier: when without the places, when with them, and when its work would end."""

    job: str
    comes: datetime
    could_come: datetime
    ends: datetime
    could_end: datetime


def brought_in_earlier(
    problem: Problem, solution: Solution, holds: Sequence[Hold], *, leaving: Collection[str] = (), more: int = 0
) -> list[Earlier]:
    """The jobs not in the house yet that could come in earlier, in the order they come by the plan.

    ``holds``: every place held as things stand, standing instruments included; ``problem.places`` counts them all.
    ``leaving``: jobs in the house that would go home at once; ``more``: floor places won besides. Each job in turn is
    fitted anew into the gaps of the plan, once with the places and once without: only what the places bring is told.
    """
    before = _refitted(problem, solution, holds)
    fewer = [hold for hold in holds if hold.place != FLOOR or hold.holder not in leaving]
    after = _refitted(problem, solution, fewer, more=more)
    return [
        Earlier(job, before[job][0], after[job][0], before[job][1], min(after[job][1], before[job][1]))
        for job in before
        if after[job][0] < before[job][0]
    ]


def _refitted(
    problem: Problem, solution: Solution, holds: Sequence[Hold], *, more: int = 0
) -> dict[str, tuple[datetime, datetime]]:
    """When each job that is still to come could come in and end, each fitted anew beside all others."""
    roomy = replace(problem, places=replace(problem.places, floor=problem.places.floor + more))
    works = dict(solution.operations)
    own: dict[str, list[str]] = defaultdict(list)
    for operation in problem.operations:
        if operation.id in works and not problem.job_by_id[operation.job].in_house:
            own[operation.job].append(operation.id)
    kept = list(holds)
    found: dict[str, tuple[datetime, datetime]] = {}
    for job in sorted(own, key=lambda name: min(works[key].start for key in own[name])):
        keys = set(own[job])
        mine = {key: works[key] for key in own[job]}
        others = [hold for hold in kept if hold.holder != job and hold.holder not in keys]
        rest = {key: work for key, work in works.items() if key not in keys}
        fitted = fit(roomy, [problem.operation_by_id[key] for key in own[job]], Taken(roomy, stints_of(rest), others))
        if fitted and _span(fitted)[0] < _span(mine)[0] and _span(fitted)[1] <= _span(mine)[1]:
            works |= fitted
            kept = [*others, *(hold for hold in Solution(fitted).holds(problem))]
            mine = fitted
        found[job] = _span(mine)
    return found


def _span(works: Mapping[str, Work]) -> tuple[datetime, datetime]:
    return min(work.start for work in works.values()), max(work.end for work in works.values())


def stints_of(works: Mapping[str, Work]) -> dict[str, list[Stint]]:
    """Technician -> their stints in the works of a plan."""
    found: dict[str, list[Stint]] = defaultdict(list)
    for work in works.values():
        found[work.technician] += work.stints
    return found
