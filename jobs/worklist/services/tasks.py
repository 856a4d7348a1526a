"""Tasks made from operations: one a piece, with the order that holds through operations left out."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from jobs.estimating.services import estimator
from jobs.operations.calc.catalogue import Catalogue
from jobs.operations.calc.order import after_in_scope, scope_order
from jobs.operations.calc.quantities import pieces
from jobs.operations.models import Operation
from jobs.operations.queries import catalogue
from jobs.worklist.models import Job, Task, Variation

LONGEST_SESSION_HOURS = 6  # attended hours of one person in a day; common practice, no source


@dataclass(frozen=True)
class Wanted:
    """One operation wanted on a job: how many units, and what exactly was agreed."""

    operation: Operation
    quantity: Decimal
    agreed: str = ""


def kept_hours(hours: float) -> Decimal:
    """Return hours as they are kept in a row: to the hundredth."""
    return Decimal(str(round(hours, 2)))


def sessions_of(hours: Decimal, least_days: int) -> int:
    """Return in how many sessions the work is planned: 1 where it may simply run on from day to day.

    Work that must be spread over ``least_days`` is cut into that many, or into more where a session would be
    longer than a person can work in a day.
    """
    if least_days <= 1:
        return 1
    return max(least_days, math.ceil(float(hours) / LONGEST_SESSION_HOURS))


def tasks_make(*, job: Job, wanted: Iterable[Wanted], variation: Variation | None = None) -> list[Task]:
    """Write the tasks of the wanted operations and link all tasks of the job in their order.

    Raises ValueError for a count that does not fit its operation.
    """
    plan = catalogue()
    estimate = estimator()
    made: list[Task] = []
    for want in wanted:
        found = plan.operations[want.operation.code]
        cut = pieces(found, float(want.quantity), job.instrument.kind)
        one = want.quantity / len(cut)
        hours = estimate.hours_for(operation=want.operation, quantity=one, kind=job.instrument.kind)
        for piece in cut:
            made.append(
                Task(
                    job=job,
                    operation=want.operation,
                    variation=variation,
                    pass_number=piece.number,
                    stage=want.operation.stage,
                    name=want.operation.name
                    if piece.of == 1
                    else f"{want.operation.name}: {piece.number} of {piece.of}",
                    agreed=want.agreed,
                    quantity=one,
                    norm_hours=kept_hours(hours.norm),
                    hours_likely=kept_hours(hours.likely),
                    hours_80=kept_hours(hours.figure_80),
                    skill=want.operation.skill,
                    work_place=want.operation.work_place,
                    wait_hours=int(piece.wait_hours),
                    wait_reason=want.operation.wait_reason,
                    sessions=sessions_of(kept_hours(hours.likely), piece.least_days),
                )
            )
    Task.objects.bulk_create(made)
    tasks_order(job=job, plan=plan)
    return made


def tasks_order(*, job: Job, plan: Catalogue | None = None) -> None:
    """Number the tasks of a job in working order and link each to those immediately before it.

    ``plan`` is the catalogue where the caller has read it.
    """
    plan = plan or catalogue()
    tasks = list(job.tasks.exclude(state=Task.State.LEFT_OUT).select_related("operation"))
    by_code: dict[str, list[Task]] = {}
    for task in sorted(tasks, key=lambda one: (one.pass_number, one.pk)):
        by_code.setdefault(task.operation.code, []).append(task)
    place = 0
    for code in scope_order(plan, by_code):
        for task in by_code[code]:
            place += 1
            task.position = place
    Task.objects.bulk_update(tasks, ["position"])
    _link(job, by_code, after_in_scope(plan, by_code))


def _link(job: Job, by_code: Mapping[str, list[Task]], before: Mapping[str, set[str]]) -> None:
    """Write the links of a job anew: pass after pass, first pass after the last of what comes before."""
    through = Task.after.through
    through.objects.filter(from_task__in=list(job.tasks.values_list("pk", flat=True))).delete()
    links: set[tuple[int, int]] = set()
    for code, passes in by_code.items():
        links.update((passes[0].pk, by_code[first][-1].pk) for first in before[code])
        links.update((later.pk, earlier.pk) for earlier, later in zip(passes, passes[1:], strict=False))
    through.objects.bulk_create(through(from_task_id=task, to_task_id=first) for task, first in sorted(links))
