"""The plan in force, as the planning core reads it: where each task stands now."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

from django.db.models import QuerySet
from django.utils import timezone

from jobs.scheduling.calc.problem import Operation, Previous, Problem, Stint
from jobs.scheduling.calc.solution import Solution, Work
from jobs.scheduling.calc.solve import near_until
from jobs.scheduling.house.names import person_key, task_key
from jobs.scheduling.models import Plan
from jobs.scheduling.models import Stint as StintRow


def with_present_plan(problem: Problem) -> Problem:
    """Return the problem with what the plan in force says of open work from now on: what a new plan keeps to.

    Work in the middle of a stint goes on now. What the plan meant to be over before now and is still open has no
    place any more; it is left out. While a day lasts, what was told for it counts as being worked on: hours are often
    written down in the evening, and a plan made at noon would otherwise push everything by the morning.
    """
    previous = {}
    operations = dict(problem.operation_by_id)
    for name, work in _works(StintRow.objects.filter(plan__is_current=True)).items():
        left = [Stint(max(one.start, problem.now or one.start), one.end) for one in work.stints]
        left = [one for one in left if one.start < one.end]
        if left and name in operations and work.technician in problem.technician_by_id:
            previous[name] = Previous(work.technician, tuple(left))
            operations[name] = _as_told_today(operations[name], _hours(left), _hours_today(problem, work))
    return replace(problem, previous=previous, operations=tuple(operations.values()))


def _as_told_today(operation: Operation, left: float, today: float) -> Operation:
    """Return an operation with the hours the plan leaves it, where the hours told for today explain what is more."""
    more = operation.hours - left
    return replace(operation, hours=left) if 0 < more <= today and operation.sessions == 1 else operation


def _hours_today(problem: Problem, work: Work) -> float:
    """Return the hours a plan gave to a task today before now."""
    now = problem.now
    if now is None:
        return 0
    past = [Stint(one.start, min(one.end, now)) for one in work.stints if one.start.date() == now.date()]
    return _hours([one for one in past if one.start < one.end])


def _hours(stints: Iterable[Stint]) -> float:
    return sum((one.end - one.start for one in stints), dt.timedelta()) / dt.timedelta(hours=1)


def solution_of(plan: Plan) -> Solution:
    """Return the stored stints of a plan as the planning core has them."""
    return Solution(_works(StintRow.objects.filter(plan=plan)))


def _works(rows: QuerySet[StintRow]) -> dict[str, Work]:
    pieces: dict[str, list[Stint]] = defaultdict(list)
    people: dict[str, str] = {}
    for task, person, starts, ends in rows.order_by("starts_at").values_list("task", "person", "starts_at", "ends_at"):
        first, last = (timezone.localtime(moment).replace(tzinfo=None) for moment in (starts, ends))
        pieces[task_key(task)].append(Stint(first, last))
        people[task_key(task)] = person_key(person)
    return {name: Work(people[name], tuple(own)) for name, own in pieces.items()}


def somebody_is_gone(problem: Problem) -> bool:
    """Tell whether the plan in force gives open work of the next ten days to somebody who is on the bench no more."""
    if problem.now is None:
        return False
    zone = timezone.get_current_timezone()
    first, last = problem.now.replace(tzinfo=zone), near_until(problem).replace(tzinfo=zone)
    rows = StintRow.objects.filter(plan__is_current=True, ends_at__gt=first, starts_at__lt=last)
    return any(
        task_key(task) in problem.operation_by_id and person_key(person) not in problem.technician_by_id
        for task, person in rows.values_list("task", "person")
    )
