"""Small changes to a choice of priorities, leads and pins, aimed where the present schedule loses time."""

from collections.abc import Callable
from random import Random
from typing import Any

import numpy as np

from jobs.scheduling.calc.solve.builder import Builder, Choice
from jobs.scheduling.calc.solve.compiled import rows as r
from jobs.scheduling.calc.solve.compiled.order import order_changes
from jobs.scheduling.calc.solve.compiled.tables import Shop, Whole
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.timeline import DAY_MINUTES

SHIFTS_DAYS = (1, 3, 8, 20)
"""Standard deviations of a shift of priority; one is drawn for each move."""
LEADS_DAYS = (0.25, 0.5, 1, 2, 4)
LONGEST_LEAD_DAYS = 5
NEARLY_LATE_DAYS = 2
"""A job that ends this short before its due date is treated like a late one."""

Undo = list[tuple[Any, Any, Any]]


class Moves:
    """Proposes changes; each returns what to write back if it is not accepted, or None when there is none to make."""

    def __init__(self, prepared: Prepared, shop: Shop, chance: Random) -> None:
        self.p, self.shop, self.chance = prepared, shop, chance
        self.day = prepared.time.day
        self.own: list[list[int]] = [[] for _ in prepared.problem.jobs]
        for operation, job in enumerate(prepared.job):
            self.own[job].append(operation)
        self.with_work = [job for job, own in enumerate(self.own) if own]
        self.first = shop.op[r.OP_FIRST]
        self.last = self.first + shop.op[r.OP_SESSIONS] - 1
        self.able = shop.can.T > 0
        self._after: dict[int, Whole] = {}
        self.kinds: list[tuple[Callable[[Choice, int, bool], Undo | None], float]] = [
            (self.shift, 8.0),
            (self.lead, 0.5),
            (self.pull, 2.0),
            (self.pull_with_what_follows, 2.0),
            (self.push, 1.0),
            (self.lead_past_what_blocks, 1.0),
            (self.wait_for, 1.5),
        ]
        if len(shop.pin):
            self.kinds += [(self.toggle_pin, 3.0), (self.swap_pins, 3.0), (self.free_job, 0.5)]
        self._calls = [call for call, _ in self.kinds]
        self._weights = np.cumsum([weight for _, weight in self.kinds]).tolist()

    def look_at(self, builder: Builder) -> None:
        """Take the builder's last schedule as the present one."""
        self.released, self.queued = builder.saved.op[r.RELEASED_AT], builder.saved.op[r.QUEUED_AT]
        self.decided = builder.saved.piece[r.DECIDED]
        state = builder.state
        days = builder.days_late() + NEARLY_LATE_DAYS
        self.late = np.cumsum(np.maximum(days, 0) * self.shop.weight)
        self.start = state.piece[r.START][self.first]
        self.end = state.piece[r.END][self.last]
        self.who = state.piece[r.WHO][self.first]
        self.ready = state.op[r.READY].copy()

    def propose(self, choice: Choice) -> Undo | None:
        """Change ``choice`` in place."""
        chance = self.chance
        late = bool(self.late[-1] > 0 and chance.random() < 0.7)
        if late:
            job = int(np.searchsorted(self.late, chance.random() * self.late[-1], side="right"))
        else:
            job = chance.choice(self.with_work)
        call = chance.choices(self._calls, cum_weights=self._weights)[0]
        return call(choice, min(job, len(self.own) - 1), late) if self.own[job] else None

    def first_change(self, choice: Choice, undo: Undo) -> int:
        """Moment of the present schedule before which what was changed makes no difference to it; FAR: never."""
        first, before = r.FAR, choice.priority
        for table, where, old in undo:
            if table is choice.pins:
                return -1
            if table is choice.priority:
                before = before.copy()
                before[where] = old
                changed = np.atleast_1d(where)
                moment = order_changes(changed, before, choice.priority, self.queued, self.decided, self.last)
                first = min(first, int(moment))
            else:
                row = self.released if where[0] == r.WISH_AHEAD else self.queued
                first = min(first, int(row[where[1]]))
        return first

    def settled(self, choice: Choice, undo: Undo) -> int:
        """Moment of the present schedule after which what was changed makes no difference to what is left to do."""
        last = -1
        for table, where, _ in undo:
            if table is choice.pins:
                last = max(last, int(self.shop.pin[where, r.GIVEN_START].max()))
            else:
                operations = where if table is choice.priority else where[1]
                last = max(last, int(self.decided[self.last[operations]].max()))
        return last

    def shift(self, choice: Choice, job: int, late: bool) -> Undo:
        """Make a job, an operation with what follows it, or an operation alone more urgent or less."""
        chance = self.chance
        days = chance.gauss(0, chance.choice(SHIFTS_DAYS))
        if late and chance.random() < 0.7:
            days = -abs(days)
        operation = chance.choice(self.own[job])
        group = chance.choice((np.array(self.own[job]), self.after(operation), np.array([operation])))
        return [self._add(choice, group, days * DAY_MINUTES)]

    def lead(self, choice: Choice, job: int, late: bool) -> Undo:
        """Let an operation book its start before it is ready, or no longer."""
        operation = self.chance.choice(self.own[job])
        undo = self._old(choice.wish, (r.WISH_AHEAD, operation))
        off = choice.wish[r.WISH_AHEAD, operation] and self.chance.random() < 0.6
        choice.wish[r.WISH_AHEAD, operation] = 0 if off else int(self.chance.choice(LEADS_DAYS) * self.day)
        return [undo]

    def pull(self, choice: Choice, job: int, late: bool) -> Undo | None:
        """Put an operation that waits for somebody before one that was done meanwhile."""
        found = self._rival(job)
        if found is None:
            return None
        mine, other = found
        undo = (choice.priority, mine, choice.priority[mine])
        choice.priority[mine] = min(choice.priority[mine], choice.priority[other]) - 1
        return [undo]

    def pull_with_what_follows(self, choice: Choice, job: int, late: bool) -> Undo | None:
        """The same for all that follows it, or for the whole job."""
        found = self._rival(job)
        if found is None:
            return None
        mine, other = found
        group = self.after(mine) if self.chance.random() < 0.5 else np.array(self.own[job])
        return [self._add(choice, group, min(choice.priority[other] - choice.priority[mine] - 1, -1))]

    def push(self, choice: Choice, job: int, late: bool) -> Undo | None:
        """Put what was done meanwhile after the operation that waits, alone or with what follows it."""
        found = self._rival(job)
        if found is None:
            return None
        mine, other = found
        group = np.array([other]) if self.chance.random() < 0.5 else self.after(other)
        return [self._add(choice, group, max(choice.priority[mine] - choice.priority[other] + 1, 1))]

    def lead_past_what_blocks(self, choice: Choice, job: int, late: bool) -> Undo | None:
        """Book an operation ahead of one that is still being done when it becomes ready: idling on purpose."""
        mine = self._waiting(job)
        if mine is None:
            return None
        ready = self.ready[mine]
        blocks = np.nonzero((self.start < ready) & (self.end > ready) & self._able(mine))[0]
        if not len(blocks):
            return None
        other = int(blocks[self.chance.randrange(len(blocks))])
        undo = [self._old(choice.wish, (r.WISH_AHEAD, mine)), (choice.priority, mine, choice.priority[mine])]
        choice.wish[r.WISH_AHEAD, mine] = min(int(ready - self.start[other]), LONGEST_LEAD_DAYS * self.day)
        choice.priority[mine] = min(choice.priority[mine], choice.priority[other] - 1)
        return undo

    def wait_for(self, choice: Choice, job: int, late: bool) -> Undo | None:
        """Let an operation wait for one technician, or for whoever can do it first."""
        operation = self._waiting(job) if self.chance.random() < 0.5 else self.chance.choice(self.own[job])
        if operation is None:
            return None
        able = self.shop.able[self.shop.op[r.OP_SKILL, operation]]
        undo = self._old(choice.wish, (r.WISH_WHO, operation))
        off = choice.wish[r.WISH_WHO, operation] >= 0 and self.chance.random() < 0.5
        choice.wish[r.WISH_WHO, operation] = r.NONE if off else able[self.chance.randrange(int((able >= 0).sum()))]
        return [undo]

    def toggle_pin(self, choice: Choice, job: int, late: bool) -> Undo:
        """Pin a near operation, or free it."""
        pin = self.chance.randrange(len(self.shop.pin))
        undo = (choice.pins, pin, choice.pins[pin])
        choice.pins[pin] = 1 - choice.pins[pin]
        return [undo]

    def swap_pins(self, choice: Choice, job: int, late: bool) -> Undo | None:
        """Pin one that is free, and free one of this job instead."""
        free = np.nonzero(choice.pins == 0)[0]
        mine = [pin for pin in self._pins_of(job) if choice.pins[pin]]
        if not len(free) or not mine:
            return None
        pins = np.array([free[self.chance.randrange(len(free))], self.chance.choice(mine)])
        undo = (choice.pins, pins, choice.pins[pins])
        choice.pins[pins] = (1, 0)
        return [undo]

    def free_job(self, choice: Choice, job: int, late: bool) -> Undo | None:
        """Free all near operations of a job from some point on."""
        mine = self._pins_of(job)
        if not mine:
            return None
        begins = self.shop.pin[self.chance.choice(mine), r.GIVEN_START]
        pins = np.array([pin for pin in mine if self.shop.pin[pin, r.GIVEN_START] >= begins])
        undo = (choice.pins, pins, choice.pins[pins])
        choice.pins[pins] = 0
        return [undo]

    def after(self, operation: int) -> Whole:
        """An operation and all that must follow it."""
        if operation not in self._after:
            seen, todo = {operation}, [operation]
            while todo:
                for later in self.p.following[todo.pop()]:
                    if later not in seen:
                        seen.add(later)
                        todo.append(later)
            self._after[operation] = np.array(sorted(seen))
        return self._after[operation]

    def _pins_of(self, job: int) -> list[int]:
        pins = (int(self.shop.op[r.OP_PIN, operation]) for operation in self.own[job])
        return [pin for pin in pins if pin >= 0]

    def _able(self, operation: int) -> Any:
        """For each operation: is it done by somebody who could do this one?"""
        return self.able[self.shop.op[r.OP_SKILL, operation]][self.who]

    def _waiting(self, job: int) -> int | None:
        """One operation on the chain that decides the job's end, which waited for somebody or something."""
        end, found = self.end, []
        here = max(self.own[job], key=end.__getitem__)
        while True:
            if self.start[here] > self.ready[here]:
                found.append(here)
            befores = self.p.before[here]
            if not befores:
                break
            here = max(befores, key=lambda before: end[before] + self.p.wait[before] * self.day // DAY_MINUTES)
        return self.chance.choice(found) if found else None

    def _rival(self, job: int) -> tuple[int, int] | None:
        """An operation that waited, and one that somebody able began meanwhile."""
        mine = self._waiting(job)
        if mine is None:
            return None
        meanwhile = (self.start >= self.ready[mine]) & (self.start < self.start[mine]) & self._able(mine)
        others = np.nonzero(meanwhile)[0]
        return (mine, int(others[self.chance.randrange(len(others))])) if len(others) else None

    @staticmethod
    def _old(table: Any, where: Any) -> tuple[Any, Any, Any]:
        """What to write back."""
        return table, where, table[where]

    def _add(self, choice: Choice, group: Whole, minutes: float) -> tuple[Any, Any, Any]:
        undo = (choice.priority, group, choice.priority[group])
        choice.priority[group] += minutes
        return undo
