"""Time-driven list scheduling: at each moment the most urgent ready piece goes to a free technician.

The parallel schedule generation scheme (Kolisch, European Journal of Operational Research 90, 1996; from
memory), with calendars, waits in clock time, sessions, places, floor admission and reservations for
appointments and begun work. Every schedule it finishes keeps all rules except, at worst, an appointment
whose prerequisites did not end in time.
"""

from bisect import insort
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from heapq import heapify, heappop, heappush

from jobs.scheduling.calc.solve.occupancy import Floor, PeopleBooked, PlacesBooked
from jobs.scheduling.calc.solve.prepared import NO_PLACE, Prepared, Preset


class NothingCanStart(RuntimeError):
    """Work is left but no moment will come at which any of it may start."""


class _Outcome(Enum):
    STARTED = 1
    WAITS = 2
    NEEDS_FLOOR = 3


@dataclass(frozen=True, slots=True)
class Schedule:
    """Start and technician of every piece, and how many appointments came before they were ready or had room."""

    starts: list[int]
    people: list[int]
    broken_appointments: int


class ListScheduler:
    """Builds one schedule. ``cautious``: keep a floor place for every appointment, however far off."""

    def __init__(self, prepared: Prepared, priorities: Sequence[float], *, cautious: bool = False) -> None:
        self.p = prepared
        self.priorities = priorities
        pieces = len(prepared.piece_slots)
        self.starts, self.people, self.ends = [-1] * pieces, [-1] * pieces, [-1] * pieces
        self.ready_at = list(prepared.earliest)
        self.missing = [len(befores) for befores in prepared.before]
        self.work_left = list(prepared.work_left)
        self.unfinished = pieces
        self.broken_appointments = 0
        self.completions: list[tuple[int, int]] = []
        self.releases: list[tuple[int, int]] = []
        self.arrivals: list[Preset] = []
        self.available: dict[str, list[tuple[float, int]]] = {}
        self.no_floor: list[tuple[float, int]] = []
        self.booked = PeopleBooked(prepared)
        self.places = PlacesBooked(prepared)
        self.floor = Floor(prepared, cautious=cautious)
        self._take_presets()
        for number, count in enumerate(self.missing):
            if not count:
                self._release(number)

    def run(self) -> Schedule:
        """The finished schedule. Raises NothingCanStart."""
        moment = self.p.now
        while True:
            self._finish(moment)
            if not self.unfinished:
                return Schedule(self.starts, self.people, self.broken_appointments)
            self._arrive(moment)
            self._make_available(moment)
            self._start_what_may(moment)
            moment = self._next_moment(moment)

    def _take_presets(self) -> None:
        for preset in self.p.presets:
            number = self.p.piece_operation[preset.piece]
            self._book(preset.piece, preset.technician, preset.start, preset.end)
            if preset.begun:
                self.floor.admit(self.p.job[number])
            else:
                self.arrivals.append(preset)
                self.floor.expect(self.p.job[number], preset.start)
        self.arrivals.sort(key=lambda preset: -preset.start)

    def _book(self, piece: int, who: int, start: int, end: int) -> None:
        self.starts[piece], self.people[piece], self.ends[piece] = start, who, end
        self.booked.book(who, start, end)
        self.places.book(self.p.place[self.p.piece_operation[piece]], start, end)
        heappush(self.completions, (end, piece))

    def _release(self, number: int) -> None:
        """All prerequisites of an operation have ended: queue it, unless its start is given."""
        piece = self.p.first_piece[number]
        if self.starts[piece] < 0:
            heappush(self.releases, (self.ready_at[number], piece))
        elif self.starts[piece] < self.ready_at[number] and number not in self.p.begun_operations:
            self.broken_appointments += 1

    def _finish(self, moment: int) -> None:
        while self.completions and self.completions[0][0] <= moment:
            end, piece = heappop(self.completions)
            self.unfinished -= 1
            later = self.p.later_piece(piece)
            if later is None:
                self._operation_ended(self.p.piece_operation[piece], end)
            elif self.starts[later] < 0:
                next_day = -(-end // self.p.time.day) * self.p.time.day
                heappush(self.releases, (max(self.p.now, next_day), later))
        self.places.forget(moment)

    def _operation_ended(self, number: int, end: int) -> None:
        wait = self.p.wait[number]
        free = end if not wait else self.p.time.position_at(self.p.time.end_minutes(end) + wait)
        for later in self.p.following[number]:
            self.ready_at[later] = max(self.ready_at[later], free)
            self.missing[later] -= 1
            if not self.missing[later]:
                self._release(later)
        job = self.p.job[number]
        self.work_left[job] -= 1
        if not self.work_left[job]:
            self.floor.leave()

    def _arrive(self, moment: int) -> None:
        """Appointments that begin now bring their instrument onto the floor."""
        while self.arrivals and self.arrivals[-1].start <= moment:
            self.floor.admit(self.p.job[self.p.piece_operation[self.arrivals.pop().piece]])
            self.broken_appointments += self.floor.overfull

    def _make_available(self, moment: int) -> None:
        parked, self.no_floor = self.no_floor, []
        for entry in parked:
            if self.floor.may_admit(self.p.job[self.p.piece_operation[entry[1]]]):
                self._queue(entry)
            else:
                self.no_floor.append(entry)
        while self.releases and self.releases[0][0] <= moment:
            piece = heappop(self.releases)[1]
            self._queue((self.priorities[self.p.piece_operation[piece]], piece))

    def _queue(self, entry: tuple[float, int]) -> None:
        insort(self.available.setdefault(self.p.skill[self.p.piece_operation[entry[1]]], []), entry)

    def _start_what_may(self, moment: int) -> None:
        free = self.booked.free(moment)
        able = self.p.able
        heads = [
            (queue[0], skill, 0) for skill, queue in self.available.items() if queue and free.intersection(able[skill])
        ]
        heapify(heads)
        while heads and free:
            entry, skill, index = heappop(heads)
            if free.isdisjoint(able[skill]):
                continue
            queue = self.available[skill]
            outcome = self._try(entry[1], moment, free)
            if outcome is _Outcome.WAITS:
                index += 1
            else:
                del queue[index]
                if outcome is _Outcome.NEEDS_FLOOR:
                    self.no_floor.append(entry)
            if index < len(queue):
                heappush(heads, (queue[index], skill, index))

    def _try(self, piece: int, moment: int, free: set[int]) -> _Outcome:
        number, slots = self.p.piece_operation[piece], self.p.piece_slots[piece]
        place, day = self.p.place[number], self.p.time.day
        if not self.floor.admits(self.p.job[number], moment):
            return _Outcome.NEEDS_FLOOR
        if place != NO_PLACE and self.places.full(place, moment):
            return _Outcome.WAITS
        in_sessions = self.p.problem.operations[number].sessions > 1
        if in_sessions and moment % day + slots > day:
            return _Outcome.WAITS
        best: tuple[int, int, int] | None = None
        for who in self._candidates(piece, number):
            if who in free:
                end = self.booked.possible_end(who, moment, slots)
                if end is not None and (best is None or (end, self.p.rank[who]) < best[:2]):
                    best = (end, self.p.rank[who], who)
        if best is None or (place != NO_PLACE and not self.places.room(place, moment, best[0])):
            return _Outcome.WAITS
        self._book(piece, best[2], moment, best[0])
        self.floor.admit(self.p.job[number])
        free.discard(best[2])
        return _Outcome.STARTED

    def _candidates(self, piece: int, number: int) -> Sequence[int]:
        """Later sessions stay with the technician of the first; begun work and appointments with theirs."""
        if number in self.p.forced:
            return (self.p.forced[number],)
        first = self.p.first_piece[number]
        return (self.people[first],) if piece > first else self.p.able[self.p.skill[number]]

    def _next_moment(self, moment: int) -> int:
        moments = [queue[0][0] for queue in (self.completions, self.releases) if queue]
        if self.arrivals:
            moments.append(self.arrivals[-1].start)
        if self.no_floor or any(self.available.values()):
            moments.append((moment // self.p.time.day + 1) * self.p.time.day)
        following = min((other for other in moments if other > moment), default=self.p.time.end)
        if following >= self.p.time.end:
            raise NothingCanStart
        return following
