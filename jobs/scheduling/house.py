"""The planning problem of this house, read from the database. Nothing is changed here.

Tasks are named by their key, jobs by theirs, people by theirs, all as text: the planning core knows no rows.
"""

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from django.db.models import Sum
from django.utils import timezone

from jobs.operations.models import Operation as Catalogued
from jobs.operations.models import Stage
from jobs.scheduling.calc.problem import BOOKED_PLACES, Job, Operation, Places, Problem, Technician
from jobs.scheduling.models import Promise
from jobs.supplies.queries import arrivals
from jobs.worklist.models import Job as JobRow
from jobs.worklist.models import Task, Variation
from workshop.calendar.queries import closed_days
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.people.models import Person
from workshop.places.models import Place

HORIZON_DAYS = 1100  # public holidays and leave are known to the plan this far ahead
ANSWER_DAYS = 7  # a client is given this long to answer a variation before its tasks are planned; our judgement
OWN_WORK = "only-"  # prefix of the private skill that keeps begun work with the person who began it


@dataclass(frozen=True)
class House:
    """A problem with the rows behind its names, and what had to be said while reading them."""

    problem: Problem
    tasks: Mapping[str, Task]
    jobs: Mapping[str, JobRow]
    people: Mapping[str, Person]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Extra:
    """Work that is not in the house yet, for a what-if: one job with its operations, and when it could arrive."""

    job: Job
    operations: tuple[Operation, ...] = field(default_factory=tuple)


def house_problem(
    *,
    at: dt.datetime,
    logged: Mapping[int, int] | None = None,
    working: Mapping[int, int] | None = None,
    extra: Iterable[Extra] = (),
) -> House:
    """Return the problem of the whole house from ``at`` on.

    ``logged``: task -> minutes already worked, ``working``: task -> person who has it in hand; both belong to
    the step of hours and are handed in. ``extra`` are jobs to try out. Raises ValueError if the shop's own
    week cannot be planned in.
    """
    shop = the_shop()
    local = timezone.localtime(at)
    now = next_slot(local.replace(tzinfo=None), shop)
    closed = closed_days(shop, now.date(), now.date() + dt.timedelta(days=HORIZON_DAYS))
    jobs = {str(job.pk): job for job in _planned_jobs()}
    tasks = {str(task.pk): task for task in _planned_tasks(jobs.values())}
    people = {str(person.pk): person for person in _people()}
    maker = _Maker(shop, now, tasks, logged or {}, working or {}, people)
    extras = tuple(extra)
    problem = Problem(
        name=shop.name,
        start=now.date(),
        opens=shop.opens,
        closes=shop.closes,
        technicians=tuple(maker.technician(person) for person in people.values()),
        places=_places(jobs.values(), tasks.values()),
        jobs=tuple(maker.job(job) for job in jobs.values()) + tuple(one.job for one in extras),
        operations=tuple(maker.operation(task) for task in tasks.values())
        + tuple(operation for one in extras for operation in one.operations),
        slot_minutes=shop.slot_minutes,
        workdays=tuple(shop.workdays),
        holidays=tuple(closed),
        now=now,
    )
    return House(problem, tasks, jobs, people, tuple(maker.notes))


def next_slot(moment: dt.datetime, shop: Shop) -> dt.datetime:
    """Return the first slot of the shop's day that begins at or after a local moment; next morning if none."""
    opens = dt.datetime.combine(moment.date(), shop.opens)
    closes = dt.datetime.combine(moment.date(), shop.closes)
    if moment <= opens:
        return opens
    slots = math.ceil((moment - opens) / dt.timedelta(minutes=shop.slot_minutes))
    start = opens + slots * dt.timedelta(minutes=shop.slot_minutes)
    return start if start < closes else opens + dt.timedelta(days=1)


def slot_hours(hours: float, slot_minutes: int) -> float:
    """Return hours rounded up to whole slots, one slot at least."""
    slots = max(1, math.ceil(round(hours * 60 / slot_minutes, 6)))
    return slots * slot_minutes / 60


def session_count(hours: float, sessions: int, slot_minutes: int, day_hours: float) -> int:
    """Return how many sessions the hours allow: at least a slot each, none longer than the shop's day."""
    if sessions <= 1:
        return 1
    slots = round(hours * 60 / slot_minutes)
    needed = math.ceil(hours / day_hours)
    return max(1, needed, min(sessions, slots))


