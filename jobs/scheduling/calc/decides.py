"""What decides a job's date: walks back from its last end and names what each stretch waited for."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum

from jobs.scheduling.calc.problem import BENCH, FLOOR, SPRAY, Operation, Problem, Stint
from jobs.scheduling.calc.solution import Hold, Solution, Work

DAY = timedelta(days=1)
HOUR = timedelta(hours=1)


class Kind(StrEnum):
    """What a stretch of a job's time was spent on."""

    WORK = "work"
    WAIT = "wait"
    PART = "part"
    PERSON = "person"
    AWAY = "away"
    PLACE = "place"
    APPOINTMENT = "appointment"
    ROOM = "room"
    """Free, but too short a stretch for the task: before another booking, a leave or the end of the day."""
    BEGIN = "begin"
    """Nothing held the task up before: it is the job's first."""


@dataclass(frozen=True, slots=True)
class Link:
    """One stretch. ``who``: technician or place waited for; ``behind``: operations or jobs in the way."""

    kind: Kind
    operation: str
    start: datetime
    end: datetime
    who: str = ""
    behind: tuple[str, ...] = ()

    @property
    def days(self) -> float:
        """Clock days of the stretch."""
        return (self.end - self.start) / DAY


@dataclass(frozen=True, slots=True)
class Decider:
    """Why a job ends when it does. ``days``: clock days of the main reason; ``links``: the whole chain."""

    job: str
    kind: Kind
    who: str
    days: float
    links: tuple[Link, ...]


def job_decider(problem: Problem, solution: Solution, job_id: str) -> Decider:
    """What decides the last end of a job. Raises ValueError if the job has no work in the plan.

    Links follow each other without a gap up to its last end. The main reason is what took the most clock
    time, links of one kind and the same person or place taken together.
    """
    own = [operation for operation in problem.operations if operation.job == job_id]
    planned = [operation for operation in own if operation.id in solution.operations]
    if not planned:
        raise ValueError(f"Job {job_id} has no work in the plan.")
    return _Walk(problem, solution).decider(job_id, max(planned, key=lambda o: solution.operations[o.id].end))


def job_deciders(problem: Problem, solution: Solution) -> dict[str, Decider]:
    """What decides the last end of each job that has work in the plan; see ``job_decider``."""
    walk, last = _Walk(problem, solution), dict[str, Operation]()
    for operation in problem.operations:
        if operation.id in solution.operations:
            known = last.get(operation.job)
            if known is None or solution.operations[operation.id].end > solution.operations[known.id].end:
                last[operation.job] = operation
    return {job: walk.decider(job, operation) for job, operation in last.items()}


def task_links(problem: Problem, solution: Solution, operation_id: str) -> tuple[Link, ...]:
    """What the time before one operation was spent on, in order, from the end of its last prerequisite.

    Empty when it begins at once. Raises KeyError if the operation is not in the plan.
    """
    operation = problem.operation_by_id[operation_id]
    links, _ = _Walk(problem, solution).before(operation)
    return tuple(reversed([link for link in links if link.end > link.start]))


