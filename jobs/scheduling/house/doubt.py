"""What is not known of the house's work: how far hours may be off, and which parts may come late."""

import datetime as dt
from decimal import Decimal

from jobs.estimating.calc.bundle import TAU0
from jobs.estimating.calc.task_hours import SIGMA0
from jobs.scheduling.calc.draws import Uncertainty, hours_spread
from jobs.scheduling.house.house import House
from jobs.scheduling.house.maker import HoldKind
from jobs.scheduling.house.names import task_key
from jobs.supplies.models import Need
from jobs.worklist.models import Task


def uncertainty_of(house: House) -> Uncertainty:
    """Return how far the hours of each task may be off, and the delivery each awaited part comes with.

    The figures are those a task was agreed with. Parts that come with one order come, or are late, together; what is
    not ordered yet is taken to come with one order a part.
    """
    spreads = {name: _spread(task.hours_likely, task.hours_80) for name, task in house.tasks.items()}
    awaited = [house.tasks[name] for name, hold in house.holds.items() if hold.kind == HoldKind.PART]
    return Uncertainty(spreads, _deliveries(awaited), TAU0)


def _spread(likely: Decimal, figure_80: Decimal) -> float:
    return hours_spread(float(likely), float(figure_80)) if likely > 0 and figure_80 > 0 else SIGMA0


def _deliveries(tasks: list[Task]) -> dict[str, str]:
    """Return task -> delivery: the one that is expected last of those it waits for."""
    found: dict[str, tuple[dt.date, str]] = {}
    needs = Need.objects.filter(task__in=tasks, state__in=(Need.State.OPEN, Need.State.ORDERED))
    for need in needs.select_related("order_line").order_by("pk"):
        line = need.order_line
        comes = (line.expected_on, f"order {line.order_id}") if line else (None, f"part {need.part_id}")
        delivery = (comes[0] or dt.date.max, comes[1])
        found[task_key(need.task_id)] = max(delivery, found.get(task_key(need.task_id), delivery))
    return {name: delivery for name, (_, delivery) in found.items()}
