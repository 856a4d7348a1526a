"""The planning problem: a shop, its people and places, and the work, as frozen dataclasses.

All moments are local and naive: the shop's own clock. Work happens in slots of ``slot_minutes`` counted from
``opens``. ``validate`` (its own module) says what is wrong with a problem; the dataclasses only carry it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import cached_property
from types import MappingProxyType

FLOOR, BENCH, SPRAY = "floor", "bench", "spray"
BOOKED_PLACES = (BENCH, SPRAY)
"""Places an operation takes for itself. A floor place is held by the whole job instead."""


@dataclass(frozen=True, slots=True, order=True)
class Stint:
    """One uninterrupted piece of work within one day; ``end`` is not included."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Technician:
    """A person, what they can do, and when they are away. ``workdays``: Monday is 0."""

    id: str
    skills: tuple[str, ...]
    workdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    leave: tuple[tuple[date, date], ...] = ()
    """First and last day of each leave, both away."""


@dataclass(frozen=True, slots=True)
class Places:
    """How many of each place the shop has."""

    floor: int
    bench: int
    spray: int

    def of(self, kind: str) -> int:
        """Number of places of a kind; raises KeyError unless ``floor``, ``bench`` or ``spray``."""
        return {FLOOR: self.floor, BENCH: self.bench, SPRAY: self.spray}[kind]


@dataclass(frozen=True, slots=True)
class Job:
    """One instrument's job. ``due`` None: never late. ``in_house``: on the floor when the plan starts."""

    id: str
    weight: float = 1
    due: date | None = None
    in_house: bool = False


@dataclass(frozen=True, slots=True)
class Fixed:
    """An appointment that must be kept: who, and when the work starts."""

    technician: str
    start: datetime


@dataclass(frozen=True, slots=True)
class Operation:
    """One task of a job. ``hours`` is work, ``wait_hours`` clock time after its end that occupies nobody."""

    id: str
    job: str
    hours: float
    skill: str
    place: str | None = None
    after: tuple[str, ...] = ()
    wait_hours: float = 0
    sessions: int = 1
    not_before: date | None = None
    fixed: Fixed | None = None


@dataclass(frozen=True, slots=True)
class Previous:
    """How an operation stood in the plan before this one."""

    technician: str
    stints: tuple[Stint, ...]


@dataclass(frozen=True)
class Problem:
    """Everything a plan must honour. ``opens`` and ``closes`` bound the day; it has no lunch gap."""

    name: str
    start: date
    opens: time
    closes: time
    technicians: tuple[Technician, ...]
    places: Places
    jobs: tuple[Job, ...]
    operations: tuple[Operation, ...]
    slot_minutes: int = 30
    workdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    holidays: tuple[date, ...] = ()
    now: datetime | None = None
    previous: Mapping[str, Previous] = field(default_factory=lambda: MappingProxyType({}))

    @cached_property
    def operation_by_id(self) -> dict[str, Operation]:
        """Operations under their id."""
        return {operation.id: operation for operation in self.operations}

    @cached_property
    def job_by_id(self) -> dict[str, Job]:
        """Jobs under their id."""
        return {job.id: job for job in self.jobs}

    @cached_property
    def technician_by_id(self) -> dict[str, Technician]:
        """Technicians under their id."""
        return {technician.id: technician for technician in self.technicians}

    @cached_property
    def day_minutes(self) -> int:
        """Minutes of one working day."""
        return minutes_of(self.closes) - minutes_of(self.opens)

    def slots_of(self, operation: Operation) -> int:
        """Work of an operation in slots, rounded to the nearest (``validate`` refuses hours off the grid)."""
        return round(operation.hours * 60 / self.slot_minutes)

    def started(self, operation_id: str) -> Previous | None:
        """The previous work of an operation begun before ``now``, which this plan may not move; else None."""
        previous = self.previous.get(operation_id)
        if self.now is None or previous is None or not previous.stints:
            return None
        return previous if previous.stints[0].start < self.now else None


def minutes_of(clock: time) -> int:
    """Minutes since midnight."""
    return clock.hour * 60 + clock.minute


def day_text(day: date) -> str:
    """A date as people write it: ``Fri 12 Mar 2027``."""
    return f"{day:%a} {day.day} {day:%b %Y}"


def moment_text(moment: datetime) -> str:
    """A moment as people write it: ``Fri 12 Mar 2027 10:30``."""
    return f"{day_text(moment)} {moment:%H:%M}"
