"""One thread's schedules: priorities in, a measured schedule out, by the compiled scheduler."""

from dataclasses import dataclass

import numpy as np

from jobs.scheduling.calc.solve.compiled import rows as r
from jobs.scheduling.calc.solve.compiled.decode import decode
from jobs.scheduling.calc.solve.compiled.saving import take_joined
from jobs.scheduling.calc.solve.compiled.tables import Real, Shop, Whole, saved_tables, state_tables

BROKEN_COST = 1e6
"""An appointment that is missed costs more than any lateness."""
LAST_END_COST = 1e-5
NOTHING = 1e12
MOMENTS_KEPT = 16
"""Moments of a schedule from which the next may go on: more cost more to keep than they save."""


@dataclass(frozen=True, slots=True)
class Budget:
    """How many near operations may move before each further one costs steeply, as prototypes measured.

    A move up to ``few`` costs ``each``, a further one within the budget ``price``; all in weighted days late.
    """

    moves: int
    steep: float
    each: float
    few: int = 0
    price: float = 0.0

    def worth(self, moved: int) -> float:
        """What the moves beyond ``few`` are held to be worth."""
        return self.price * max(0, moved - self.few)


@dataclass(slots=True)
class Choice:
    """What decides a schedule: a priority and wishes for each operation (see ``rows``), and the pins to try."""

    priority: Real
    wish: Whole
    pins: Whole
    cautious: bool = False

    def copy(self) -> "Choice":
        """The same, to be changed on its own."""
        return Choice(self.priority.copy(), self.wish.copy(), self.pins.copy(), self.cautious)


@dataclass(frozen=True, slots=True)
class Kept:
    """A finished schedule, as the search ranks it.

    ``score``: appointments missed, moves beyond the budget, weighted days late with the price of moves, last end.
    """

    score: tuple[float, float, float, float]
    days_late: float
    starts: Whole
    people: Whole
    choice: Choice
    name: str
    moved: int
    late_jobs: int


class Builder:
    """Builds schedules of one shop; the last one built can be asked about."""

    def __init__(self, shop: Shop, budget: Budget | None = None) -> None:
        self.shop, self.budget = shop, budget
        self.state = state_tables(shop)
        self.saved = saved_tables(self.state, np.zeros(0, dtype=np.int64))
        self._slots = np.arange(MOMENTS_KEPT)
        self.complete = self.joined = False
        """Whether the last schedule was finished; whether it is sure to be the present one from some moment on."""
        self._present = NOTHING
        self.score = (0.0, 0.0, 0.0, 0.0)
        """How the last schedule ranks, see ``Kept``; lower is better."""

    def cost(
        self,
        choice: Choice,
        *,
        since: int = -1,
        joins: int = r.FAR,
        limit: float = np.inf,
        late_limit: float = np.inf,
    ) -> float:
        """What the schedule of a choice costs; NOTHING when some work can never start.

        ``since``: kept moment up to which it is the same as the present one, see ``unchanged``. ``joins``: moment
        after which what was changed makes no difference: where the two are the same there, it is not finished, and
        costs what the present one does. Also NOTHING when it is sure to cost more than ``limit`` and be later than
        ``late_limit``: it is not finished then.
        """
        shop, state, saved = self.shop, self.state, self.saved
        cautious = int(choice.cautious)
        outcome = decode(
            shop, state, saved, choice.priority, choice.wish, choice.pins, cautious, since, joins, limit, late_limit
        )
        self.complete, self.joined = outcome == r.COMPLETE, outcome == r.JOINED
        if not self.complete:
            return self._present if self.joined else NOTHING
        late, soft, last = state.result[: r.LEAST_LATE].tolist()
        broken, over, worth = int(state.tally[r.BROKEN]), 0, 0.0
        cost: float = broken * BROKEN_COST + late + soft + last * LAST_END_COST
        if self.budget:
            moved = int(state.tally[r.NEAR_MOVED])
            over, worth = max(0, moved - self.budget.moves), self.budget.worth(moved)
            cost += self.budget.each * moved + worth + self.budget.steep * over
        self.score = (broken, over, late + worth, last)
        return cost

    def stand_at(self, choice: Choice) -> float:
        """Begin to keep moments of the schedules built from here: the cost of this one, now the present one."""
        cost = self.cost(choice)
        if self.complete:
            decided = np.sort(self.state.piece[r.DECIDED])
            grid = decided[np.arange(1, MOMENTS_KEPT + 1) * len(decided) // (MOMENTS_KEPT + 1)]
            self.saved = saved_tables(self.state, np.ascontiguousarray(grid))
            self.accept(-1, self.cost(choice))
        return cost

    def accept(self, since: int, cost: float) -> None:
        """The last schedule, built from a kept moment ``since``, is the present one from now on."""
        self._present = cost
        if self.joined:
            take_joined(self.state, self.saved, since)
            return
        self.saved.which[since + 1 :] ^= 1
        self.saved.op[:] = self.state.op
        self.saved.piece[:] = self.state.piece

    def unchanged(self, moment: int) -> int:
        """The last kept moment of the present schedule not after a moment; -1 when there is none."""
        kept = self.saved.moment[self.saved.which, self._slots[: len(self.saved.which)]]
        return int(np.searchsorted(kept, moment, side="right")) - 1

    def keep(self, choice: Choice, name: str) -> Kept:
        """The last schedule, to be kept."""
        return Kept(
            score=self.score,
            days_late=float(self.state.result[r.LATE_DAYS]),
            starts=self.state.piece[r.START].copy(),
            people=self.state.piece[r.WHO].copy(),
            choice=choice.copy(),
            name=name,
            moved=int(self.state.tally[r.NEAR_MOVED]),
            late_jobs=int(np.count_nonzero(self.days_late() > 0)),
        )

    def days_late(self) -> Whole:
        """Calendar days from each job's due date to its end in the last schedule; far below 0 when it is never due."""
        shop, ends = self.shop, self.state.job_end
        days = shop.calendar[r.NUMBER][np.maximum(ends - 1, 0) // shop.fact[r.FACT_DAY]] - shop.job[r.JOB_DUE_DAY]
        return np.where(ends > 0, days, -r.FAR)
