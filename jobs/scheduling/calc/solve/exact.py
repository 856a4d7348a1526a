"""Proof for small problems: one constraint model of the whole shop, started from the best plan of the search.

Each technician has an axis of their own working slots, on which work is one unbroken interval. Positions are a day and
a slot, so that small tables over days (element constraints) lead from there to the shop's axis, and from an end
through a wait to the slot after it: calendars and waits in clock time are exact. Solved with CP-SAT.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass
from datetime import timedelta

from ortools.sat.python import cp_model

from jobs.scheduling.calc.solve.builder import Kept
from jobs.scheduling.calc.solve.prepared import NO_PLACE, Prepared
from jobs.scheduling.calc.solve.timeline import DAY_MINUTES

SMALLEST_BUDGET = 0.3
"""Seconds below which it is not worth building the model."""
ASK_SECONDS = 0.25


@dataclass(frozen=True, slots=True)
class Proof:
    """Start position and technician of every piece, and whether nothing better exists."""

    starts: list[int]
    people: list[int]
    proved: bool


def prove(
    prepared: Prepared, kept: Kept, seconds: float, workers: int, goes_on: Callable[[], bool] | None = None
) -> Proof | None:
    """The best plan, or a better one than ``kept``; None when the time ended before either was shown.

    ``goes_on`` is asked now and then, on the thread of the caller, and may end it earlier by saying False.
    """
    if kept.score[0] or seconds < SMALLEST_BUDGET:
        return None
    return ExactModel(prepared, kept).solve(seconds, workers, goes_on=goes_on)


class ExactModel:
    """The shop as constraints, one short method a rule."""

    def __init__(self, prepared: Prepared, kept: Kept) -> None:
        self.p, self.kept, self.model = prepared, kept, cp_model.CpModel()
        self.day = prepared.time.day
        self.horizon = self._horizon()
        self.days = days = self.horizon // self.day
        self.end_days: list[cp_model.IntVar] = []
        self.end_slots: list[cp_model.IntVar] = []
        self.own_days = [[day for day in own.shop_day if day < days] for own in prepared.own]
        self.own_slots = [
            [day * self.day + slot for day in own.shop_day if day < days for slot in range(self.day)]
            for own in prepared.own
        ]
        self.own_index = [{slot: index for index, slot in enumerate(slots)} for slots in self.own_slots]
        self.given = {preset.piece: preset for preset in prepared.presets}
        self.starts: list[cp_model.IntVar] = []
        self.ends: list[cp_model.IntVar] = []
        self.chosen: list[dict[int, cp_model.IntVar]] = [{} for _ in prepared.job]
        self.busy: list[list[cp_model.IntervalVar]] = [[] for _ in prepared.own]
        self._pieces()
        self._sessions()
        self._order()
        self._places()
        self._jobs()
        for intervals in self.busy:
            self.model.add_no_overlap(intervals)

    def _horizon(self) -> int:
        """No better plan ends a job later than its due date plus all days late of the best one over its weight."""
        time, problem = self.p.time, self.p.problem
        last = max(
            (problem.jobs[job].due or problem.start)
            + timedelta(days=int(self.kept.days_late // problem.jobs[job].weight) + 1)
            for job in set(self.p.job)
        )
        latest = max(self._kept_end(piece) for piece in range(len(self.p.piece_slots)))
        days = max(-(-time.position_of_day(last) // self.day), -(-latest // self.day))
        return min(days * self.day, time.end)

    def _kept_end(self, piece: int) -> int:
        own = self.p.own[int(self.kept.people[piece])]
        return self.p.time.work_end(own, int(self.kept.starts[piece]), self.p.piece_slots[piece])

    def _whole(self, name: str, hint: int | None = None, least: int = 0) -> cp_model.IntVar:
        variable = self.model.new_int_var(least, self.horizon, name)
        if hint is not None:
            self.model.add_hint(variable, hint)
        return variable

    def _pieces(self) -> None:
        """Start and end of each piece, and one way of doing it for each able technician."""
        for piece, number in enumerate(self.p.piece_operation):
            self.starts.append(self._whole(f"start {piece}", int(self.kept.starts[piece])))
            self.ends.append(self._whole(f"end {piece}", self._kept_end(piece)))
            last = self._kept_end(piece) - 1
            self.end_days.append(self._var(0, self.days - 1, f"end day {piece}", last // self.day))
            self.end_slots.append(self._var(0, self.day - 1, f"end slot {piece}", last % self.day))
            self.model.add(self.ends[piece] == self.day * self.end_days[piece] + self.end_slots[piece] + 1)
            able = self.p.able[self.p.skill[number]]
            if piece == self.p.first_piece[number]:
                self.chosen[number] = {who: self.model.new_bool_var(f"{number} by {who}") for who in able}
                self.model.add_exactly_one(self.chosen[number].values())
                for who, by in self.chosen[number].items():
                    self.model.add_hint(by, int(self.kept.people[piece] == who))
            for who, by in self.chosen[number].items():
                self._way(piece, number, who, by)
            given = self.given.get(piece)
            if given:
                self.model.add(self.starts[piece] == given.start)
                self.model.add(self.chosen[number][given.technician] == 1)
            elif number in self.p.forced:
                self.model.add(self.chosen[number][self.p.forced[number]] == 1)

    def _way(self, piece: int, number: int, who: int, by: cp_model.IntVar) -> None:
        """One technician's way of doing a piece: an interval on their own axis, tied to the shop's axis."""
        slots, axis, length = self.own_slots[who], self.own_index[who], self.p.piece_slots[piece]
        in_sessions = self.p.problem.operations[number].sessions > 1
        earliest = 0 if piece in self.given else self.p.earliest[number]
        fits = [
            index
            for index in range(len(slots) - length + 1)
            if slots[index] >= earliest and (not in_sessions or index % self.day + length <= self.day)
        ]
        if not fits:
            self.model.add(by == 0)
            return
        index = self.model.new_int_var_from_domain(cp_model.Domain.from_values(fits), f"own {piece} {who}")
        mine = int(self.kept.people[piece]) == who
        self.model.add_hint(index, axis[int(self.kept.starts[piece])] if mine else fits[0])
        at = axis[int(self.kept.starts[piece])] if mine else fits[0]
        day, slot = self._on_the_shops_axis(index, at, who, f"from {piece} {who}")
        self.model.add(self.starts[piece] == self.day * day + slot).only_enforce_if(by)
        day, slot = self._on_the_shops_axis(index + (length - 1), at + length - 1, who, f"to {piece} {who}")
        self.model.add(self.end_days[piece] == day).only_enforce_if(by)
        self.model.add(self.end_slots[piece] == slot).only_enforce_if(by)
        self.busy[who].append(self.model.new_optional_fixed_size_interval_var(index, length, by, f"busy {piece} {who}"))

    def _on_the_shops_axis(
        self, index: cp_model.LinearExprT, hint: int, who: int, name: str
    ) -> tuple[cp_model.IntVar, cp_model.IntVar]:
        """Shop day and slot of a place on a technician's own axis."""
        days = self.own_days[who]
        own_day = self._var(0, len(days) - 1, f"{name} own day", hint // self.day)
        slot = self._var(0, self.day - 1, f"{name} slot", hint % self.day)
        self.model.add(index == self.day * own_day + slot)
        return self._mapped(own_day, days, f"{name} day", hint // self.day), slot

    def _sessions(self) -> None:
        """Sessions of an operation follow each other on different days."""
        for piece in range(len(self.starts)):
            later = self.p.later_piece(piece)
            if later is not None:
                self.model.add(self.starts[later] >= self.day * self.end_days[piece] + self.day)

    def _var(self, least: int, most: int, name: str, hint: int) -> cp_model.IntVar:
        variable = self.model.new_int_var(least, most, name)
        self.model.add_hint(variable, hint)
        return variable

    def _mapped(self, variable: cp_model.LinearExprT, table: list[int], name: str, hint: int) -> cp_model.IntVar:
        """What a table says at ``variable``, which is hinted to be ``hint``."""
        found = self._var(min(table), max(table), name, table[hint])
        self.model.add_element(variable, table, found)
        return found

    def _order(self) -> None:
        """Prerequisites and their waits in clock time; what has begun is not held back any more."""
        for number, following in enumerate(self.p.following):
            later = [self.p.first_piece[other] for other in following if other not in self.p.begun_operations]
            if later and self.p.wait[number]:
                self._rest(number, later)
            for piece in later:
                self.model.add(self.starts[piece] >= self.ends[self._last(number)])

    def _rest(self, number: int, later: list[int]) -> None:
        """A wait: over a day on which the shop is shut, work goes on in the morning; else at the same time of day.

        A wait of whole days needs a table over days; any other one over slots.
        """
        time, last, wait = self.p.time, self._last(number), self.p.wait[number]
        ended = self._kept_end(last) - 1
        if wait % DAY_MINUTES:
            ready = [time.position_at(time.end_minutes(at + 1) + wait) for at in range(self.horizon)]
            position = self.day * self.end_days[last] + self.end_slots[last]
            found = self._mapped(position, ready, f"rest {number}", ended)
            for piece in later:
                self.model.add(self.starts[piece] >= found)
            return
        dates = [date + wait // DAY_MINUTES for date in time.numbers[: self.days]]
        mornings = [time.position_at(date * DAY_MINUTES) for date in dates]
        shut = [
            int(time.position_at(date * DAY_MINUTES) == time.position_at((date + 1) * DAY_MINUTES)) for date in dates
        ]
        morning = self._mapped(self.end_days[last], mornings, f"rest {number}", ended // self.day)
        closed = self.model.new_bool_var(f"shut {number}")
        self.model.add_hint(closed, shut[ended // self.day])
        self.model.add_element(self.end_days[last], shut, closed)
        for piece in later:
            self.model.add(self.starts[piece] >= morning)
            after = morning + self.end_slots[last] + 1
            self.model.add(self.starts[piece] >= after).only_enforce_if(closed.negated())

    def _last(self, number: int) -> int:
        return self.p.first_piece[number] + self.p.problem.operations[number].sessions - 1

    def _places(self) -> None:
        """Benches and spray room."""
        for place, capacity in enumerate(self.p.capacity):
            held = [
                self._span(self.starts[piece], self.ends[piece], f"held {piece}")
                for piece, number in enumerate(self.p.piece_operation)
                if self.p.place[number] == place and place != NO_PLACE
            ]
            if len(held) > capacity:
                self.model.add_cumulative(held, [1] * len(held), capacity)

    def _span(self, start: cp_model.LinearExprT, end: cp_model.IntVar, name: str) -> cp_model.IntervalVar:
        size = self.model.new_int_var(0, self.horizon, f"size {name}")
        return self.model.new_interval_var(start, size, end, name)

    def _jobs(self) -> None:
        """Floor places, days late, the last end."""
        problem, time = self.p.problem, self.p.time
        own: dict[int, list[int]] = {}
        for piece, number in enumerate(self.p.piece_operation):
            own.setdefault(self.p.job[number], []).append(piece)
        last = self._whole("last end", max(self._kept_end(piece) for piece in range(len(self.starts))))
        floor, cost = [], []
        for job, pieces in own.items():
            end = self._whole(f"job {job} ends", max(self._kept_end(piece) for piece in pieces))
            start: cp_model.LinearExprT = 0
            if not problem.jobs[job].in_house:
                start = begins = self._whole(f"job {job} begins", min(int(self.kept.starts[piece]) for piece in pieces))
                self.model.add_min_equality(begins, [self.starts[piece] for piece in pieces])
            self.model.add_max_equality(end, [self.ends[piece] for piece in pieces])
            self.model.add(last >= end)
            floor.append(self._span(start, end, f"floor {job}"))
            due = problem.jobs[job].due or problem.start
            final = max(self._kept_end(piece) for piece in pieces) - 1
            day = self._var(0, self.days - 1, f"job {job} last day", final // self.day)
            for piece in pieces:
                self.model.add(day >= self.end_days[piece])
            over = [max(0, (date - due).days) for date in time.dates[: self.days]]
            late = self._mapped(day, over, f"late {job}", final // self.day)
            cost.append(int(problem.jobs[job].weight) * late)
        if len(floor) > problem.places.floor:
            self.model.add_cumulative(floor, [1] * len(floor), problem.places.floor)
        self.late = sum(cost)
        self.last = last
        self.model.add(self.late <= int(self.kept.days_late))
        self.model.minimize((self.horizon + 1) * self.late + last)

    def solve(
        self, seconds: float, workers: int, *, hinted: bool = True, goes_on: Callable[[], bool] | None = None
    ) -> Proof | None:
        """Run CP-SAT from the search's plan, or from nothing."""
        if not hinted:
            self.model.clear_hints()  # type: ignore[no-untyped-call]
        solver = cp_model.CpSolver()
        parameters = solver.parameters
        parameters.max_time_in_seconds = seconds
        parameters.num_workers = workers
        parameters.cp_model_probing_level = 0
        parameters.symmetry_level = 0
        if workers == 1:
            parameters.linearization_level = 0  # a proof takes two thirds of the work: the bounds come from the order
        with ThreadPoolExecutor(1) as beside:
            solving = beside.submit(solver.solve, self.model)
            while not solving.done():
                wait([solving], timeout=ASK_SECONDS)
                if goes_on is not None and not goes_on():
                    solver.stop_search()  # said again until it ends: it is not heard before the search has begun
            status = solving.result()
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        people = []
        for number in self.p.piece_operation:
            people.append(next(who for who, by in self.chosen[number].items() if solver.boolean_value(by)))
        return Proof([solver.value(start) for start in self.starts], people, status == cp_model.OPTIMAL)
