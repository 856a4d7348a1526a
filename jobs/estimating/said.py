"""What is expected of tasks and on what evidence, wherever hours appear: a sentence, for whom, and a small picture.

The logs are those the learner of the process holds: however many tasks a page shows, they cost no question more.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from jobs.estimating.calc.task_hours import TaskHours
from jobs.estimating.estimator import Estimator
from jobs.estimating.picture import SmallPicture, small_picture
from jobs.estimating.services import hours_sentence
from jobs.intake.models import Instrument
from jobs.operations.calc import catalogue as data
from jobs.operations.models import Operation
from workshop.people.models import Person


@dataclass(frozen=True)
class HoursSaid:
    """What a page says of the hours of one task; ``whom``: "Computed for Corin." """

    sentence: str
    whom: str
    picture: SmallPicture


@dataclass(frozen=True)
class Asked:
    """One task a page shows: its work, how many units on what kind of instrument, its figures.

    ``technician``: whose logs speak, where they do (``TaskHours.own``).
    """

    operation: Operation | data.Operation
    quantity: Decimal
    kind: str
    hours: TaskHours
    technician: Person | None = None

    @property
    def size(self) -> float:
        """Return the hours of this task for one hour of a unit on a grand."""
        upright = float(self.operation.upright_factor) if self.kind == Instrument.Kind.UPRIGHT else 1.0
        return float(self.quantity) * upright


def hours_said(asked: Sequence[Asked], given: Estimator, *, until: dt.date | None = None) -> list[HoursSaid]:
    """Return what to say of some tasks, in their order; with ``until`` only logs finished by that day speak."""
    last = None if until is None else until.toordinal()
    return [_said(one, given, last) for one in asked]


def _said(one: Asked, given: Estimator, until: int | None) -> HoursSaid:
    who = one.technician if one.hours.own else None
    marks = {"kind": one.operation.code} | ({"technician": str(who.pk)} if who else {})
    unit = float(one.operation.hours_likely) * one.size
    logs = [ratio * unit for ratio in given.learner.outcomes(marks, until)]
    hours = replace(one.hours, logs=len(logs), least=min(logs) if logs else None, most=max(logs) if logs else None)
    return HoursSaid(
        sentence=hours_sentence(hours, str(who) if who else ""),
        whom=f"Computed for {who}." if who else "Computed for the whole shop.",
        picture=small_picture(logs, norm=hours.norm, likely=hours.likely, figure_80=hours.figure_80),
    )
