"""What the tasks of a job need."""

from collections import defaultdict
from collections.abc import Iterable

from django.db import transaction

from jobs.operations.models import OperationPart
from jobs.supplies.calc import needed_quantity
from jobs.supplies.models import Need
from jobs.worklist.models import Job, Task
from workshop.web.rows import row_check

State = Need.State


@transaction.atomic
def needs_work_out(*, job: Job) -> list[Need]:
    """Write what the tasks of a job need, from the parts of their operations; return the open and ordered ones.

    Called again it adds what is missing, follows changed quantities of needs nobody acted on yet, and lets go of
    needs whose task was left out. Tasks that are done get no new needs.
    """
    tasks = list(job.tasks.select_related("operation", "job__instrument").order_by("position", "pass_number", "pk"))
    needs_for_tasks(tasks=[task for task in tasks if task.state in (Task.State.TO_COME, Task.State.AT_WORK)])
    Need.objects.filter(
        task__in=[task for task in tasks if task.state == Task.State.LEFT_OUT],
        state=State.OPEN,
        order_line__isnull=True,
    ).update(state=State.NOT_NEEDED)
    return list(
        Need.objects.filter(task__job=job, state__in=[State.OPEN, State.ORDERED]).select_related("part", "task")
    )


@transaction.atomic
def needs_for_tasks(*, tasks: Iterable[Task]) -> list[Need]:
    """Write what some tasks need; return the needs that are new.

    What an operation needs as a whole is needed by its first pass alone.
    """
    wanted = [task for task in tasks if task.state != Task.State.LEFT_OUT]
    parts: dict[int, list[OperationPart]] = defaultdict(list)
    operations = {task.operation_id for task in wanted}
    for use in OperationPart.objects.filter(operation__in=operations).select_related("part").order_by("id"):
        parts[use.operation_id].append(use)
    known = {(need.task_id, need.part_id): need for need in Need.objects.filter(task__in=wanted)}
    made = []
    for task in wanted:
        for use in parts[task.operation_id]:
            if not use.fits(task.job.instrument.kind) or (task.pass_number > 1 and not use.per_unit):
                continue
            quantity = needed_quantity(
                quantity=use.quantity, per_unit=use.per_unit, units=task.quantity, sold_by=use.part.unit
            )
            need = known.get((task.pk, use.part_id))
            if need is None:
                made.append(_write(Need(task=task, part=use.part, quantity=quantity)))
            elif need.state == State.OPEN and need.order_line_id is None and need.quantity != quantity:
                need.quantity = quantity
                _write(need)
    return made


def _write(need: Need) -> Need:
    row_check(need)
    need.save()
    return need
