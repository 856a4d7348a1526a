"""Fitting one more job into a plan that stays as it is: the earliest gaps its people, places and floor leave.

Everything already planned keeps its moment, so nobody else moves and no promise is touched by what is fitted in. Walks
days and clock times, not the solver's slots, and needs nothing compiled. Operation after operation takes the earliest
end any able technician can give it (serial schedule generation: Kolisch, European Journal of Operational Research 90,
1996; from memory); of two orders of a job's own operations the one that ends first is kept.
"""

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from types import MappingProxyType

from jobs.scheduling.calc.problem import FLOOR, Operation, Problem, Stint, Technician
from jobs.scheduling.calc.solution import Hold, Work
from jobs.scheduling.calc.steps import EVER, NEVER, Steps

DAY = timedelta(days=1)
HORIZON_DAYS = 1100
"""As far as holidays are known; what does not fit until then does not fit."""
NONE: Mapping[str, Work] = MappingProxyType({})


@dataclass
class Taken:
    """What is taken already: each technician's stints, and every place held. ``problem`` knows how many there are."""

    problem: Problem
    stints: Mapping[str, Sequence[Stint]]
    holds: Sequence[Hold]
    people: dict[str, Steps] = field(init=False)
    places: dict[str, Steps] = field(init=False)
    days: dict[str, tuple[date, ...]] = field(init=False)

    def __post_init__(self) -> None:
        one = self.problem
        self.days = {who.id: working_days(one.start, one.workdays, one.holidays, who) for who in one.technicians}
        self.people = {
            who.id: Steps((stint.start, stint.end) for stint in self.stints.get(who.id, ()))
            for who in self.problem.technicians
        }
        kinds = {FLOOR, *(hold.place for hold in self.holds)}
        kinds |= {operation.place for operation in self.problem.operations if operation.place}
        self.places = {
            kind: Steps((hold.start, hold.end) for hold in self.holds if hold.place == kind) for kind in kinds
        }

    def copy(self) -> "Taken":
        """The same, to be filled on its own."""
        new = copy(self)
        new.people = {who: steps.copy() for who, steps in self.people.items()}
        new.places = {kind: steps.copy() for kind, steps in self.places.items()}
        return new

    def take(self, operation: Operation, work: Work, by: int = 1) -> None:
        """Take the person and the place of one operation; with ``by`` -1 let them go again."""
        for stint in work.stints:
            self.people[work.technician].add(stint.start, stint.end, by)
        if operation.place is not None:
            for start, end in place_spans(operation, work):
                self.places[operation.place].add(start, end, by)

    def clear_after(self, who: str, place: str | None, start: datetime, end: datetime) -> datetime | None:
        """None when a person and a place are free throughout; else the moment the first clash of each is over."""
        clashes = [self.people[who].clash(start, end, 1)]
        if place is not None:
            clashes.append(self.places[place].clash(start, end, self.problem.places.of(place)))
        return max((clash[1] for clash in clashes if clash), default=None)

    def allows(self, operation: Operation, work: Work) -> bool:
        """Whether the person and the place of one operation are free when it wants them."""
        person = self.people.get(work.technician)
        if person is None or any(person.clash(stint.start, stint.end, 1) for stint in work.stints):
            return False
        if operation.place is None:
            return True
        place, most = self.places[operation.place], self.problem.places.of(operation.place)
        return not any(place.clash(start, end, most) for start, end in place_spans(operation, work))


def place_spans(operation: Operation, work: Work) -> list[tuple[datetime, datetime]]:
    """When an operation holds its place: one session over all pauses, several during the stints only."""
    if operation.sessions == 1:
        return [(work.start, work.end)]
    return [(stint.start, stint.end) for stint in work.stints]


def fit(
    problem: Problem,
    operations: Sequence[Operation],
    taken: Taken,
    *,
    kept: Mapping[str, Work] = NONE,
    was: Mapping[str, Work] = NONE,
) -> dict[str, Work] | None:
    """The work of one job, each operation at the earliest beside what is taken; None when one finds no gap.

    ``operations``: those of the job that are to be placed; ``taken`` holds none of them and is left as it is. ``kept``:
    what else of the job stays where it is. ``was``: where the operations stood; one stays there when it can, and is
    never placed earlier. A job that is not in the house and has nothing kept needs a floor place from its first stint
    to its last end, without a gap; that the floor is wide enough for others is for the checker to say.
    """
    if was:
        return _fit_in_order(problem, sorted(operations, key=lambda one: was[one.id].start), taken, kept, was)
    best: dict[str, Work] | None = None
    for order in orders(operations):
        found = _fit_in_order(problem, order, taken, kept, was)
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
        after = max((rest[key] for key in later[operation.id]), default=0)
        rest[operation.id] = operation.hours + operation.wait_hours + after
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


def _fit_in_order(
    problem: Problem, order: Sequence[Operation], taken: Taken, kept: Mapping[str, Work], was: Mapping[str, Work]
) -> dict[str, Work] | None:
    """The floor decides when the job may come at the earliest: after each stretch without a place it is tried anew."""
    arrives = max(problem.now or EVER, datetime.combine(problem.start, time()))
    while order:
        works = _from(problem, order, taken.copy(), arrives, kept, was)
        if works is None or kept or problem.job_by_id[order[0].job].in_house:
            return works
        first = min(work.start for work in works.values())
        clash = taken.places[FLOOR].clash(first, _end(works), problem.places.floor)
        if clash is None or clash[1] == NEVER:
            return works if clash is None else None
        arrives = clash[1]
    return {}


