"""Who and what is taken when, while a schedule is being built: people, benches and spray room, the floor."""

from bisect import bisect_right, insort

from jobs.scheduling.calc.solve.look_ahead import look_ahead
from jobs.scheduling.calc.solve.prepared import FAR, NO_PLACE, Prepared


class PeopleBooked:
    """Each technician's bookings, as spans on the shop's axis."""

    def __init__(self, prepared: Prepared) -> None:
        self.p = prepared
        self.spans: list[list[tuple[int, int]]] = [[] for _ in prepared.own]

    def book(self, who: int, start: int, end: int) -> None:
        """Take a technician from ``start`` to ``end``."""
        insort(self.spans[who], (start, end))

    def _next(self, who: int, moment: int) -> tuple[int, int]:
        """The booking that contains a moment or comes next after it."""
        spans = self.spans[who]
        index = bisect_right(spans, (moment, FAR))
        if index and spans[index - 1][1] > moment:
            return spans[index - 1]
        return spans[index] if index < len(spans) else (FAR, FAR)

    def free(self, moment: int) -> set[int]:
        """Technicians at work and without a booking at a moment."""
        day = moment // self.p.time.day
        return {who for who, own in enumerate(self.p.own) if own.working[day] and self._next(who, moment)[0] > moment}

    def possible_end(self, who: int, moment: int, slots: int) -> int | None:
        """End of uninterrupted work begun now, or None if a booking or a leave is in the way.

        Work may pause over a leave, but is begun before one only if it is too long for the whole stretch
        between two leaves: otherwise it would hold its place and its instrument for nothing.
        """
        own, day = self.p.own[who], moment // self.p.time.day
        end = self.p.time.work_end(own, moment, slots)
        if self._next(who, moment)[0] < end:
            return None
        pauses_over_leave = own.next_leave[day] * self.p.time.day < end
        if pauses_over_leave and own.run[day] * self.p.time.day >= slots:
            return None
        return end


class PlacesBooked:
    """Benches and spray room: spans of the work that holds them, now and reserved."""

    def __init__(self, prepared: Prepared) -> None:
        self.capacity = prepared.capacity
        self.spans: list[list[tuple[int, int]]] = [[] for _ in prepared.capacity]

    def book(self, place: int, start: int, end: int) -> None:
        """Take one place of a kind; NO_PLACE takes nothing."""
        if place != NO_PLACE:
            self.spans[place].append((start, end))

    def forget(self, moment: int) -> None:
        """Drop what has ended."""
        for place, spans in enumerate(self.spans):
            self.spans[place] = [span for span in spans if span[1] > moment]

    def full(self, place: int, moment: int) -> bool:
        """Whether every place of a kind is taken at a moment."""
        taken = sum(1 for start, end in self.spans[place] if start <= moment < end)
        return taken >= self.capacity[place]

    def room(self, place: int, start: int, end: int) -> bool:
        """Whether one place of a kind is free throughout."""
        moments = [start, *(other for other, _ in self.spans[place] if start < other < end)]
        return not any(self.full(place, moment) for moment in moments)


class Floor:
    """Instruments in the house: a job's place is taken from first stint (or start) to last end."""

    def __init__(self, prepared: Prepared, *, cautious: bool) -> None:
        self.here = [job.in_house for job in prepared.problem.jobs]
        with_work = set(prepared.job)
        self.used = sum(1 for number, here in enumerate(self.here) if here and number in with_work)
        self.capacity = prepared.problem.places.floor
        self.expected: dict[int, int] = {}
        self.look_ahead = [FAR] * len(self.here) if cautious else look_ahead(prepared)

    @property
    def overfull(self) -> bool:
        """Whether an appointment has brought in more instruments than there are places."""
        return self.used > self.capacity

    def may_admit(self, job: int) -> bool:
        """Whether it is worth asking ``admits``: the job has come by an appointment, or some place is free."""
        return self.here[job] or self.used < self.capacity

    def expect(self, job: int, start: int) -> None:
        """An appointment will bring a job onto the floor by ``start`` at the latest."""
        if not self.here[job]:
            self.expected[job] = min(start, self.expected.get(job, FAR))

    def admits(self, job: int, moment: int) -> bool:
        """Whether work on a job may start: it is here, or a place is free that no appointment will need."""
        if self.here[job]:
            return True
        until = moment + self.look_ahead[job]
        coming = sum(1 for other, start in self.expected.items() if other != job and start < until)
        return self.used + coming < self.capacity

    def admit(self, job: int) -> None:
        """A job is here from now on."""
        self.expected.pop(job, None)
        if not self.here[job]:
            self.here[job] = True
            self.used += 1

    def leave(self) -> None:
        """A job has ended and frees its place."""
        self.used -= 1