class _Maker:
    """Turns rows into the plain records of the planning core."""

    def __init__(
        self,
        shop: Shop,
        now: dt.datetime,
        tasks: Mapping[str, Task],
        logged: Mapping[int, int],
        working: Mapping[int, int],
        people: Mapping[str, Person],
    ) -> None:
        self.shop, self.now, self.tasks, self.logged = shop, now, tasks, logged
        self.working = {task: person for task, person in working.items() if str(person) in people}
        self.day_hours = (
            dt.datetime.combine(now.date(), shop.closes) - dt.datetime.combine(now.date(), shop.opens)
        ) / dt.timedelta(hours=1)
        self.arrivals = arrivals([task.pk for task in tasks.values()], today=now.date())
        self.promises = _promises()
        self.held = _held()
        self.own: dict[int, list[str]] = defaultdict(list)
        for task, person in self.working.items():
            if str(task) in tasks:
                self.own[person].append(f"{OWN_WORK}{task}")
        self.notes: list[str] = []

    def technician(self, person: Person) -> Technician:
        skills = [skill.code for skill in person.skills.all()]
        leave = tuple((leave.first_day, leave.last_day) for leave in person.leaves.all())
        return Technician(str(person.pk), (*skills, *self.own[person.pk]), tuple(person.workdays), leave)

    def job(self, job: JobRow) -> Job:
        return Job(
            id=str(job.pk),
            weight=job.weight,
            due=self.promises.get(job.pk),
            in_house=job.booked_in_on is not None,
        )

    def operation(self, task: Task) -> Operation:
        left = float(hours_left(task, self.logged.get(task.pk, 0)))
        hours = slot_hours(left, self.shop.slot_minutes)
        before = [first for first in task.after.all() if str(first.pk) in self.tasks]
        return Operation(
            id=str(task.pk),
            job=str(task.job_id),
            hours=hours,
            skill=f"{OWN_WORK}{task.pk}" if task.pk in self.working else task.skill.code,
            place=task.work_place if task.work_place in BOOKED_PLACES else None,
            after=tuple(str(first.pk) for first in before),
            wait_hours=task.wait_hours,
            sessions=session_count(hours, task.sessions, self.shop.slot_minutes, self.day_hours),
            not_before=self._not_before(task),
        )

    def _not_before(self, task: Task) -> dt.date | None:
        """Return the first day a task can start: parts, arrival of the instrument, waits of done work, answers."""
        days = [self.arrivals.get(task.pk), task.job.arrives_on]
        days += [self._rested(first) for first in task.after.all()]
        if task.pk in self.held:
            days.append(self.now.date() + dt.timedelta(days=ANSWER_DAYS))
        later = [day for day in days if day is not None and day > self.now.date()]
        return max(later, default=None)

    def _rested(self, first: Task) -> dt.date | None:
        """Return the day on which the wait after work already done is over."""
        if first.state != Task.State.DONE or first.done_at is None or not first.wait_hours:
            return None
        over = timezone.localtime(first.done_at + dt.timedelta(hours=first.wait_hours)).replace(tzinfo=None)
        return over.date() if over.time() <= self.shop.opens else over.date() + dt.timedelta(days=1)


def hours_left(task: Task, logged_minutes: int) -> Decimal:
    """Return the hours still to work: as the technician said, else the likely hours less those logged.

    A task that has used up its likely hours is counted with a tenth of them, an hour at least, until somebody
    says what is left: work that is not closed is not nothing.
    """
    if task.hours_left is not None:
        return task.hours_left
    left = task.hours_likely - Decimal(logged_minutes) / 60
    return left if left > 0 else max(Decimal(1), task.hours_likely / 10)


def is_after_return(task: Task) -> bool:
    """Tell whether a task is done at the client's home once the instrument has gone back.

    Such visits are agreed with the client one by one; planned as work of the house they would hold its floor
    place for weeks after it left.
    """
    return task.stage == Stage.FINISH and task.work_place == Catalogued.WorkPlace.HOME


def _planned_jobs() -> list[JobRow]:
    states = (JobRow.State.ACCEPTED, JobRow.State.IN_HOUSE, JobRow.State.READY)
    return list(JobRow.objects.filter(state__in=states).select_related("instrument__client").order_by("pk"))


def _planned_tasks(jobs: Iterable[JobRow]) -> list[Task]:
    rows = (
        Task.objects.filter(job__in=[job.pk for job in jobs], state__in=(Task.State.TO_COME, Task.State.AT_WORK))
        .select_related("job__instrument", "skill", "operation")
        .prefetch_related("after")
        .order_by("job", "position", "pass_number", "pk")
    )
    return [task for task in rows if not is_after_return(task)]


def _people() -> list[Person]:
    return list(
        Person.objects.filter(is_active=True, on_the_bench=True).prefetch_related("skills", "leaves").order_by("pk")
    )


def _places(jobs: Iterable[JobRow], tasks: Iterable[Task]) -> Places:
    """Return the places of the shop; a finished instrument that waits for its owner takes a floor place away."""
    rows = Place.objects.filter(in_use=True).values("kind").annotate(total=Sum("holds"))
    holds = {row["kind"]: row["total"] for row in rows}
    with_work = {task.job_id for task in tasks}
    idle = sum(1 for job in jobs if job.booked_in_on and job.pk not in with_work)
    floor = holds.get(Place.Kind.FLOOR, 0) - idle
    return Places(max(0, floor), holds.get(Place.Kind.BENCH, 0), holds.get(Place.Kind.SPRAY, 0))


def _promises() -> dict[int, dt.date]:
    """Return the standing promise of each job: the newest."""
    standing: dict[int, dt.date] = {}
    for job, day in Promise.objects.order_by("given_at", "pk").values_list("job", "date"):
        standing[job] = day
    return standing


def _held() -> set[int]:
    """Return the tasks held by a variation nobody has answered."""
    waiting = Variation.objects.filter(state__in=(Variation.State.FOUND, Variation.State.SENT))
    return {task for task in waiting.values_list("affects", flat=True) if task is not None}
