"""The independent checker: does a plan keep every rule?

Written without any of the solver's code. It walks days and clock times, never the solver's slot arithmetic,
so a mistake there cannot hide here. ``check_between`` holds the rules that look at more than one operation.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from jobs.scheduling.calc.check_between import between_troubles
from jobs.scheduling.calc.problem import Operation, Problem, Stint, day_text, moment_text
from jobs.scheduling.calc.solution import Solution, Work

RULES = (
    "complete", "skill", "day", "calendar", "hours", "uninterrupted", "sessions", "not before", "fixed",
    "now", "started", "after", "wait", "double booking", "place", "floor",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule a plan breaks: one of RULES, the operation, job or place concerned, and a sentence."""

    rule: str
    where: str
    sentence: str

    def __str__(self) -> str:
        return self.sentence


def check(problem: Problem, solution: Solution) -> list[Broken]:
    """Every rule the plan breaks, in the order of the operations; empty when the plan may be shown."""
    broken = list(_complete(problem, solution))
    sound: dict[str, Work] = {}
    for operation in problem.operations:
        work = solution.operations.get(operation.id)
        if work is None or not work.stints or work.technician not in problem.technician_by_id:
            continue
        misshapen = list(_stints(problem, operation, work))
        broken += misshapen
        if not misshapen:
            sound[operation.id] = work
            rule = _one_session if operation.sessions == 1 else _several_sessions
            broken += rule(problem, operation, work)
        broken += _bounds(problem, operation, work)
        broken += _history(problem, operation, work)
    broken += (Broken(*found) for found in between_troubles(problem, sound))
    return broken


def _complete(problem: Problem, solution: Solution) -> Iterator[Broken]:
    for operation in problem.operations:
        work = solution.operations.get(operation.id)
        if work is None or not work.stints:
            yield Broken("complete", operation.id, f"{operation.id} is not in the plan.")
        elif work.technician not in problem.technician_by_id:
            who = work.technician
            yield Broken("complete", operation.id, f"{operation.id} is given to {who}, who is not in the shop.")
    for key in solution.operations:
        if key not in problem.operation_by_id:
            yield Broken("complete", key, f"{key} is planned but is not an operation of the problem.")


def _at_work(problem: Problem, technician_id: str, day: date) -> bool:
    technician = problem.technician_by_id[technician_id]
    if day < problem.start or day in problem.holidays or day.weekday() not in problem.workdays:
        return False
    if day.weekday() not in technician.workdays:
        return False
    return not any(first <= day <= last for first, last in technician.leave)


def _stints(problem: Problem, operation: Operation, work: Work) -> Iterator[Broken]:
    """Each stint alone: within one open day of its technician, on the grid, in order."""
    name, slot = operation.id, timedelta(minutes=problem.slot_minutes)
    for stint in work.stints:
        text = f"{name}: the stint from {moment_text(stint.start)} to {moment_text(stint.end)}"
        opens = datetime.combine(stint.start.date(), problem.opens)
        closes = datetime.combine(stint.start.date(), problem.closes)
        if stint.start >= stint.end:
            yield Broken("day", name, f"{text} is empty or runs backwards.")
        elif stint.start < opens or stint.end > closes:
            yield Broken("day", name, f"{text} is not within one working day.")
        elif (stint.start - opens) % slot or (stint.end - opens) % slot:
            yield Broken("day", name, f"{text} is off the grid of {problem.slot_minutes} minutes.")
        if not _at_work(problem, work.technician, stint.start.date()):
            day = day_text(stint.start.date())
            yield Broken("calendar", name, f"{name}: {work.technician} is not at work on {day}.")
    for earlier, later in zip(work.stints, work.stints[1:], strict=False):
        if later.start < earlier.end:
            yield Broken("day", name, f"{name}: its stints overlap or are out of order at {moment_text(later.start)}.")


def _hours_of(stints: tuple[Stint, ...]) -> float:
    return sum((stint.end - stint.start).total_seconds() for stint in stints) / 3600