def _from(
    problem: Problem,
    order: Sequence[Operation],
    taken: Taken,
    arrives: datetime,
    kept: Mapping[str, Work],
    was: Mapping[str, Work],
) -> dict[str, Work] | None:
    works: dict[str, Work] = {}
    for operation in order:
        ready = max(arrives, datetime.combine(operation.not_before, time()) if operation.not_before else arrives)
        for before in operation.after:
            done = works.get(before) or kept.get(before)
            if done:
                ready = max(ready, done.end + timedelta(hours=problem.operation_by_id[before].wait_hours))
        work = _placed(problem, operation, ready, taken, was.get(operation.id))
        if work is None:
            return None
        works[operation.id] = work
        taken.take(operation, work)
    return works


def _placed(problem: Problem, operation: Operation, ready: datetime, taken: Taken, old: Work | None) -> Work | None:
    """Where it stood if it can stay, else the earliest end of anybody able, from where it stood on."""
    if old is not None:
        if old.start >= ready and taken.allows(operation, old):
            return old
        ready = max(ready, old.start)
    best: Work | None = None
    for who in problem.technicians:
        if operation.skill in who.skills:
            found = _earliest(problem, operation, who, ready, taken, best.end if best else NEVER)
            if found and (best is None or (found.end, found.start) < (best.end, best.start)):
                best = found
    return best


@lru_cache(maxsize=256)
def working_days(
    start: date, workdays: tuple[int, ...], holidays: tuple[date, ...], who: Technician
) -> tuple[date, ...]:
    """The days a person works, in order, as far as holidays are known."""
    days = (start + timedelta(days=number) for number in range(HORIZON_DAYS))
    on = set(workdays) & set(who.workdays)
    shut = set(holidays)
    return tuple(
        day
        for day in days
        if day.weekday() in on and day not in shut and not any(first <= day <= last for first, last in who.leave)
    )


def _earliest(
    problem: Problem, operation: Operation, who: Technician, ready: datetime, taken: Taken, before: datetime
) -> Work | None:
    """The earliest work of one person, unless it would begin after ``before``, when somebody else has ended it."""
    slots = problem.slots_of(operation)
    if operation.sessions == 1:
        stints = _unbroken(problem, who, ready, slots, operation.place, taken, before)
        return Work(who.id, stints) if stints else None
    whole, more = divmod(slots, operation.sessions)
    found: list[Stint] = []
    for number in range(operation.sessions):
        length = timedelta(minutes=problem.slot_minutes * (whole + (number < more)))
        stint = _within_a_day(problem, who, ready, length, operation.place, taken, before)
        if stint is None:
            return None
        found.append(stint)
        ready = datetime.combine(stint.start.date() + DAY, time())
    return Work(who.id, tuple(found))


def _next_slot(problem: Problem, days: Sequence[date], moment: datetime) -> tuple[int, datetime] | None:
    """The first moment of the grid at or after ``moment`` on one of the days, with the number of the day."""
    number = bisect_left(days, moment.date())
    if number < len(days) and days[number] == moment.date():
        opens = datetime.combine(days[number], problem.opens)
        slot = timedelta(minutes=problem.slot_minutes)
        at = opens if moment <= opens else opens + math.ceil((moment - opens) / slot) * slot
        if at < datetime.combine(days[number], problem.closes):
            return number, at
        number += 1
    return (number, datetime.combine(days[number], problem.opens)) if number < len(days) else None


def _unbroken(
    problem: Problem,
    who: Technician,
    ready: datetime,
    slots: int,
    place: str | None,
    taken: Taken,
    before: datetime,
) -> tuple[Stint, ...]:
    """The first run of a person's own hours that is long enough and in which neither they nor the place are taken."""
    days, after = taken.days[who.id], ready
    while after < NEVER:
        first = _next_slot(problem, days, after)
        if first is None or first[1] >= before:
            return ()
        stints = _run(problem, days, *first, slots)
        if not stints:
            return ()
        clear = taken.clear_after(who.id, place, stints[0].start, stints[-1].end)
        if clear is None:
            return stints
        after = clear
    return ()


def _run(problem: Problem, days: Sequence[date], number: int, start: datetime, slots: int) -> tuple[Stint, ...]:
    stints: list[Stint] = []
    left, at = timedelta(minutes=problem.slot_minutes * slots), start
    while True:
        length = min(left, datetime.combine(days[number], problem.closes) - at)
        stints.append(Stint(at, at + length))
        left -= length
        if not left:
            return tuple(stints)
        number += 1
        if number == len(days):
            return ()
        at = datetime.combine(days[number], problem.opens)


def _within_a_day(
    problem: Problem,
    who: Technician,
    ready: datetime,
    length: timedelta,
    place: str | None,
    taken: Taken,
    before: datetime,
) -> Stint | None:
    """The first stint of a length that lies within one day of a person."""
    days, after = taken.days[who.id], ready
    while after < NEVER:
        first = _next_slot(problem, days, after)
        if first is None or first[1] >= before:
            return None
        start = first[1]
        if start + length > datetime.combine(start.date(), problem.closes):
            after = datetime.combine(start.date() + DAY, time())
        else:
            clear = taken.clear_after(who.id, place, start, start + length)
            if clear is None:
                return Stint(start, start + length)
            after = clear
    return None
