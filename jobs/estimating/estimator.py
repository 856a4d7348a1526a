"""The estimator of one moment: the learner with every log that counts, and how finished quotes turned out.

Ask for one with ``estimator()`` once per request or change, and hand it on: it costs two questions to the database.
The learner itself is kept by the process and takes in only what is new; a correction or a changed norm rebuilds it.
"""

import datetime as dt
import threading
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import connection
from django.db.models import Count, F, FloatField, Max, Q, QuerySet, Sum
from django.db.models.functions import Cast
from django.utils import timezone

from jobs.estimating.calc import bundle
from jobs.estimating.calc.bundle import BundleHours
from jobs.estimating.calc.learner import WORKSHOP, Learner, Log
from jobs.estimating.calc.task_hours import TaskHours, task_hours_from_norm
from jobs.estimating.models import HoursLog, QuoteOutcome
from jobs.operations.calc import catalogue as data
from jobs.operations.calc import quantities
from jobs.operations.models import Operation
from jobs.operations.queries import operation_as_data
from workshop.people.models import Person
from workshop.web.errors import Refused

COUNTING = Q(first_time=False, left_out_because="")


@dataclass(frozen=True)
class Estimator:
    """Gives hours of tasks and bundles as of one day."""

    learner: Learner
    finished: tuple[float, ...]
    today: int

    def hours_for(
        self,
        *,
        operation: Operation | data.Operation,
        quantity: Decimal | float,
        kind: str,
        technician: Person | None = None,
    ) -> TaskHours:
        """Return the attended person-hours of so many units of an operation on a grand or an upright.

        Without a technician the whole shop's logs of the work speak. Raises Refused for a count not above nought.
        """
        known = operation if isinstance(operation, data.Operation) else operation_as_data(operation)
        try:
            norm = quantities.hours_for(known, float(quantity), kind)
        except ValueError as error:
            raise Refused(str(error)) from error
        if not len(self.learner):
            return task_hours_from_norm(norm.likely, low=norm.low, high=norm.high, code=known.code)
        return self.learned(code=known.code, norm=norm.likely, technician=technician)

    def learned(self, *, code: str, norm: float, technician: Person | None = None) -> TaskHours:
        """Return the hours of a task of an operation (its code) with that norm in hours."""
        marks = {"kind": code, "technician": "" if technician is None else str(technician.pk)}
        found = self.learner.forecast(norm=norm, today=self.today, marks=marks)
        return TaskHours(
            norm=norm,
            likely=found.figure(0.5),
            figure_80=found.figure(0.8),
            code=code,
            logs=found.logs,
            least=found.least,
            most=found.most,
            own="technician" in found.shares,
        )

    def bundle_hours(self, hours: Iterable[TaskHours]) -> BundleHours:
        """Return the hours of all tasks together, as finished quotes correct them."""
        return bundle.bundle_hours(hours, finished=self.finished)


@dataclass(frozen=True)
class _Kept:
    """The learner of this process and what the database looked like when it was last asked."""

    learner: Learner
    database: str
    norms: Any
    logs: dict[str, Any]


_lock = threading.Lock()
_kept: list[_Kept] = []


def estimator(today: dt.date | None = None) -> Estimator:
    """Return the estimator as of today."""
    day = today or timezone.localdate()
    return Estimator(_learner(), outcomes_finished(), day.toordinal())


def outcomes_finished() -> tuple[float, ...]:
    """Return how the last finished quotes turned out, oldest first, as a bundle takes them."""
    outcomes = QuoteOutcome.objects.order_by("-finished_on", "-quote_number").values_list("mean", "spread", "hours")
    finished = [
        BundleHours(0, 0, mean, 0, spread).outcome(float(hours))
        for mean, spread, hours in outcomes[: bundle.WORKSHOP.last]
    ]
    return tuple(reversed(finished))


def log_as_data(row: HoursLog) -> Log:
    """Return a row as the learner takes it: against the norm as it stands now, not as it stood then."""
    norm = float(row.norm_hours) * float(row.operation.hours_likely) / float(row.norm_of_unit)
    who = str(row.technician_id or "")  # a blank name is shared with nobody
    return Log(row.pk, row.operation.code, who, norm, float(row.hours), row.finished_on.toordinal(), not row.counts)


def _learner() -> Learner:
    with _lock:
        database = str(connection.settings_dict["NAME"])
        norms = Operation.objects.aggregate(
            check=Sum(Cast("hours_likely", FloatField()) * Cast(F("id"), FloatField()))
        )["check"]
        logs = _state(HoursLog.objects.all())
        old = _kept[0] if _kept else None
        if old and (old.database, old.norms, old.logs) == (database, norms, logs):
            return old.learner
        learner = _grown(old, logs) if old and (old.database, old.norms) == (database, norms) else None
        if learner is None:
            learner = Learner(WORKSHOP, map(log_as_data, HoursLog.objects.select_related("operation")))
        _kept[:] = [_Kept(learner, database, norms, logs)]
        return learner


def _grown(old: _Kept, logs: dict[str, Any]) -> Learner | None:
    """Return the kept learner with the new rows taken in; None when old rows were changed or taken away."""
    if old.logs["last"] is None:
        return None
    new = HoursLog.objects.filter(pk__gt=old.logs["last"])
    more = _state(new)
    totals = ("rows", "counting", "hours", "norms", "units")
    if any((old.logs[name] or 0) + (more[name] or 0) != (logs[name] or 0) for name in totals):
        return None
    old.learner.add(map(log_as_data, new.select_related("operation")))
    return old.learner


def _state(rows: QuerySet[HoursLog]) -> dict[str, Any]:
    return rows.aggregate(
        rows=Count("pk"),
        last=Max("pk"),
        changed=Max("changed_at"),
        counting=Count("pk", filter=COUNTING),
        hours=Sum("hours"),
        norms=Sum("norm_hours"),
        units=Sum("norm_of_unit"),
    )