def _one_session(problem: Problem, operation: Operation, work: Work) -> Iterator[Broken]:
    """The work fills its technician's own days from start to end; only nights and days off interrupt it."""
    name, done = operation.id, _hours_of(work.stints)
    if abs(done - operation.hours) > 1e-6:
        yield Broken("hours", name, f"{name}: {done:g} hours are planned, {operation.hours:g} are needed.")
    day, last = work.start.date(), work.end.date()
    expected = []
    while day <= last:
        if _at_work(problem, work.technician, day):
            start = work.start if day == work.start.date() else datetime.combine(day, problem.opens)
            end = work.end if day == last else datetime.combine(day, problem.closes)
            expected.append(Stint(start, end))
        day += timedelta(days=1)
    if tuple(expected) != work.stints:
        yield Broken(
            "uninterrupted",
            name,
            f"{name}: {work.technician} should work on it without a break"
            f" from {moment_text(work.start)} to {moment_text(work.end)}.",
        )


def _several_sessions(problem: Problem, operation: Operation, work: Work) -> Iterator[Broken]:
    """One stint a session, on different days, as even as the grid allows, longer ones first."""
    name, number = operation.id, operation.sessions
    done = _hours_of(work.stints)
    if abs(done - operation.hours) > 1e-6:
        yield Broken("hours", name, f"{name}: {done:g} hours are planned, {operation.hours:g} are needed.")
    if len(work.stints) != number:
        yield Broken("sessions", name, f"{name}: {len(work.stints)} stints, but {number} sessions are needed.")
        return
    if len({stint.start.date() for stint in work.stints}) != number:
        yield Broken("sessions", name, f"{name}: two of its sessions are on one day.")
    whole, left_over = divmod(round(operation.hours * 60 / problem.slot_minutes), number)
    for index, stint in enumerate(work.stints):
        minutes = (whole + (1 if index < left_over else 0)) * problem.slot_minutes
        if stint.end - stint.start != timedelta(minutes=minutes):
            text = f"{name}: session {index + 1} must last {minutes / 60:g} hours."
            yield Broken("sessions", name, text)


def _bounds(problem: Problem, operation: Operation, work: Work) -> Iterator[Broken]:
    """Skill, arrival of parts, appointment."""
    name, start = operation.id, moment_text(work.start)
    if operation.skill not in problem.technician_by_id[work.technician].skills:
        yield Broken("skill", name, f"{name}: {work.technician} lacks the skill {operation.skill}.")
    if operation.not_before and work.start < datetime.combine(operation.not_before, time()):
        day = day_text(operation.not_before)
        yield Broken("not before", name, f"{name} starts {start}, but cannot before {day}.")
    fixed = operation.fixed
    if fixed and (work.technician, work.start) != (fixed.technician, fixed.start):
        promised = f"{fixed.technician} at {moment_text(fixed.start)}"
        yield Broken("fixed", name, f"{name} is planned for {work.technician} at {start}, but fixed for {promised}.")


def _history(problem: Problem, operation: Operation, work: Work) -> Iterator[Broken]:
    """Nothing new before now; work begun before now stays."""
    name, now = operation.id, problem.now
    if now is None:
        return
    old = problem.previous.get(name)
    if old is None or not old.stints or old.stints[0].start >= now:
        if work.start < now:
            text = f"{name} starts {moment_text(work.start)}, before now ({moment_text(now)})."
            yield Broken("now", name, text)
        return
    first = old.stints[0].start
    if (work.technician, work.start) != (old.technician, first):
        yield Broken("started", name, f"{name} was started by {old.technician} {moment_text(first)} and cannot move.")
    elif operation.sessions > 1:
        begun = [stint.start for stint in old.stints if stint.start < now]
        if [stint.start for stint in work.stints if stint.start < now] != begun:
            yield Broken("started", name, f"{name}: its sessions begun before {moment_text(now)} cannot change.")
