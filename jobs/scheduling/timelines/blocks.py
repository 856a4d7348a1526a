"""Stints gathered into what is drawn: a task as a block, work on one instrument day after day as a run."""

import datetime as dt
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from django.utils import timezone

from jobs.scheduling.models import JobEnd, Promise, Stint
from jobs.scheduling.timelines.dates import SURE, help_words, often_words
from jobs.worklist.models import Job, Task
from workshop.people.models import Person

STATES = {"begun": "begun", "planned": "planned", "draft": "waits for an answer", "done": "done since"}


def local(moment: dt.datetime) -> dt.datetime:
    """Return a moment on the shop's own clock, without its zone."""
    # The zone of the settings is at hand; asking for the one in force costs more than the sum, thousands of times.
    return moment.astimezone(timezone.get_default_timezone()).replace(tzinfo=None)


@dataclass(frozen=True)
class Block:
    """One task as the plan has it: who, from when to when, local; ``hours`` planned."""

    task: Task
    person: Person
    starts: dt.datetime
    ends: dt.datetime
    hours: float
    state: str

    @property
    def state_words(self) -> str:
        """Return how far it is, in words."""
        return STATES[self.state]


@dataclass
class Run:
    """Work on one instrument on days that follow each other; ``others``: instruments of the same days beside it."""

    job: Job
    state: str
    starts: dt.datetime
    ends: dt.datetime
    blocks: dict[int, Block] = field(default_factory=dict)
    others: dict[int, Block] = field(default_factory=dict)

    @property
    def other_numbers(self) -> list[int]:
        """Return the numbers of the instruments beside the main one."""
        return sorted({block.task.job.instrument.number for block in self.others.values()})


@dataclass(frozen=True)
class JobRow:
    """One job in the plan: its end, its promise, and what decides it."""

    job: Job
    end: JobEnd | None
    promise: Promise | None

    @property
    def days(self) -> int | None:
        """Return the days in hand before the promise; below nought: late."""
        if self.end is None or self.promise is None:
            return None
        return (self.promise.date - self.end.ends_on).days

    @property
    def chance(self) -> Decimal | None:
        """Return the chance of the promise as the plan's futures have it; None where one of them is missing."""
        return self.end.chance_by(self.promise.date) if self.end and self.promise else None

    @property
    def unsure(self) -> bool:
        """Tell whether the promise holds less often than 8 times in 10."""
        return self.chance is not None and self.chance < SURE

    @property
    def often(self) -> str:
        """Return what decides the date most often in the futures; empty where they were not followed."""
        return often_words(self.end)

    @property
    def help(self) -> str:
        """Return the one change that would help most; empty where none was tried."""
        return help_words(self.end)

    @property
    def days_late(self) -> int:
        """Return the days from the promise to the planned end; 0 when in time or not promised."""
        return max(0, -(self.days or 0))


def state_of(task: Task, held: Collection[int]) -> str:
    """Return how a task is drawn: begun, planned, draft while an answer is awaited, done since the plan was made."""
    if task.state in (Task.State.DONE, Task.State.LEFT_OUT):
        return "done"
    if task.state == Task.State.AT_WORK:
        return "begun"
    return "draft" if task.pk in held else "planned"


def blocks_of(stints: Iterable[Stint], held: Collection[int]) -> dict[int, Block]:
    """Return one block a task, from its first stint to its last."""
    found: dict[int, Block] = {}
    for stint in stints:
        starts, ends = local(stint.starts_at), local(stint.ends_at)
        hours = (ends - starts) / dt.timedelta(hours=1)
        known = found.get(stint.task_id)
        if known is None:
            state = state_of(stint.task, held)
            found[stint.task_id] = Block(stint.task, stint.person, starts, ends, hours, state)
        else:
            found[stint.task_id] = Block(
                known.task, known.person, known.starts, max(known.ends, ends), known.hours + hours, known.state
            )
    return found


def runs_of_people(
    stints: Iterable[Stint], blocks: dict[int, Block], workdays: Collection[int]
) -> dict[int, list[Run]]:
    """Return what each person does in turn: person -> runs. A day is the smallest piece.

    A day belongs to the instrument most of its hours go to; days that follow each other for one instrument in
    one state are one run, so that no bar hides another and no bar covers a day away.
    """
    days: dict[tuple[int, dt.date], list[Stint]] = {}
    for stint in stints:
        days.setdefault((stint.person_id, local(stint.starts_at).date()), []).append(stint)
    runs: dict[int, list[Run]] = {}
    for (person, _), own in days.items():
        day = _day_run(own, blocks)
        earlier = runs.setdefault(person, [])
        last = earlier[-1] if earlier else None
        if (
            last is not None
            and (last.job.pk, last.state) == (day.job.pk, day.state)
            and not free_day_between(last.ends, day.starts, workdays)
        ):
            last.ends = day.ends
            last.blocks |= day.blocks
            last.others |= day.others
        else:
            earlier.append(day)
    return runs


def _day_run(stints: list[Stint], blocks: dict[int, Block]) -> Run:
    """Return one person's day as a run of the instrument most of its hours go to."""
    hours: dict[tuple[int, str], dt.timedelta] = {}
    for stint in stints:
        kind = (stint.task.job_id, blocks[stint.task_id].state)
        hours[kind] = hours.get(kind, dt.timedelta()) + (stint.ends_at - stint.starts_at)
    job, state = max(hours, key=lambda kind: hours[kind])
    main = {one.task_id: blocks[one.task_id] for one in stints if one.task.job_id == job}
    others = {one.task_id: blocks[one.task_id] for one in stints if one.task.job_id != job}
    starts, ends = local(stints[0].starts_at), max(local(one.ends_at) for one in stints)
    return Run(next(iter(main.values())).task.job, state, starts, ends, main, others)


def runs_of_jobs(
    stints: Iterable[Stint],
    blocks: dict[int, Block],
    workdays: Collection[int],
    rests: Collection[tuple[str, dt.datetime]],
) -> dict[int, list[Run]]:
    """Return when somebody works on each instrument: job -> runs. A run is begun when any task in it is.

    ``rests``: number of the instrument and moment at which a rest begins; a run ends there.
    """
    runs: dict[int, list[Run]] = {}
    for stint in stints:
        block, own = blocks[stint.task_id], runs.setdefault(stint.task.job_id, [])
        starts, ends = local(stint.starts_at), local(stint.ends_at)
        last = own[-1] if own else None
        number = str(stint.task.job.instrument.number)
        if last is None or (number, last.ends) in rests or free_day_between(last.ends, starts, workdays):
            own.append(last := Run(stint.task.job, block.state, starts, ends))
        last.ends = max(last.ends, ends)
        last.blocks[stint.task_id] = block
        if block.state == "begun" or last.state == "done":
            last.state = block.state
    return runs


def free_day_between(ends: dt.datetime, starts: dt.datetime, workdays: Collection[int]) -> bool:
    """Tell whether a weekday of the shop lies wholly between two moments."""
    day = ends.date() + dt.timedelta(days=1)
    while day < starts.date():
        if day.weekday() in workdays:
            return True
        day += dt.timedelta(days=1)
    return False
