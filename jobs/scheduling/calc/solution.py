"""A plan: who does which operation in which stints. It measures itself; ``check`` judges it."""

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from jobs.scheduling.calc.problem import BENCH, FLOOR, SPRAY, Job, Operation, Problem, Stint
from jobs.scheduling.calc.problem_file import UnreadableFile, stints_data, stints_from

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Work:
    """One operation in the plan."""

    technician: str
    stints: tuple[Stint, ...]

    @property
    def start(self) -> datetime:
        """Start of the first stint."""
        return self.stints[0].start

    @property
    def end(self) -> datetime:
        """End of the last stint."""
        return self.stints[-1].end


@dataclass(frozen=True, slots=True)
class Hold:
    """A place held from ``start`` up to ``end`` by a job (floor) or an operation (bench, spray)."""

    place: str
    holder: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class DayUse:
    """The most places in use at once on one day."""

    day: date
    floor: int
    bench: int
    spray: int


@dataclass(frozen=True)
class Solution:
    """A whole plan. ``seconds``: time spent; ``proved``: shown to be best; ``made_by``: the rule."""

    operations: Mapping[str, Work]
    seconds: float = 0.0
    proved: bool = False
    made_by: str = ""

    @property
    def word(self) -> str:
        """How good the plan is known to be: ``proved optimal in 1.2 s`` or ``best found after 5.0 s``."""
        return f"proved optimal in {self.seconds:.1f} s" if self.proved else f"best found after {self.seconds:.1f} s"

    def job_ends(self, problem: Problem) -> dict[str, datetime]:
        """End of the last stint of each job that has work in the plan."""
        ends: dict[str, datetime] = {}
        for operation in problem.operations:
            work = self.operations.get(operation.id)
            if work:
                ends[operation.job] = max(ends.get(operation.job, work.end), work.end)
        return ends

    def last_end(self) -> datetime | None:
        """End of all work; None for an empty plan."""
        return max((work.end for work in self.operations.values()), default=None)

    def days_late(self, problem: Problem) -> dict[str, int]:
        """Calendar days from due date to last end for each late job; jobs in time are left out."""
        late = {}
        for job_id, end in self.job_ends(problem).items():
            days = _days_late(problem.job_by_id[job_id], end)
            if days:
                late[job_id] = days
        return late

    def weighted_days_late(self, problem: Problem) -> float:
        """Sum of weight × calendar days late over the jobs: what a plan is judged by first."""
        return sum(problem.job_by_id[job].weight * days for job, days in self.days_late(problem).items())

    def objective(self, problem: Problem) -> tuple[float, datetime]:
        """What is minimised: weighted days late, then the last end."""
        return self.weighted_days_late(problem), self.last_end() or datetime.combine(problem.start, time())

    def holds(self, problem: Problem) -> tuple[Hold, ...]:
        """Every place held, by whom and when, in order of start."""
        found = list(self._floor_holds(problem))
        for operation in problem.operations:
            work = self.operations.get(operation.id)
            if work and operation.place in (BENCH, SPRAY):
                found += _place_holds(operation, work)
        return tuple(sorted(found, key=lambda hold: (hold.start, hold.end, hold.holder)))

    def _floor_holds(self, problem: Problem) -> Iterable[Hold]:
        spans: dict[str, list[Work]] = defaultdict(list)
        for operation in problem.operations:
            if operation.id in self.operations:
                spans[operation.job].append(self.operations[operation.id])
        for job_id, works in spans.items():
            start = min(work.start for work in works)
            if problem.job_by_id[job_id].in_house:
                start = min(start, datetime.combine(problem.start, time()))
            yield Hold(FLOOR, job_id, start, max(work.end for work in works))

    def occupancy(self, problem: Problem) -> tuple[DayUse, ...]:
        """Most places in use at once, for each day from the plan's start to its last end."""
        end = self.last_end()
        if end is None:
            return ()
        peaks: dict[date, dict[str, int]] = defaultdict(lambda: defaultdict(int))
        by_place: dict[str, list[Hold]] = defaultdict(list)
        for hold in self.holds(problem):
            by_place[hold.place].append(hold)
        for place, holds in by_place.items():
            for day, peak in _daily_peaks(holds).items():
                peaks[day][place] = peak
        days = (end.date() - problem.start).days
        spread = (problem.start + DAY * number for number in range(days + 1))
        return tuple(DayUse(day, peaks[day][FLOOR], peaks[day][BENCH], peaks[day][SPRAY]) for day in spread)


def _days_late(job: Job, end: datetime) -> int:
    return max(0, (end.date() - job.due).days) if job.due else 0


def _place_holds(operation: Operation, work: Work) -> list[Hold]:
    """One session holds its place over pauses; several sessions hold it during the stints only."""
    place = operation.place or FLOOR
    if operation.sessions == 1:
        return [Hold(place, operation.id, work.start, work.end)]
    return [Hold(place, operation.id, stint.start, stint.end) for stint in work.stints]


def _daily_peaks(holds: list[Hold]) -> dict[date, int]:
    """Most holds at once on each day any of them touches."""
    changes: dict[date, list[tuple[datetime, int]]] = defaultdict(list)
    for hold in holds:
        day = hold.start.date()
        while datetime.combine(day, time()) < hold.end:
            changes[day] += [(max(hold.start, datetime.combine(day, time())), 1), (hold.end, -1)]
            day += DAY
    peaks = {}
    for day, steps in changes.items():
        level = peak = 0
        for _, step in sorted(steps):
            level += step
            peak = max(peak, level)
        peaks[day] = peak
    return peaks


def solution_read(text: str) -> Solution:
    """The plan written in ``text``. Raises UnreadableFile naming the operation that cannot be read."""
    where = "the heading"
    try:
        data = json.loads(text)
        works = {}
        for key, entry in data["operations"].items():
            where = f"operation {key}"
            works[key] = Work(entry["technician"], stints_from(entry["stints"]))
            if not works[key].stints:
                raise ValueError("it has no stints")
        return Solution(works, float(data.get("seconds", 0)), bool(data.get("proved", False)))
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise UnreadableFile(f"The plan cannot be read at {where}: {error}.") from error


def solution_data(solution: Solution) -> dict[str, Any]:
    """The plan as plain lists and dictionaries, ready for JSON."""
    works = {
        key: {"technician": work.technician, "stints": stints_data(work.stints)}
        for key, work in solution.operations.items()
    }
    return {"operations": works, "seconds": round(solution.seconds, 3), "proved": solution.proved}


def solution_write(solution: Solution) -> str:
    """The plan as JSON text."""
    return json.dumps(solution_data(solution), indent=1, ensure_ascii=False)