class _Walk:
    def __init__(self, problem: Problem, solution: Solution) -> None:
        self.problem = problem
        self.works = solution.operations
        self.holds: dict[str, list[Hold]] = defaultdict(list)
        for hold in solution.holds(problem):
            self.holds[hold.place].append(hold)
        self.booked: dict[str, list[tuple[Stint, str]]] = defaultdict(list)
        for key, work in self.works.items():
            self.booked[work.technician] += [(stint, key) for stint in work.stints]
        self.begin = max(datetime.combine(problem.start, problem.opens), problem.now or datetime.min)  # noqa: DTZ901

    def decider(self, job_id: str, last: Operation) -> Decider:
        links: list[Link] = []
        following: Operation | None = last
        while following is not None:
            operation = following
            work = self.works[operation.id]
            links.append(Link(Kind.WORK, operation.id, work.start, work.end, work.technician))
            earlier, following = self.before(operation)
            links += earlier
        chain = tuple(reversed([link for link in links if link.end > link.start]))
        kind, who, spent = _main(chain)
        return Decider(job_id, kind, who, spent / DAY, chain)

    def before(self, operation: Operation) -> tuple[list[Link], Operation | None]:
        """The stretches before an operation, last first, back to the end of the prerequisite that was last."""
        work = self.works[operation.id]
        ready, before = self._ready(operation)
        links = self._held_up(operation, work, ready) if ready < work.start else []
        if before is not None and self.works[before.id].end < ready:
            links.append(Link(Kind.WAIT, before.id, self.works[before.id].end, min(ready, work.start)))
        return links, before

    def _ready(self, operation: Operation) -> tuple[datetime, Operation | None]:
        """When the prerequisites and their waits were over, and the one that was last."""
        ready, last = self.begin, None
        for key in operation.after:
            before = self.problem.operation_by_id[key]
            if key in self.works:
                free = self.works[key].end + HOUR * before.wait_hours
                if last is None or free > ready:
                    ready, last = free, before
        return min(ready, self.works[operation.id].start), last

    def _held_up(self, operation: Operation, work: Work, ready: datetime) -> list[Link]:
        """The stretch between being ready and starting, last part first."""
        links = []
        parts = operation.not_before
        free = max(ready, datetime.combine(parts, time())) if parts else ready
        hours_lost = self._last_open_slot(work.technician, free, work.start)
        if hours_lost is not None:
            links.append(self._reason(operation, work, free, hours_lost))
        elif free < work.start and work.start > self._opening(free):
            links.append(Link(Kind.AWAY, operation.id, free, work.start, work.technician))
        elif free < work.start:  # only a night, a weekend or a closure: belongs to what went before
            links.append(Link(Kind.BEGIN if free == self.begin else Kind.WORK, operation.id, free, work.start))
        if ready < free:
            links.append(Link(Kind.PART, operation.id, ready, free))
        return links

    def _reason(self, operation: Operation, work: Work, ready: datetime, slot: datetime) -> Link:
        """Why the technician's last slot before the start was not used for this."""
        until = work.start
        if operation.fixed:
            return Link(Kind.APPOINTMENT, operation.id, ready, until, work.technician)
        busy = self._busy(work.technician, slot)
        place, holders = self._full_place(operation, slot)
        if place and (not busy or self._someone_free(operation.skill, slot)):
            return Link(Kind.PLACE, operation.id, ready, until, place, holders)
        kind = Kind.PERSON if busy else Kind.ROOM
        return Link(kind, operation.id, ready, until, work.technician, busy)

    def _busy(self, who: str, moment: datetime) -> tuple[str, ...]:
        """What a technician is doing at a moment."""
        return tuple(key for stint, key in self.booked[who] if stint.start <= moment < stint.end)

    def _someone_free(self, skill: str, moment: datetime) -> bool:
        """Whether anyone with the skill is at work with nothing to do: then it was not people that lacked."""
        able = (person.id for person in self.problem.technicians if skill in person.skills)
        return any(self._at_work(who, moment.date()) and not self._busy(who, moment) for who in able)

    def _full_place(self, operation: Operation, moment: datetime) -> tuple[str, tuple[str, ...]]:
        """The place the operation needs that is full at a moment, and who holds it; empty when none is."""
        if operation.place in (BENCH, SPRAY):
            holders = self._holders(operation.place, moment, but=operation.id)
            if len(holders) >= self.problem.places.of(operation.place):
                return operation.place, holders
        inside = self._holders(FLOOR, moment, but="")
        if operation.job not in inside and len(inside) >= self.problem.places.floor:
            return FLOOR, inside
        return "", ()

    def _holders(self, place: str, moment: datetime, *, but: str) -> tuple[str, ...]:
        return tuple(
            hold.holder for hold in self.holds[place] if hold.start <= moment < hold.end and hold.holder != but
        )

    def _last_open_slot(self, who: str, start: datetime, end: datetime) -> datetime | None:
        """Start of the technician's last working slot within [start, end), or None."""
        slot = timedelta(minutes=self.problem.slot_minutes)
        day = end.date()
        while day >= start.date():
            if self._at_work(who, day):
                opens = datetime.combine(day, self.problem.opens)
                last = min(datetime.combine(day, self.problem.closes), end) - slot
                if last >= opens and last >= start:
                    return last
            day -= DAY
        return None

    def _at_work(self, who: str, day: date) -> bool:
        technician = self.problem.technician_by_id[who]
        away = any(first <= day <= last for first, last in technician.leave)
        return self._open(day) and day.weekday() in technician.workdays and not away

    def _open(self, day: date) -> bool:
        problem = self.problem
        return day >= problem.start and day.weekday() in problem.workdays and day not in problem.holidays

    def _opening(self, moment: datetime) -> datetime:
        """The first moment the shop is open at or after a moment."""
        day = moment.date()
        while not (self._open(day) and moment < datetime.combine(day, self.problem.closes)):
            day += DAY
            moment = datetime.combine(day, time())
        return max(moment, datetime.combine(day, self.problem.opens))


def _main(chain: tuple[Link, ...]) -> tuple[Kind, str, timedelta]:
    """Kind and person or place with the most clock time; work counts as one whoever does it."""
    spent: dict[tuple[Kind, str], timedelta] = defaultdict(timedelta)
    for link in chain:
        spent[link.kind, "" if link.kind is Kind.WORK else link.who] += link.end - link.start
    kind, who = max(spent, key=lambda key: spent[key])
    return kind, who, spent[kind, who]
