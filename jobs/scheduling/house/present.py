"""The plan in force, as the planning core reads it: where each task stands now."""

from collections import defaultdict
from dataclasses import replace

from django.utils import timezone

from jobs.scheduling.calc.problem import Previous, Problem, Stint
from jobs.scheduling.house.names import person_key, task_key
from jobs.scheduling.models import Stint as StintRow


def with_present_plan(problem: Problem) -> Problem:
    """Return the problem with what the plan in force says of work that has not begun: a start for the search.

    What the plan meant to be done before now and is still open has no place any more; it is left out.
    """
    pieces: dict[str, list[Stint]] = defaultdict(list)
    people: dict[str, str] = {}
    rows = StintRow.objects.filter(plan__is_current=True).order_by("starts_at")
    for task, person, starts, ends in rows.values_list("task", "person", "starts_at", "ends_at"):
        name = task_key(task)
        local = (timezone.localtime(moment).replace(tzinfo=None) for moment in (starts, ends))
        pieces[name].append(Stint(*local))
        people[name] = person_key(person)
    known = {technician.id for technician in problem.technicians}
    previous = {
        name: Previous(people[name], tuple(own))
        for name, own in pieces.items()
        if name in problem.operation_by_id
        and people[name] in known
        and (problem.now is None or own[0].start >= problem.now)
    }
    return replace(problem, previous=previous)
