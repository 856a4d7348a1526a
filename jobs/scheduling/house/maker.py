"""Rows turned into the plain records of the planning core."""

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from django.utils import timezone

from jobs.scheduling.calc.problem import BOOKED_PLACES, Job, Operation, Technician
from jobs.scheduling.house.names import job_key, own_key, person_key, skill_key, task_key
from jobs.scheduling.house.rows import held_by_variation, parts_awaited, promised_days
from jobs.supplies.queries import arrivals
from jobs.worklist.models import Job as JobRow
from jobs.worklist.models import Task
from workshop.calendar.words import day_words
from workshop.house.models import Shop
from workshop.people.models import Person

ANSWER_DAYS = 7  # a client is given this long to answer a variation before its tasks are planned; our judgement


class HoldKind(StrEnum):
    """Why a task cannot begin before a day."""

    PART = "part"
    ARRIVAL = "arrival"
    REST = "rest"
    ANSWER = "answer"


@dataclass(frozen=True, slots=True, order=True)
class Hold:
    """The first day a task can begin, and why not before."""

    day: dt.date
    kind: HoldKind
    words: str


def slot_hours(hours: float, slot_minutes: int) -> float:
    """Return hours rounded up to whole slots, one slot at least."""
    slots = max(1, math.ceil(round(hours * 60 / slot_minutes, 6)))
    return slots * slot_minutes / 60


def session_count(hours: float, sessions: int, slot_minutes: int, day_hours: float) -> int:
    """Return how many sessions the hours allow: at least a slot each, none longer than the shop's day.

    ``hours`` are whole slots; sessions are as even as the slots allow, so the longest is rounded up.
    """
    if sessions <= 1:
        return 1
    slots = round(hours * 60 / slot_minutes)
    day_slots = max(1, math.floor(round(day_hours * 60 / slot_minutes, 6)))
    return max(1, math.ceil(slots / day_slots), min(sessions, slots))


def hours_left(task: Task, logged_minutes: int) -> Decimal:
    """Return the hours still to work: as the technician said, else the likely hours less those logged.

    A task that has used up its likely hours is counted with a tenth of them, an hour at least, until somebody
    says what is left: work that is not closed is not nothing.
    """
    if task.hours_left is not None:
        return task.hours_left
    left = task.hours_likely - Decimal(logged_minutes) / 60
    return left if left > 0 else max(Decimal(1), task.hours_likely / 10)


class Maker:
    """Turns rows into records. ``now`` is the first slot of the plan, local.

    ``logged``: task -> minutes already worked; ``working``: task -> person who has it in hand.
    """

    def __init__(
        self,
        shop: Shop,
        now: dt.datetime,
        tasks: Mapping[str, Task],
        people: Mapping[str, Person],
        logged: Mapping[int, int],
        working: Mapping[int, int],
    ) -> None:
        self.shop, self.now, self.tasks, self.logged = shop, now, tasks, logged
        self.working = {task: person for task, person in working.items() if person_key(person) in people}
        opens, closes = (dt.datetime.combine(now.date(), clock) for clock in (shop.opens, shop.closes))
        self.day_hours = (closes - opens) / dt.timedelta(hours=1)
        keys = [task.pk for task in tasks.values()]
        self.arrivals = arrivals(keys, today=now.date())
        self.parts = parts_awaited(keys)
        self.promises = promised_days()
        self.held = held_by_variation()
        self.own: dict[int, list[str]] = defaultdict(list)
        for task, person in self.working.items():
            if task_key(task) in tasks:
                self.own[person].append(own_key(task))

    def technician(self, person: Person) -> Technician:
        """Return a person with skills, days and leave; begun work is a skill only they have."""
        skills = [skill_key(skill.code) for skill in person.skills.all()]
        leave = tuple((leave.first_day, leave.last_day) for leave in person.leaves.all())
        return Technician(person_key(person.pk), (*skills, *self.own[person.pk]), tuple(person.workdays), leave)

    def job(self, job: JobRow) -> Job:
        """Return a job with its standing promise."""
        return Job(
            id=job_key(job.pk),
            weight=job.weight,
            due=self.promises.get(job.pk),
            in_house=job.booked_in_on is not None,
        )

    def operation(self, task: Task) -> Operation:
        """Return what is left of a task."""
        left = float(hours_left(task, self.logged.get(task.pk, 0)))
        hours = slot_hours(left, self.shop.slot_minutes)
        hold = self.hold(task)
        return Operation(
            id=task_key(task.pk),
            job=job_key(task.job_id),
            hours=hours,
            skill=own_key(task.pk) if task.pk in self.working else skill_key(task.skill.code),
            place=task.work_place if task.work_place in BOOKED_PLACES else None,
            after=tuple(task_key(first.pk) for first in task.after.all() if task_key(first.pk) in self.tasks),
            wait_hours=task.wait_hours,
            sessions=session_count(hours, task.sessions, self.shop.slot_minutes, self.day_hours),
            not_before=hold.day if hold else None,
        )

    def hold(self, task: Task) -> Hold | None:
        """Return the hold that ends last: parts, arrival of the instrument, rests after done work, an answer."""
        holds = [self._rested(first) for first in task.after.all()]
        parts = self.arrivals.get(task.pk)
        if parts is not None:
            name, ordered = self.parts.get(task.pk, ("parts", True))
            when = f"expected {day_words(parts)}" if ordered else f"not ordered yet, {day_words(parts)} at the earliest"
            holds.append(Hold(parts, HoldKind.PART, f"{name}: {when}"))
        if task.job.arrives_on is not None:
            day = task.job.arrives_on
            holds.append(Hold(day, HoldKind.ARRIVAL, f"the instrument arrives {day_words(day)} at the earliest"))
        if task.pk in self.held:
            day = self.now.date() + dt.timedelta(days=ANSWER_DAYS)
            holds.append(Hold(day, HoldKind.ANSWER, f"the client’s answer to variation {self.held[task.pk]}"))
        return max((one for one in holds if one is not None and one.day > self.now.date()), default=None)

    def _rested(self, first: Task) -> Hold | None:
        """Return the rest after work already done, while it lasts; a task begins on the morning after it."""
        if first.state != Task.State.DONE or first.done_at is None or not first.wait_hours:
            return None
        over = timezone.localtime(first.done_at + dt.timedelta(hours=first.wait_hours)).replace(tzinfo=None)
        if over <= self.now:
            return None
        day = over.date() if over.time() <= self.shop.opens else over.date() + dt.timedelta(days=1)
        return Hold(day, HoldKind.REST, f"{first.wait_reason or 'rest'} after “{first.name}”")
