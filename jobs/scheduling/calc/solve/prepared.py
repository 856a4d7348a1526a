"""The problem as whole numbers, worked out once and shared by every schedule built from it."""

from dataclasses import dataclass
from datetime import date, datetime

from jobs.scheduling.calc.problem import BENCH, SPRAY, Operation, Problem
from jobs.scheduling.calc.solution import Solution, Work
from jobs.scheduling.calc.solve.timeline import DAY_MINUTES, Timeline

NO_PLACE = -1
PLACES = (BENCH, SPRAY)
FAR = 10**9


@dataclass(frozen=True, slots=True)
class Preset:
    """A piece whose start and technician are given: work already begun, or an appointment."""

    piece: int
    technician: int
    start: int
    end: int
    begun: bool


class Prepared:
    """Index-based view of a validated problem. A *piece* is one session of an operation.

    ``days``: calendar days to know of; without it as many as surely hold any plan.
    """

    def __init__(self, problem: Problem, days: int | None = None) -> None:
        self.problem = problem
        self.time = Timeline(problem, horizon_days(problem) if days is None else days)
        self.own = [self.time.own_days(technician) for technician in problem.technicians]
        self.number_of = {operation.id: number for number, operation in enumerate(problem.operations)}
        jobs = {job.id: number for number, job in enumerate(problem.jobs)}
        operations = problem.operations
        self.job = [jobs[operation.job] for operation in operations]
        self.before = [[self.number_of[key] for key in operation.after] for operation in operations]
        self.following: list[list[int]] = [[] for _ in operations]
        for number, befores in enumerate(self.before):
            for before in befores:
                self.following[before].append(number)
        self.wait = [round(operation.wait_hours * 60) for operation in operations]
        self.slots = [problem.slots_of(operation) for operation in operations]
        self.place = [
            PLACES.index(operation.place) if operation.place in PLACES else NO_PLACE for operation in operations
        ]
        self.capacity = [problem.places.of(place) for place in PLACES]
        self.now = self.time.position(problem.now) if problem.now else 0
        self.earliest = [self._earliest(operation) for operation in operations]
        self.work_left = [self.job.count(number) for number in range(len(problem.jobs))]
        self._people()
        self._pieces()
        self._presets()
        self.order = self._order()

    def _earliest(self, operation: Operation) -> int:
        parts = self.time.position_of_day(operation.not_before) if operation.not_before else 0
        return max(self.now, parts)

    def _people(self) -> None:
        """Who can do each skill, those with the fewest skills first, so that the versatile stay free."""
        people = self.problem.technicians
        ranked = sorted(range(len(people)), key=lambda who: (len(people[who].skills), who))
        self.able: dict[str, list[int]] = {}
        for who in ranked:
            if self.own[who].shop_day:
                for skill in people[who].skills:
                    self.able.setdefault(skill, []).append(who)
        self.rank = {who: place for place, who in enumerate(ranked)}
        self.skill = [operation.skill for operation in self.problem.operations]

    def _pieces(self) -> None:
        self.first_piece: list[int] = []
        self.piece_slots: list[int] = []
        self.piece_operation: list[int] = []
        for number, operation in enumerate(self.problem.operations):
            self.first_piece.append(len(self.piece_slots))
            whole, longer = divmod(self.slots[number], operation.sessions)
            for session in range(operation.sessions):
                self.piece_slots.append(whole + (session < longer))
                self.piece_operation.append(number)

    def later_piece(self, piece: int) -> int | None:
        """The next session of the same operation."""
        number = self.piece_operation[piece]
        last = piece + 1 == len(self.piece_slots) or self.piece_operation[piece + 1] != number
        return None if last else piece + 1

    def _presets(self) -> None:
        people = {technician.id: number for number, technician in enumerate(self.problem.technicians)}
        self.presets: list[Preset] = []
        self.forced: dict[int, int] = {}
        """Operation → its only possible technician."""
        for number, operation in enumerate(self.problem.operations):
            started = self.problem.started(operation.id)
            if started:
                self.forced[number] = people[started.technician]
                begun = [stint.start for stint in started.stints if self.problem.now and stint.start < self.problem.now]
                starts = begun[:1] if operation.sessions == 1 else begun
            elif operation.fixed:
                self.forced[number] = people[operation.fixed.technician]
                starts = [operation.fixed.start]
            else:
                continue
            for session, start in enumerate(starts):
                self._preset(self.first_piece[number] + session, start, begun=started is not None)
        self.begun_operations = {self.piece_operation[preset.piece] for preset in self.presets if preset.begun}

    def _preset(self, piece: int, start: datetime, *, begun: bool) -> None:
        who = self.forced[self.piece_operation[piece]]
        position = self.time.position(start)
        end = self.time.work_end(self.own[who], position, self.piece_slots[piece])
        self.presets.append(Preset(piece, who, position, end, begun))

    def _order(self) -> list[int]:
        """Operations so that each comes after its prerequisites."""
        missing = [len(befores) for befores in self.before]
        ready = [number for number, count in enumerate(missing) if not count]
        for number in ready:
            for later in self.following[number]:
                missing[later] -= 1
                if not missing[later]:
                    ready.append(later)
        return ready

    def solution(self, starts: list[int], people: list[int], made_by: str) -> Solution:
        """The plan from a start position and a technician for every piece."""
        works: dict[str, Work] = {}
        for number, operation in enumerate(self.problem.operations):
            first = self.first_piece[number]
            who = people[first]
            stints = []
            for piece in range(first, first + operation.sessions):
                stints += self.time.stints(self.own[who], starts[piece], self.piece_slots[piece])
            works[operation.id] = Work(self.problem.technicians[who].id, tuple(stints))
        return Solution(works, made_by=made_by)


def horizon_days(problem: Problem) -> int:
    """Calendar days that surely hold the plan: task after task, at the slowest pace, with all closures."""
    dates: list[date] = [problem.start, *problem.holidays]
    dates += [last for technician in problem.technicians for _, last in technician.leave]
    dates += [operation.not_before for operation in problem.operations if operation.not_before]
    dates += [operation.fixed.start.date() for operation in problem.operations if operation.fixed]
    dates += [problem.now.date()] if problem.now else []
    shop = set(problem.workdays)
    weekly = [len(shop & set(technician.workdays)) for technician in problem.technicians]
    pace = 7 / min((days for days in weekly if days), default=1)
    day = problem.day_minutes // problem.slot_minutes
    work = sum(-(-problem.slots_of(operation) // day) + operation.sessions for operation in problem.operations)
    waits = sum(operation.wait_hours for operation in problem.operations) * 60 / DAY_MINUTES
    return int((max(dates) - problem.start).days + work * pace + waits + len(problem.operations) + 28)
