"""A small shop as rows, and a stored plan read back as the planning core sees it."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.utils import timezone

from jobs.scheduling.calc.check import Broken, check
from jobs.scheduling.calc.problem import Stint as Piece
from jobs.scheduling.calc.solution import Solution, Work
from jobs.scheduling.house import house_problem, person_key, plannable, task_key
from jobs.scheduling.models import Plan, Stint
from jobs.supplies.models import Need
from jobs.worklist.models import Task
from parts.orders.models import OrderLine, PurchaseOrder
from tests.factories import MOMENT, TODAY, make_job, make_manager, make_operation, make_part, make_place, make_task
from workshop.house.models import Shop
from workshop.house.queries import the_shop


def make_shop(*, floor: int = 4, bench: int = 3, spray: int = 1, **more: Any) -> Shop:
    """A shop open Monday to Friday from 8 to 16, with as many places as asked."""
    shop = the_shop()
    for name, value in more.items():
        setattr(shop, name, value)
    shop.save()
    for kind, holds in (("floor", floor), ("bench", bench), ("spray", spray)):
        if holds:
            make_place(kind, holds=holds)
    return shop


def make_work(job: Any = None, hours: float = 4, *, after: Iterable[Task] = (), code: str = "", **more: Any) -> Task:
    """A task of so many likely hours for somebody with the skill "action", on a bench unless asked otherwise."""
    operation = make_operation(code) if code else make_operation()
    task = make_task(job, operation, **{"hours_likely": Decimal(str(hours)), "wait_hours": 0, **more})
    task.after.set(after)
    return task


def make_ordered(task: Task, expected: dt.date, code: str = "hammer-set") -> Need:
    """A need of a task that is on its way."""
    part = make_part(code)
    order = PurchaseOrder.objects.create(
        supplier=part.supplier, created_at=MOMENT, created_by=make_manager(), state="sent", number=900 + task.pk
    )
    line = OrderLine.objects.create(order=order, part=part, name=part.name, quantity=1, expected_on=expected)
    return Need.objects.create(task=task, part=part, state=Need.State.ORDERED, order_line=line)


def solution_of(plan: Plan) -> Solution:
    """The stored stints as a plan of the core: local and naive."""
    pieces: dict[str, list[Piece]] = {}
    people: dict[str, str] = {}
    for stint in plan.stints.order_by("starts_at"):
        name = task_key(stint.task_id)
        pieces.setdefault(name, []).append(Piece(local(stint.starts_at), local(stint.ends_at)))
        people[name] = person_key(stint.person_id)
    return Solution({name: Work(people[name], tuple(own)) for name, own in pieces.items()})


def broken(plan: Plan, *, at: dt.datetime = MOMENT, **handed: Any) -> list[Broken]:
    """What the independent checker finds in the stored rows, against the house read anew."""
    problem, _ = plannable(house_problem(at=at, **handed))
    return check(problem, solution_of(plan))


def local(moment: dt.datetime) -> dt.datetime:
    return timezone.localtime(moment).replace(tzinfo=None)


def starts(plan: Plan, task: Task) -> dt.datetime:
    """When a task begins in a plan, on the shop's clock."""
    return local(Stint.objects.filter(plan=plan, task=task).order_by("starts_at")[0].starts_at)


def ends(plan: Plan, task: Task) -> dt.datetime:
    """When a task ends in a plan, on the shop's clock."""
    return local(Stint.objects.filter(plan=plan, task=task).order_by("-ends_at")[0].ends_at)


def overlaps(plan: Plan) -> list[tuple[Stint, Stint]]:
    """Stints of one person that overlap: a plain look at the rows."""
    found = []
    for person in plan.stints.values_list("person", flat=True).distinct():
        own = list(plan.stints.filter(person=person).order_by("starts_at"))
        found += [(one, two) for one, two in zip(own, own[1:], strict=False) if two.starts_at < one.ends_at]
    return found


def most_at_once(plan: Plan, place: str) -> int:
    """The most tasks at one place at the same moment, each from its first stint to its last."""
    spans = [
        (starts(plan, task), ends(plan, task))
        for task in Task.objects.filter(work_place=place, stints__plan=plan).distinct()
    ]
    return max((sum(first <= moment < last for first, last in spans) for moment, _ in spans), default=0)


__all__ = [
    "MOMENT", "TODAY", "broken", "ends", "local", "make_job", "make_ordered", "make_shop", "make_work",
    "most_at_once", "overlaps", "solution_of", "starts",
]  # fmt: skip
