"""Fitting one more job into a plan that stays as it is: the earliest gaps its people, places and floor leave.

Everything already planned keeps its moment, so nobody else moves and no promise is touched by what is fitted in. Walks
days and clock times, not the solver's slots, and needs nothing compiled. Operation after operation takes the earliest
end any able technician can give it (serial schedule generation: Kolisch, European Journal of Operational Research 90,
1996; from memory); of two orders of a job's own operations the one that ends first is kept.
"""

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from jobs.scheduling.calc.problem import FLOOR, Operation, Problem, Stint, Technician
from jobs.scheduling.calc.solution import Hold, Work

DAY = timedelta(days=1)
EVER, NEVER = datetime.combine(date.min, time()), datetime.combine(date.max, time())
HORIZON_DAYS = 1100
"""As far as holidays are known; what does not fit until then does not fit."""

Span = tuple[datetime, datetime]


def full_spans(holds: Iterable[Span], capacity: int) -> list[Span]:
    """The stretches, in order and apart, in which at least ``capacity`` holds overlap; holds are half open."""
    changes: dict[datetime, int] = defaultdict(int)
    for start, end in holds:
        if start < end:
            changes[start] += 1
            changes[end] -= 1
    found: list[Span] = []
    level, since = 0, None if capacity > 0 else EVER
    for moment in sorted(changes):
        level += changes[moment]
        if level >= capacity and since is None:
            since = moment
        elif level < capacity and since is not None:
            found.append((since, moment))
            since = None
    return [*found, (since, NEVER)] if since is not None else found


def first_clash(spans: Sequence[Span], start: datetime, end: datetime) -> Span | None:
    """The first of some spans, in order and apart, that overlaps the stretch from ``start`` up to ``end``."""
    index = bisect_right(spans, (start, NEVER))
    if index and spans[index - 1][1] > start:
        return spans[index - 1]
    return spans[index] if index < len(spans) and spans[index][0] < end else None


