"""The rows a plan is made of: jobs, tasks, people, places, promises, and what is held."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable

from django.db.models import Sum

from jobs.operations.models import Operation as Catalogued
from jobs.operations.models import Stage
from jobs.scheduling.calc.problem import Places
from jobs.scheduling.models import Promise
from jobs.supplies.models import Need
from jobs.worklist.models import Job, Task, Variation
from workshop.calendar.words import count_words
from workshop.people.models import Person
from workshop.places.models import Place


def is_after_return(task: Task) -> bool:
    """Tell whether a task is done at the client's home once the instrument has gone back.

    Such visits are agreed with the client one by one; planned as work of the house they would hold its floor
    place for weeks after it left.
    """
    return task.stage == Stage.FINISH and task.work_place == Catalogued.WorkPlace.HOME


def planned_jobs() -> list[Job]:
    """Return the jobs the house works on or has on its floor."""
    states = (Job.State.ACCEPTED, Job.State.IN_HOUSE, Job.State.READY)
    return list(Job.objects.filter(state__in=states).select_related("instrument__client").order_by("pk"))


def planned_tasks(jobs: Iterable[Job]) -> list[Task]:
    """Return the tasks of some jobs that are still to be done in the house."""
    rows = (
        Task.objects.filter(job__in=[job.pk for job in jobs], state__in=(Task.State.TO_COME, Task.State.AT_WORK))
        .select_related("job__instrument", "skill", "operation")
        .prefetch_related("after")
        .order_by("job", "position", "pass_number", "pk")
    )
    return [task for task in rows if not is_after_return(task)]


def people_on_the_bench() -> list[Person]:
    """Return the people who are given work, with skills and leave."""
    return list(
        Person.objects.filter(is_active=True, on_the_bench=True).prefetch_related("skills", "leaves").order_by("pk")
    )


def places_free(jobs: Iterable[Job], tasks: Iterable[Task]) -> tuple[Places, list[str]]:
    """Return the places of the shop, and a sentence when more instruments stand in it than it has floor places.

    A finished instrument that waits for its owner takes a floor place away. An overfull floor is a fact, not a
    reason to plan nothing: no further instrument comes in until places are free again.
    """
    rows = Place.objects.filter(in_use=True).values("kind").annotate(total=Sum("holds")).order_by()
    holds = {row["kind"]: row["total"] for row in rows}
    with_work = {task.job_id for task in tasks}
    inside = [job for job in jobs if job.booked_in_on]
    idle = sum(job.pk not in with_work for job in inside)
    floor = holds.get(Place.Kind.FLOOR, 0)
    free = max(floor - idle, len(inside) - idle, 1) if floor else 0
    notes = []
    if len(inside) > floor > 0:
        notes.append(
            f"The house holds {count_words(len(inside))} instruments on {count_words(floor)} floor "
            f"place{'' if floor == 1 else 's'}: enter the places they stand on, or let one go home."
        )
    elif idle == floor > 0:
        notes.append(
            "Finished instruments hold every floor place: the plan counts on one of them going home before the "
            "next comes in."
        )
    return Places(free, holds.get(Place.Kind.BENCH, 0), holds.get(Place.Kind.SPRAY, 0)), notes


def promised_days() -> dict[int, dt.date]:
    """Return the standing promise of each job: the newest."""
    standing: dict[int, dt.date] = {}
    for job, day in Promise.objects.order_by("given_at", "pk").values_list("job", "date"):
        standing[job] = day
    return standing


def held_by_variation() -> dict[int, int]:
    """Return the tasks held by a variation nobody has answered: task -> number of the variation."""
    waiting = Variation.objects.filter(state__in=(Variation.State.FOUND, Variation.State.SENT))
    rows = waiting.filter(affects__isnull=False).order_by("-number").values_list("affects", "number")
    return dict(rows)


def parts_awaited(tasks: Iterable[int]) -> dict[int, tuple[str, bool]]:
    """Return what each task still waits for: its part, or the first and how many more; and whether all is ordered."""
    names: dict[int, list[str]] = defaultdict(list)
    open_ones: set[int] = set()
    needs = Need.objects.filter(task__in=list(tasks), state__in=(Need.State.OPEN, Need.State.ORDERED))
    for need in needs.select_related("part").order_by("pk"):
        names[need.task_id].append(str(need.part))
        if need.state == Need.State.OPEN:
            open_ones.add(need.task_id)
    return {
        task: (found[0] if len(found) == 1 else f"{found[0]} and {len(found) - 1} more", task not in open_ones)
        for task, found in names.items()
    }
