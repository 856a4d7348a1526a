"""Priority rules: which ready operation goes first. Lower is more urgent; the unit is clock minutes."""

from dataclasses import dataclass
from datetime import datetime, time

from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.timeline import DAY_MINUTES

WEEK = 7
NEVER_DUE = 10**8
APPOINTMENT_FIRST = -(10**9)


@dataclass(frozen=True, slots=True)
class Rule:
    """Due date, less a share of the work and waits still to come, less some days for each unit of weight.

    ``remaining`` 0 is *earliest due date*, 1 is *least slack* (Panwalkar and Iskander, Operations Research
    25, 1977, list both; from memory). ``weight_days``: how many days earlier a job counts as due for each
    weight.
    """

    name: str
    remaining: float
    weight_days: float = 0


EARLIEST_DUE_DATE = Rule("earliest due date", 0)
LEAST_SLACK = Rule("least slack", 1)
RULES = (
    EARLIEST_DUE_DATE,
    LEAST_SLACK,
    Rule("weighted due date", 0, 5),
    Rule("weighted slack", 1, 3),
    Rule("slack with reserve", 1.5),
    Rule("weighted slack with reserve", 1.5, 6),
    Rule("double slack", 2, 3),
)
GRID = tuple(
    Rule("rules tried in turn", remaining, weight_days)
    for remaining in (0.7, 1, 1.3, 1.6, 2, 2.5)
    for weight_days in (0, 2, 4, 7)
)
"""More of the same kind, from which a search may start."""


def clock_lengths(prepared: Prepared) -> list[float]:
    """Rough clock minutes each operation takes: shop time spread over the week, or one day a session."""
    problem = prepared.problem
    spread = WEEK * DAY_MINUTES / (len(set(problem.workdays)) * problem.day_minutes)
    lengths = []
    for number, operation in enumerate(problem.operations):
        work = prepared.slots[number] * problem.slot_minutes * spread
        days = operation.sessions * DAY_MINUTES * WEEK / len(set(problem.workdays))
        lengths.append(work if operation.sessions == 1 else max(work, days))
    return lengths


def remaining(prepared: Prepared, lengths: list[float]) -> list[float]:
    """Clock minutes from the start of each operation to the end of its longest chain, waits included."""
    rest = [0.0] * len(lengths)
    for number in reversed(prepared.order):
        later = (prepared.wait[number] + rest[other] for other in prepared.following[number])
        rest[number] = lengths[number] + max(later, default=0.0)
    return rest


def due_minutes(prepared: Prepared) -> list[float]:
    """Clock minutes from the plan's start to the end of each job's due date."""
    start = prepared.problem.start
    return [((job.due - start).days + 1) * DAY_MINUTES if job.due else NEVER_DUE for job in prepared.problem.jobs]


def priorities(prepared: Prepared, rule: Rule, pull: list[float] | None = None) -> list[float]:
    """One number for each operation. ``pull``: minutes each operation is more urgent than its rule says."""
    lengths = clock_lengths(prepared)
    rest = remaining(prepared, lengths)
    due = due_minutes(prepared)
    values = []
    for number, job in enumerate(prepared.job):
        weight = prepared.problem.jobs[job].weight
        urgency = due[job] - rule.remaining * rest[number] - rule.weight_days * weight * DAY_MINUTES
        values.append(urgency - (pull[number] if pull else 0.0))
    return _appointments_first(prepared, lengths, values)


def _appointments_first(prepared: Prepared, lengths: list[float], values: list[float]) -> list[float]:
    """Whatever leads to an appointment goes before all else, latest permissible start first."""
    latest: list[float | None] = [None] * len(values)
    for preset in prepared.presets:
        if not preset.begun:
            latest[prepared.piece_operation[preset.piece]] = prepared.time.end_minutes(preset.start + 1)
    for number in reversed(prepared.order):
        for later in prepared.following[number]:
            limit = latest[later]
            if limit is not None:
                mine = limit - prepared.wait[number] - lengths[number]
                known = latest[number]
                latest[number] = mine if known is None else min(known, mine)
    return [value if limit is None else APPOINTMENT_FIRST + limit for value, limit in zip(values, latest, strict=True)]


def from_starts(prepared: Prepared) -> list[float]:
    """Priorities that follow the order of the plan in force; work it does not know goes by its due date."""
    problem = prepared.problem
    rule = priorities(prepared, LEAST_SLACK)
    values = []
    for number, operation in enumerate(problem.operations):
        old = problem.previous.get(operation.id)
        if old is None or not old.stints:
            values.append(rule[number])
        else:
            values.append((old.stints[0].start - datetime.combine(problem.start, time())).total_seconds() / 60)
    return _appointments_first(prepared, clock_lengths(prepared), values)
