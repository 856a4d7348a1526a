"""Best of several priority rules, then rounds that pull late jobs forward, then rounds of seeded variation."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve.list_schedule import ListScheduler, NothingCanStart, Schedule
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.priorities import RULES, Rule, due_minutes, priorities
from jobs.scheduling.calc.solve.timeline import DAY_MINUTES

WORK_BUDGET = 150_000
"""Pieces placed in the rounds after the rules unless told otherwise: some seconds on one core for a big shop."""
MOST_ROUNDS = 100
SHARPENING_SHARE = 4
"""One round in so many pulls late jobs forward; the others vary what that found."""
PULL_SHARE = 0.6
"""How much of a job's lateness it is pulled forward by after each round."""
SPREAD_DAYS = 6
"""Standard deviation of a variation's shift of priority."""
SEED = 20270104

Score = tuple[int, float, int]


class NoPlanFound(RuntimeError):
    """No rule led to a complete plan."""


@dataclass(frozen=True, slots=True)
class Progress:
    """What a caller may show while solving: schedules built, of how many, and the best weighted days late."""

    built: int
    planned: int
    best_days_late: float


@dataclass(slots=True)
class _Best:
    score: Score
    schedule: Schedule
    rule: Rule
    cautious: bool
    pull: list[float] | None

    @property
    def made_by(self) -> str:
        return self.rule.name + (", sharpened" if self.pull else "")


def solve(
    problem: Problem,
    *,
    rules: Sequence[Rule] = RULES,
    rounds: int | None = None,
    progress: Callable[[Progress], bool] | None = None,
) -> Solution:
    """The best plan found for a validated problem.

    ``rounds``: rounds of improvement after the rules; by default as many as a fixed amount of work allows.
    ``progress`` is called after each schedule and may return False to stop with the best so far. Raises
    NoPlanFound.
    """
    search = _Search(Prepared(problem), progress)
    if rounds is None:
        rounds = min(MOST_ROUNDS, WORK_BUDGET // max(1, len(search.prepared.piece_slots)))
    search.planned = len(rules) + rounds
    try:
        for rule in rules:
            search.build(rule, None, cautious=False)
        if search.best is None or search.best.score[0]:
            search.planned += len(rules)
            for rule in rules:
                search.build(rule, None, cautious=True)
        search.sharpen(rounds // SHARPENING_SHARE)
        search.vary(rounds - rounds // SHARPENING_SHARE)
    except _Stopped:
        pass
    if search.best is None:
        raise NoPlanFound(
            "No order of work was found that keeps every rule. An appointment or a full house may be in the way: "
            "move the appointment, add a place, or let an instrument go."
        )
    best = search.best
    return search.prepared.solution(best.schedule.starts, best.schedule.people, best.made_by)


class _Stopped(Exception):
    """The caller has seen enough."""


class _Search:
    def __init__(self, prepared: Prepared, progress: Callable[[Progress], bool] | None) -> None:
        self.prepared = prepared
        self.progress = progress
        self.due = due_minutes(prepared)
        self.best: _Best | None = None
        self.built = self.planned = 0

    def build(self, rule: Rule, pull: list[float] | None, *, cautious: bool) -> Schedule | None:
        """One schedule; kept if it is the best so far. None when nothing could start."""
        order = priorities(self.prepared, rule, pull)
        try:
            schedule = ListScheduler(self.prepared, order, cautious=cautious).run()
        except NothingCanStart:
            return None
        score = self.score(schedule)
        if self.best is None or score < self.best.score or (pull and score == self.best.score):
            self.best = _Best(score, schedule, rule, cautious, list(pull) if pull else None)
        self.built += 1
        if self.progress and not self.progress(Progress(self.built, self.planned, self.best.score[1])):
            raise _Stopped
        return schedule

    def sharpen(self, rounds: int) -> None:
        """Rounds from the best rule: each pulls forward the jobs the last one made late, weighted."""
        if self.best is None:
            return
        rule, cautious, schedule = self.best.rule, self.best.cautious, self.best.schedule
        pull = [0.0] * len(self.prepared.job)
        weights = [job.weight for job in self.prepared.problem.jobs]
        heaviest = max(weights, default=1) or 1
        for _ in range(rounds):
            late = self.minutes_late(schedule)
            if not any(late):
                return
            for number, job in enumerate(self.prepared.job):
                pull[number] += PULL_SHARE * late[job] * weights[job] / heaviest
            following = self.build(rule, pull, cautious=cautious)
            if following is None:
                return
            schedule = following

    def vary(self, rounds: int) -> None:
        """Rounds from the best so far: each shifts one job or one of its operations, and stays if not worse."""
        chance = Random(SEED)
        for _ in range(rounds):
            best = self.best
            late = self.minutes_late(best.schedule) if best else []
            if best is None or not any(late):
                return
            pull = list(best.pull) if best.pull else [0.0] * len(self.prepared.job)
            suffering = [job for job, minutes in enumerate(late) if minutes]
            job = chance.choice(suffering) if chance.random() < 0.5 else chance.randrange(len(late))
            own = [number for number, other in enumerate(self.prepared.job) if other == job]
            if not own:
                continue
            shift = chance.gauss(0, SPREAD_DAYS * DAY_MINUTES)
            for number in own if chance.random() < 0.6 else [chance.choice(own)]:
                pull[number] += shift
            self.build(best.rule, pull, cautious=best.cautious)

    def ends(self, schedule: Schedule) -> list[int]:
        """End position of each job."""
        prepared = self.prepared
        ends = [0] * len(self.due)
        for piece, start in enumerate(schedule.starts):
            job = prepared.job[prepared.piece_operation[piece]]
            own = prepared.own[schedule.people[piece]]
            end = prepared.time.work_end(own, start, prepared.piece_slots[piece])
            ends[job] = max(ends[job], end)
        return ends

    def minutes_late(self, schedule: Schedule) -> list[float]:
        """Clock minutes from the end of each job's due date to its end; 0 when in time."""
        ends = self.ends(schedule)
        clock = (self.prepared.time.end_minutes(end) if end else 0 for end in ends)
        return [max(0.0, minutes - due) for minutes, due in zip(clock, self.due, strict=True)]

    def score(self, schedule: Schedule) -> Score:
        """Appointments missed, then weighted calendar days late, then the last end."""
        late = 0.0
        for job, minutes in zip(self.prepared.problem.jobs, self.minutes_late(schedule), strict=True):
            late += job.weight * -(-minutes // DAY_MINUTES)
        return schedule.broken_appointments, late, max(self.ends(schedule), default=0)