@dataclass
class Taken:
    """What is taken already: each technician's stints, and every place held. ``problem`` knows how many there are."""

    problem: Problem
    stints: Mapping[str, Sequence[Stint]]
    holds: Sequence[Hold]
    people: dict[str, list[Span]] = field(init=False)
    places: dict[str, list[Span]] = field(init=False)
    _full: dict[str, list[Span]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.people = {
            who.id: full_spans(((stint.start, stint.end) for stint in self.stints.get(who.id, ())), 1)
            for who in self.problem.technicians
        }
        self.places = defaultdict(list)
        for hold in self.holds:
            self.places[hold.place].append((hold.start, hold.end))

    def full(self, place: str | None) -> list[Span]:
        """When no place of a kind is free; never for work that needs none."""
        if place is None:
            return []
        if place not in self._full:
            self._full[place] = full_spans(self.places[place], self.problem.places.of(place))
        return self._full[place]

    def take(self, operation: Operation, work: Work) -> None:
        """Take the person and the place of one operation."""
        own = [(stint.start, stint.end) for stint in work.stints]
        self.people[work.technician] = sorted([*self.people[work.technician], *own])
        if operation.place is not None:
            self.places[operation.place] += own if operation.sessions > 1 else [(work.start, work.end)]
            self._full.pop(operation.place, None)

    def copy(self) -> "Taken":
        """The same, to be filled on its own."""
        return Taken(self.problem, self.stints, self.holds)


def fit(problem: Problem, operations: Sequence[Operation], taken: Taken) -> dict[str, Work] | None:
    """The work of one job that is not in the house, each operation at the earliest beside what is taken; else None.

    ``operations``: all of the job's; ``taken`` holds none of them and is left as it is. The floor place is held from
    the first stint to the last end without a gap. None when an operation has nobody, no place or no gap.
    """
    best: dict[str, Work] | None = None
    for order in orders(operations):
        found = _fit_in_order(problem, order, taken)
        if found and (best is None or _end(found) < _end(best)):
            best = found
    return best


def orders(operations: Sequence[Operation]) -> list[list[Operation]]:
    """Two orders that keep what comes after what: as given, and the longest rest of work and waits first."""
    own = {operation.id: operation for operation in operations}
    later: dict[str, list[str]] = defaultdict(list)
    for operation in operations:
        for before in operation.after:
            if before in own:
                later[before].append(operation.id)
    as_given = list(_in_order(operations, {one.id: number for number, one in enumerate(operations)}))
    rest: dict[str, float] = {}
    for operation in reversed(as_given):
        rest[operation.id] = (
            operation.hours + operation.wait_hours + max((rest[key] for key in later[operation.id]), default=0)
        )
    return [as_given, list(_in_order(operations, {key: -hours for key, hours in rest.items()}))]


def _in_order(operations: Sequence[Operation], rank: Mapping[str, float]) -> Iterator[Operation]:
    """Operations after what they wait for, the lowest rank first. Those in a cycle are left out."""
    left = {operation.id: operation for operation in operations}
    while left:
        ready = [one for one in left.values() if not any(before in left for before in one.after)]
        if not ready:
            return
        first = min(ready, key=lambda one: rank[one.id])
        del left[first.id]
        yield first


def _end(works: Mapping[str, Work]) -> datetime:
    return max(work.end for work in works.values())


def _fit_in_order(problem: Problem, order: Sequence[Operation], taken: Taken) -> dict[str, Work] | None:
    """The floor decides when the job may come at the earliest: after each stretch without a place it is tried anew."""
    arrives = max(problem.now or EVER, datetime.combine(problem.start, time()))
    while True:
        works = _from(problem, order, taken.copy(), arrives)
        if works is None:
            return None
        clash = first_clash(taken.full(FLOOR), min(work.start for work in works.values()), _end(works))
        if clash is None:
            return works
        if clash[1] == NEVER:
            return None
        arrives = clash[1]


def _from(problem: Problem, order: Sequence[Operation], taken: Taken, arrives: datetime) -> dict[str, Work] | None:
    works: dict[str, Work] = {}
    for operation in order:
        ready = max(arrives, datetime.combine(operation.not_before, time()) if operation.not_before else arrives)
        for before in operation.after:
            if before in works:
                ready = max(ready, works[before].end + timedelta(hours=problem.operation_by_id[before].wait_hours))
        found = [
            work
            for who in problem.technicians
            if operation.skill in who.skills and (work := _earliest(problem, operation, who, ready, taken))
        ]
        if not found:
            return None
        works[operation.id] = min(found, key=lambda work: (work.end, work.start, work.technician))
        taken.take(operation, works[operation.id])
    return works


def at_work(problem: Problem, who: Technician, day: date) -> bool:
    """Whether a person works on a day."""
    if day in problem.holidays or day.weekday() not in problem.workdays or day.weekday() not in who.workdays:
        return False
    return not any(first <= day <= last for first, last in who.leave)


def _earliest(problem: Problem, operation: Operation, who: Technician, ready: datetime, taken: Taken) -> Work | None:
    slots = problem.slots_of(operation)
    if operation.sessions == 1:
        stints = _unbroken(problem, who, ready, slots, taken.people[who.id], taken.full(operation.place))
        return Work(who.id, stints) if stints else None
    whole, more = divmod(slots, operation.sessions)
    found: list[Stint] = []
    busy = sorted([*taken.people[who.id], *taken.full(operation.place)])
    busy = full_spans(busy, 1)
    for number in range(operation.sessions):
        length = timedelta(minutes=problem.slot_minutes * (whole + (number < more)))
        stint = _within_a_day(problem, who, ready, length, busy)
        if stint is None:
            return None
        found.append(stint)
        ready = datetime.combine(stint.start.date() + DAY, time())
    return Work(who.id, tuple(found))


def _next_slot(problem: Problem, who: Technician, moment: datetime) -> datetime | None:
    """The first moment of the grid at or after ``moment`` at which a person works."""
    last = problem.start + timedelta(days=HORIZON_DAYS)
    while moment.date() <= last:
        opens = datetime.combine(moment.date(), problem.opens)
        slot = timedelta(minutes=problem.slot_minutes)
        at = opens if moment <= opens else opens + math.ceil((moment - opens) / slot) * slot
        if at < datetime.combine(moment.date(), problem.closes) and at_work(problem, who, moment.date()):
            return at
        moment = datetime.combine(moment.date() + DAY, time())
    return None


def _unbroken(
    problem: Problem, who: Technician, ready: datetime, slots: int, busy: Sequence[Span], full: Sequence[Span]
) -> tuple[Stint, ...]:
    """The first run of a person's own hours that is long enough and in which neither they nor the place are taken."""
    start = _next_slot(problem, who, ready)
    while start is not None:
        stints = _run(problem, who, start, slots)
        if not stints:
            return ()
        end = stints[-1].end
        clashes = [clash for clash in (first_clash(busy, start, end), first_clash(full, start, end)) if clash]
        if not clashes:
            return stints
        after = max(clash[1] for clash in clashes)
        start = _next_slot(problem, who, after) if after < NEVER else None
    return ()


def _run(problem: Problem, who: Technician, start: datetime, slots: int) -> tuple[Stint, ...]:
    stints: list[Stint] = []
    left, at = timedelta(minutes=problem.slot_minutes * slots), start
    while left:
        closes = datetime.combine(at.date(), problem.closes)
        length = min(left, closes - at)
        stints.append(Stint(at, at + length))
        left -= length
        if left:
            following = _next_slot(problem, who, datetime.combine(at.date() + DAY, time()))
            if following is None:
                return ()
            at = following
    return tuple(stints)


def _within_a_day(
    problem: Problem, who: Technician, ready: datetime, length: timedelta, busy: Sequence[Span]
) -> Stint | None:
    """The first stint of a length that lies within one day of a person."""
    start = _next_slot(problem, who, ready)
    while start is not None:
        if start + length > datetime.combine(start.date(), problem.closes):
            after = datetime.combine(start.date() + DAY, time())
        else:
            clash = first_clash(busy, start, start + length)
            if clash is None:
                return Stint(start, start + length)
            after = clash[1]
        start = _next_slot(problem, who, after) if after < NEVER else None
    return None
