"""What a floor place that comes free would bring in earlier, everything else of a plan staying where it is."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from jobs.scheduling.calc.fit import Taken, fit
from jobs.scheduling.calc.problem import FLOOR, Operation, Problem, Stint
from jobs.scheduling.calc.solution import Hold, Solution, Work

MOST_TOLD = 12
"""So many of the next instruments to come are tried: who asks on a Monday asks for the next ones."""


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
    The next ``MOST_TOLD`` to come are tried.
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
    """When each of the next jobs to come could come in and end, each fitted anew beside all others."""
    roomy = replace(problem, places=replace(problem.places, floor=problem.places.floor + more))
    own: dict[str, list[Operation]] = defaultdict(list)
    for operation in problem.operations:
        if operation.id in solution.operations and not problem.job_by_id[operation.job].in_house:
            own[operation.job].append(operation)
    spans = {job: _span([solution.operations[one.id] for one in own[job]]) for job in own}
    taken = Taken(roomy, stints_of(solution.operations), holds)
    for job in sorted(own, key=lambda name: spans[name])[:MOST_TOLD]:
        was = {one.id: solution.operations[one.id] for one in own[job]}
        _take(taken, own[job], was, -1)
        fitted = fit(roomy, own[job], taken)
        if fitted and _span(fitted.values())[0] < spans[job][0] and _span(fitted.values())[1] <= spans[job][1]:
            was = fitted
        _take(taken, own[job], was, 1)
        spans[job] = _span(was.values())
    return dict(sorted(spans.items(), key=lambda one: _span([solution.operations[each.id] for each in own[one[0]]])))


def _take(taken: Taken, operations: Sequence[Operation], works: Mapping[str, Work], by: int) -> None:
    for operation in operations:
        taken.take(operation, works[operation.id], by)
    taken.places[FLOOR].add(*_span(works.values()), by)


def _span(works: Iterable[Work]) -> tuple[datetime, datetime]:
    spans = [(work.start, work.end) for work in works]
    return min(start for start, _ in spans), max(end for _, end in spans)


def stints_of(works: Mapping[str, Work]) -> dict[str, list[Stint]]:
    """Technician -> their stints in the works of a plan."""
    found: dict[str, list[Stint]] = defaultdict(list)
    for work in works.values():
        found[work.technician] += work.stints
    return found
