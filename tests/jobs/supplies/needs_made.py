"""Needs for tests: a job whose tasks ask for parts."""

from decimal import Decimal
from typing import Any

from jobs.operations.models import OperationPart
from jobs.supplies.models import Need
from jobs.supplies.services import needs_work_out
from tests.factories import make_instrument, make_job, make_operation, make_part, make_task


def make_use(code: str, part: Any, quantity: Any = 1, **more: Any) -> OperationPart:
    return OperationPart.objects.create(
        operation=make_operation(code), part=part, quantity=Decimal(str(quantity)), **more
    )


def make_need(*, part: Any = None, job: Any = None, quantity: Any = 1, code: str = "", **more: Any) -> Need:
    part = part or make_part()
    task = make_task(job or make_job(), make_operation(code or f"op-{part.code}"))
    return Need.objects.create(task=task, part=part, quantity=Decimal(str(quantity)), **more)


def make_numbered_job(number: int, maker: str = "Marchpane", **more: Any) -> Any:
    return make_job(make_instrument(number=number, maker=maker, **more))


def worked_out(job: Any) -> dict[str, Decimal]:
    needs_work_out(job=job)
    return {need.part.code: need.quantity for need in Need.objects.filter(task__job=job).select_related("part")}
