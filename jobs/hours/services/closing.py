"""A task is done, or still needs so many hours."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.hours.models import TimeEntry
from jobs.hours.queries import last_at, standing
from jobs.hours.services.checks import check_open, task_held
from jobs.hours.services.clock import clock_stop
from jobs.worklist.models import Task
from jobs.worklist.queries import held_tasks, open_before
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

MOST_HOURS = 1000


@transaction.atomic
def task_close(
    *, task: Task, by: Person, at: dt.datetime, no_hours_because: str = "", first_time: bool = False
) -> Task:
    """Mark a task as done. A clock that runs on it is stopped and kept; ``first_time`` marks its hours as learning.

    Raises Refused while something before it is open (the sentence says what, and who has it in hand), a variation
    holds it, a clock on it was forgotten, or no hours were logged and nobody says why none were needed.
    """
    running = TimeEntry.objects.filter(task=task, minutes=None, withdrawn=False)
    # People are locked before the task, as the clock does it, so that closing and starting never wait for each other.
    list(Person.objects.select_for_update().filter(pk__in=running.values("person")).order_by("pk"))
    task = task_held(task)
    if task.state == Task.State.DONE:
        return task
    check_open(task)
    before = open_before(task)
    if before:
        person = last_at(before[0])
        who = f"; {person} has it in hand" if person else "; nobody has begun it"
        raise Refused(f"“{task.name}” cannot be closed: “{before[0].name}” comes before it and is not done{who}.")
    if task.pk in held_tasks(task.job):
        raise Refused(f"“{task.name}” is held until the client has answered a variation.")
    for entry in running.select_related("person"):
        clock_stop(person=entry.person, at=at)
    task = task_held(task)
    if not standing().filter(task=task).exists():
        if not no_hours_because.strip():
            raise Refused(f"No hours are logged on “{task.name}”. Enter them first, or say why none were needed.")
        task.agreed = f"{task.agreed}\nNo hours logged: {no_hours_because.strip()}".strip()
    if first_time:
        standing().filter(task=task).update(first_time=True)
    task.state, task.done_at, task.done_by = Task.State.DONE, at, by
    task.hours_left = None
    row_check(task)
    task.save(update_fields=["state", "done_at", "done_by", "agreed", "hours_left"])
    return task


@transaction.atomic
def hours_left_say(*, task: Task, hours: Decimal, by: Person) -> Task:
    """Keep how many hours a task still needs, as whoever works on it thinks now; time kept later is taken off it.

    Raises Refused below nought, for too many, and for a task that is closed.
    """
    task = task_held(task)
    check_open(task)
    if not 0 <= hours <= MOST_HOURS:
        raise Refused("Hours still to work lie between nought and a thousand.")
    task.hours_left = hours
    row_check(task)
    task.save(update_fields=["hours_left"])
    return task
