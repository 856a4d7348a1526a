"""Hours of work with a range, from the norms of the catalogue.

The bundle takes what all tasks of one job share into account; see ``calc/bundle.py`` for the rule.
"""

from collections.abc import Iterable
from decimal import Decimal

from jobs.estimating.calc import bundle
from jobs.estimating.calc.bundle import BundleHours, HoursBetween
from jobs.estimating.calc.task_hours import TaskHours, task_hours_from_norm
from jobs.operations.calc import catalogue as data
from jobs.operations.calc import quantities
from jobs.operations.models import Operation
from jobs.operations.queries import operation_as_data
from workshop.web.errors import Refused

__all__ = [
    "BundleHours",
    "HoursBetween",
    "TaskHours",
    "bundle_hours",
    "hours_between",
    "hours_for",
    "hours_sentence",
]


def hours_for(*, operation: Operation | data.Operation, quantity: Decimal | float, kind: str) -> TaskHours:
    """Return the attended person-hours of so many units of an operation on a grand or an upright.

    Raises Refused for a count that is not above nought.
    """
    known = operation if isinstance(operation, data.Operation) else operation_as_data(operation)
    try:
        norm = quantities.hours_for(known, float(quantity), kind)
    except ValueError as error:
        raise Refused(str(error)) from error
    return task_hours_from_norm(norm.likely, low=norm.low, high=norm.high, code=known.code)


def bundle_hours(hours: Iterable[TaskHours]) -> BundleHours:
    """Return the hours of all tasks together: likely, and the figure that holds 8 times in 10."""
    return bundle.bundle_hours(hours)


def hours_between(first: Iterable[TaskHours], second: Iterable[TaskHours]) -> HoursBetween:
    """Return how many more hours the second scope takes; what both share cancels with its uncertainty."""
    return bundle.hours_between(first, second)


def hours_sentence(hours: TaskHours) -> str:
    """Return what to expect, e.g. "Norm 12 h. Nothing logged yet. Expect 12 h; 8 in 10 stay under 16.1 h."."""
    return (
        f"Norm {_figure(hours.norm)} h. Nothing logged yet. "
        f"Expect {_figure(hours.likely)} h; 8 in 10 stay under {_figure(hours.figure_80)} h."
    )


def _figure(hours: float) -> str:
    places = 1 if hours >= 1 else 2
    return f"{hours:.{places}f}".rstrip("0").rstrip(".")
