"""The same replay without the compiler, one future after the other on lists.

It gives the ends of the jobs only. The tests hold the compiled replay against it.
"""

from bisect import bisect_left

import numpy as np

from jobs.scheduling.calc.solve.compiled import rows as shop_rows
from jobs.scheduling.calc.solve.replay import rows as r
from jobs.scheduling.calc.solve.replay.tables import Course, Drawn, floor_size

DAY_MINUTES = 24 * 60


def replay_plain(course: Course, drawn: Drawn, late: Drawn) -> Drawn:
    """End position of each job in each future; arguments as for ``kernels.replay_range``."""
    shop = _Shop(course)
    ends = [_Future(shop, *one).run() for one in zip(drawn.tolist(), late.tolist(), strict=True)]
    return np.array(ends, dtype=np.int32).reshape(len(drawn), len(course.inside))


class _Shop:
    """The tables as lists."""

    def __init__(self, course: Course) -> None:
        facts: list[int] = course.fact.tolist()
        self.day, self.slot, self.opens, self.now, self.end, self.floor = facts[: shop_rows.FACT_PLACE]
        self.places = facts[shop_rows.FACT_PLACE :]
        self.pieces: list[list[int]] = course.piece.T.tolist()
        self.op: list[list[int]] = course.op.T.tolist()
        self.before: list[int] = course.before.tolist()
        self.can: list[list[int]] = course.can.tolist()
        self.inside: list[int] = course.inside.tolist()
        self.numbers: list[int] = course.numbers.tolist()
        self.floor_size = floor_size(course)
        people = course.people[:, :, :-1]
        self.leave: list[list[int]] = people[shop_rows.PERSON_LEAVE].tolist()
        self.run: list[list[int]] = people[shop_rows.PERSON_RUN].tolist()
        self.own: list[list[int]] = [
            [number * self.day + slot for number in np.flatnonzero(works).tolist() for slot in range(self.day)]
            for works in people[shop_rows.PERSON_WORKS]
        ]
        """For each technician every working slot, in order."""

    def after_wait(self, end: int, wait: int) -> int:
        """First position at which work may start when ``wait`` clock minutes follow an end position."""
        if not wait or end >= self.end:
            return end
        number, slots = divmod(end - 1, self.day)
        minutes = self.numbers[number] * DAY_MINUTES + self.opens + (slots + 1) * self.slot + wait
        date, clock = divmod(minutes, DAY_MINUTES)
        index = bisect_left(self.numbers, date)
        if index == len(self.numbers):
            return self.end
        if self.numbers[index] > date:
            return index * self.day
        return index * self.day + min(max(-((self.opens - clock) // self.slot), 0), self.day)


class _Future:
    def __init__(self, shop: _Shop, drawn: list[int], late: list[int]) -> None:
        self.s, self.drawn, self.late = shop, drawn, late
        self.busy: list[set[int]] = [set() for _ in shop.own]
        self.used: list[dict[int, int]] = [{} for _ in shop.places]
        self.ends = [0] * len(shop.pieces)
        self.who = [r.NONE] * len(shop.op)
        self.job_end = [0] * len(shop.inside)
        inside = [job for job, here in enumerate(shop.inside) if here]
        self.stands = {job: place for place, job in enumerate(inside)}
        self.floor = [0 if place < shop.floor else r.FAR for place in range(shop.floor_size)]
        self.floor[: len(inside)] = [r.FAR] * len(inside)

    def run(self) -> list[int]:
        for index, piece in enumerate(self.s.pieces):
            self.ends[index] = self._place(piece)
        return self.job_end

    def _place(self, piece: list[int]) -> int:
        operation = piece[r.P_OP]
        job, place = self.s.op[operation][r.O_JOB], self.s.op[operation][r.O_PLACE]
        slots = self._slots(piece)
        who = piece[r.P_WHO] if piece[r.P_PREVIOUS] < 0 else self.who[operation]
        if piece[r.P_BEGUN] >= 0:
            found = self._worked(who, piece[r.P_BEGUN], slots)
        else:
            bound = min(self._bound(piece), self.s.end)
            found = self._earliest(piece, who, bound, slots)
            for other in self._others(piece, who, found[0] if found else self.s.end):
                sooner = self._earliest(piece, other, bound, slots)
                if sooner and (not found or sooner[-1] < found[-1]):
                    who, found = other, sooner
        self.who[operation] = who
        self.busy[who].update(found)
        if place >= 0 and found:
            for slot in range(found[0], found[-1] + 1):
                self.used[place][slot] = self.used[place].get(slot, 0) + 1
        end = found[-1] + 1 if found else self.s.end
        self._come_and_go(piece, job, end)
        return end

    def _others(self, piece: list[int], who: int, start: int) -> list[int]:
        """Who else may be given a piece that its technician would begin at a position."""
        if piece[r.P_PREVIOUS] >= 0:
            return []
        late = start - piece[r.P_PLANNED] >= self.s.day
        able = [other for other, can in enumerate(self.s.can) if late and can[piece[r.P_OP]]]
        return sorted({*able, piece[r.P_ALSO]} - {who, r.NONE})

    def _come_and_go(self, piece: list[int], job: int, end: int) -> None:
        if piece[r.P_ENTERS] and min(self.floor) < r.FAR:
            self.stands[job] = self.floor.index(min(self.floor))
            self.floor[self.stands[job]] = r.FAR
        self.job_end[job] = max(self.job_end[job], end)
        if piece[r.P_LEAVES] and job in self.stands:
            self.floor[self.stands[job]] = self.job_end[job]

    def _slots(self, piece: list[int]) -> int:
        if piece[r.P_TURN] < 0:
            return piece[r.P_LENGTH]
        whole, longer = divmod(self.drawn[piece[r.P_OP]], self.s.op[piece[r.P_OP]][r.O_PIECES])
        return piece[r.P_LENGTH] + whole + (piece[r.P_TURN] < longer)

    def _bound(self, piece: list[int]) -> int:
        """Prerequisites, waits, parts, appointment and floor: everything but technician and bench."""
        rows = self.s.op[piece[r.P_OP]]
        bounds = [self.s.now, rows[r.O_EARLIEST], rows[r.O_FIXED]]
        if piece[r.P_PREVIOUS] >= 0:
            bounds.append(-(-self.ends[piece[r.P_PREVIOUS]] // self.s.day) * self.s.day)
        for other in self.s.before[piece[r.P_FROM] : piece[r.P_TO]]:
            bounds.append(self.s.after_wait(self.ends[other], self.s.op[self.s.pieces[other][r.P_OP]][r.O_WAIT]))
        if rows[r.O_DELIVERY] >= 0:
            bounds.append(rows[r.O_EARLIEST] + self.late[rows[r.O_DELIVERY]])
        if piece[r.P_ENTERS] and min(self.floor) < r.FAR:
            bounds.append(min(self.floor))
        return max(bounds)

    def _worked(self, who: int, start: int, slots: int) -> list[int]:
        own = self.s.own[who]
        first = bisect_left(own, start)
        return own[first : first + slots] if first + slots <= len(own) else []

    def _earliest(self, piece: list[int], who: int, bound: int, slots: int) -> list[int]:
        """The first free slots of a technician's that follow each other, with a bench or the spray room for them."""
        place = self.s.op[piece[r.P_OP]][r.O_PLACE]
        start = bound
        while True:
            found = self._worked(who, start, slots)
            if not found:
                return []
            later = self._in_the_way(piece, who, found, slots)
            if later is None and place >= 0:
                full = [
                    slot
                    for slot in range(found[0], found[-1] + 1)
                    if self.used[place].get(slot, 0) >= self.s.places[place]
                ]
                later = full[-1] + 1 if full else None
            if later is None:
                return found
            start = later

    def _in_the_way(self, piece: list[int], who: int, found: list[int], slots: int) -> int | None:
        """From where to look again; None when the slots will do."""
        day = self.s.day
        taken = [slot for slot in found if slot in self.busy[who]]
        if taken:
            return taken[0] + 1
        if piece[r.P_ALONE] and found[0] % day + min(slots, day) > day:
            return (found[0] // day + 1) * day
        number = found[0] // day
        leave = self.s.leave[who][number]
        pauses = leave * day <= found[-1] and leave < len(self.s.numbers)
        if pauses and self.s.run[who][number] * day >= slots and not piece[r.P_OVER]:
            return leave * day
        return None
