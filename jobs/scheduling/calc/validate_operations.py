"""The part of ``validate`` that looks at one operation at a time; yields (operation id, sentence)."""

from collections.abc import Iterator
from datetime import date, datetime

from jobs.scheduling.calc.problem import (
    BOOKED_PLACES,
    Operation,
    Previous,
    Problem,
    day_text,
    minutes_of,
    moment_text,
)


def operation_troubles(problem: Problem) -> Iterator[tuple[str, str]]:
    """Every operation that can never be placed, and what to change. Ids must already be known to be sound."""
    for operation in problem.operations:
        rules = (_size(problem, operation), _skill(problem, operation), _place(problem, operation))
        started = problem.started(operation.id)
        more = _started(problem, operation, started) if started else _open(problem, operation)
        for sentence in (*(sentence for rule in rules for sentence in rule), *more):
            yield operation.id, sentence


def _size(problem: Problem, operation: Operation) -> Iterator[str]:
    name, slot = operation.id, problem.slot_minutes
    if operation.hours <= 0:
        yield f"{name} takes {operation.hours:g} hours: give it more than none, or take it out."
    elif abs(operation.hours * 60 / slot - problem.slots_of(operation)) > 1e-6:
        yield f"{name} takes {operation.hours:g} hours, which is not whole slots of {slot} minutes: round it."
    if operation.wait_hours < 0:
        yield f"{name} has a wait of {operation.wait_hours:g} hours: give 0 or more."
    slots, day = problem.slots_of(operation), problem.day_minutes // slot
    if operation.sessions < 1:
        yield f"{name} has {operation.sessions} sessions: give 1 or more."
    elif operation.sessions > max(slots, 1):
        yield f"{name} has {operation.sessions} sessions but only {slots} slots of work: give fewer."
    elif operation.sessions > 1 and -(-slots // operation.sessions) > day:
        yield (
            f"{name} never fits: {operation.hours:g} hours in {operation.sessions} sessions make one longer"
            f" than a day of {problem.day_minutes / 60:g} hours: give it {-(-slots // day)} sessions or more."
        )


def _skill(problem: Problem, operation: Operation) -> Iterator[str]:
    able = [technician for technician in problem.technicians if operation.skill in technician.skills]
    if not able:
        yield f"{operation.id} needs the skill {operation.skill}, which nobody has: give it to a technician."
    elif not any(set(technician.workdays) & set(problem.workdays) for technician in able):
        names = ", ".join(technician.id for technician in able)
        yield (
            f"{operation.id} needs the skill {operation.skill}, but {names} never works on a working day of"
            " the shop: change the working days or give the skill to someone else."
        )


def _place(problem: Problem, operation: Operation) -> Iterator[str]:
    if operation.place in BOOKED_PLACES and problem.places.of(operation.place or "") < 1:
        yield f"{operation.id} needs the place {operation.place}, which the shop lacks: add one or change it."


def _open(problem: Problem, operation: Operation) -> Iterator[str]:
    """An operation that has not begun: can its appointment be kept at all?"""
    name, fixed = operation.id, operation.fixed
    if fixed is None:
        return
    start = moment_text(fixed.start)
    if operation.skill not in problem.technician_by_id[fixed.technician].skills:
        yield f"{name} is fixed for {fixed.technician}, who lacks {operation.skill}: name someone else."
    yield from _workable(problem, fixed.technician, fixed.start, f"{name} is fixed for {start}", "move the appointment")
    if problem.now and fixed.start < problem.now:
        yield f"{name} is fixed for {start}, which is past and it was not started: move the appointment."
    if operation.not_before and fixed.start.date() < operation.not_before:
        parts = day_text(operation.not_before)
        yield f"{name} is fixed for {start}, but cannot start before {parts}: move one of them."


def _started(problem: Problem, operation: Operation, started: Previous) -> Iterator[str]:
    """Work already begun: it keeps its technician and first start, so those must be allowed."""
    name, who, start = operation.id, started.technician, started.stints[0].start
    if operation.skill not in problem.technician_by_id[who].skills:
        yield f"{name} was started by {who}, who lacks the skill {operation.skill}: give {who} the skill."
    begun = sum(1 for stint in started.stints if problem.now and stint.start < problem.now)
    if operation.sessions > 1 and begun > operation.sessions:
        planned = operation.sessions
        yield f"{name} has begun {begun} sessions but is planned in {planned}: give {begun} or more."
    text = f"{name} was started {moment_text(start)}"
    yield from _workable(problem, who, start, text, "begin the leave or closure after it")
    fixed = operation.fixed
    if fixed and (fixed.technician != who or fixed.start != start):
        later = f"{fixed.technician} {moment_text(fixed.start)}"
        yield f"{text} by {who}, but is fixed for {later}: take the appointment out."


def _workable(problem: Problem, who: str, start: datetime, text: str, mend: str) -> Iterator[str]:
    if not _works_on(problem, who, start.date()):
        yield f"{text}, when {who} is not at work: {mend}."
    if not _is_slot_start(problem, start):
        yield (
            f"{text}, which is not the start of a slot of {problem.slot_minutes} minutes between"
            f" {problem.opens:%H:%M} and {problem.closes:%H:%M}: {mend}."
        )


def _works_on(problem: Problem, technician_id: str, day: date) -> bool:
    technician = problem.technician_by_id[technician_id]
    shop = day >= problem.start and day.weekday() in problem.workdays and day not in problem.holidays
    away = any(first <= day <= last for first, last in technician.leave)
    return shop and day.weekday() in technician.workdays and not away


def _is_slot_start(problem: Problem, moment: datetime) -> bool:
    since = minutes_of(moment.time()) - minutes_of(problem.opens)
    return 0 <= since < problem.day_minutes and since % problem.slot_minutes == 0 and moment.second == 0
