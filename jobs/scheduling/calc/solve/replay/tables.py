"""The tables of a plan that is replayed (``Course``), the room one replay needs, and what is counted."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve.compiled import rows as shop_rows
from jobs.scheduling.calc.solve.compiled.tables import Whole, calendar_table, facts, people_table
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.replay import rows as r

Drawn = NDArray[np.int32]
Taken = NDArray[np.int16]
Next = NDArray[np.int32]


class Course(NamedTuple):
    """What all futures of a plan share; rows are named in ``rows``, those of people and facts in ``compiled.rows``."""

    piece: Whole
    op: Whole
    before: Whole
    can: Whole
    """1 for each operation that a technician [technician, operation] may be given."""
    people: Whole
    own: Next
    """For each technician and position the first slot of theirs at or after it; the end of the calendar for none."""
    calendar: Whole
    fact: Whole
    inside: Whole
    """For each job: 1 when it stands on the floor from the beginning."""
    numbers: Whole
    """For each shop day its calendar day, counted from the problem's start."""


class Room(NamedTuple):
    """Where one future is worked out: pieces, slots taken of people and places, floor places, ends of jobs."""

    piece: Whole
    next_free: Next
    """For each slot [technician, position] a free one from there on, or one on the way to it; a free slot: itself."""
    open_slots: Whole
    """Slots left of each shop day [technician, shop day]."""
    used: Taken
    """How many benches and spray places are in use [place, position]."""
    floor: Whole
    stands: Whole
    job_end: Whole
    job_last: Whole
    spent: Whole
    who: Whole


class Tally(NamedTuple):
    """What the futures come to: end position [future, job]; deciders [job, thing]; slots held [row, operation]."""

    end: Drawn
    decided: Whole
    held: Whole


@dataclass(frozen=True, slots=True)
class _Spot:
    """A piece of the plan: operation, session, start and end position, technician, start before now."""

    start: int
    operation: int
    session: int
    end: int
    who: int
    begun: bool


def course_of(problem: Problem, solution: Solution, days: int, deliveries: Mapping[str, int]) -> Course:
    """The tables of a plan that keeps every rule, with a calendar of so many days.

    ``deliveries``: operation → number of the delivery its parts come with. Raises KeyError for an operation that the
    plan does not hold.
    """
    prepared = Prepared(problem, days)
    spots = _spots(prepared, solution)
    piece, before = _pieces(prepared, spots)
    people = people_table(prepared.own, len(prepared.time.dates))
    return Course(
        piece=piece,
        op=_operations(prepared, spots, deliveries),
        before=np.array(before, dtype=np.int64),
        can=_who_can(problem),
        people=people,
        own=own_slots(people, prepared.time.day),
        calendar=calendar_table(prepared.time.numbers),
        fact=facts(prepared),
        inside=np.array([int(job.in_house) for job in problem.jobs], dtype=np.int64),
        numbers=np.array(prepared.time.numbers, dtype=np.int64),
    )


def own_slots(people: Whole, day: int) -> Next:
    """For each technician and position their first working slot at or after it."""
    works = np.repeat(people[shop_rows.PERSON_WORKS, :, :-1], day, axis=1)
    end = works.shape[1]
    own = np.full((len(works), end + 1), end, dtype=np.int32)
    own[:, :-1] = np.where(works == 1, np.arange(end), end)
    return np.ascontiguousarray(np.minimum.accumulate(own[:, ::-1], axis=1)[:, ::-1])


def room_for(course: Course) -> Room:
    """Empty tables for one replay at a time."""
    pieces, jobs, people = course.piece.shape[1], len(course.inside), course.people.shape[1]

    end = int(course.fact[shop_rows.FACT_END])

    def empty(*shape: int) -> Whole:
        return np.zeros(shape, dtype=np.int64)

    return Room(
        piece=empty(r.ROOM_ROWS, pieces),
        next_free=np.zeros((people, end + 1), dtype=np.int32),
        open_slots=empty(people, course.people.shape[2]),
        used=np.zeros((2, end + 1), dtype=np.int16),
        floor=empty(floor_size(course)),
        stands=empty(jobs),
        job_end=empty(jobs),
        job_last=empty(jobs),
        spent=empty(r.T_PERSON + people),
        who=empty(course.op.shape[1]),
    )


def tally_for(course: Course, number: int) -> Tally:
    """Nothing counted yet, for so many futures."""
    jobs = len(course.inside)
    return Tally(
        end=np.zeros((number, jobs), dtype=np.int32),
        decided=np.zeros((jobs, r.T_PERSON + course.people.shape[1]), dtype=np.int64),
        held=np.zeros((r.HELD_ROWS, course.op.shape[1]), dtype=np.int64),
    )


def floor_size(course: Course) -> int:
    """Floor places, never fewer than what stands on them."""
    return max(int(course.fact[shop_rows.FACT_FLOOR]), int(course.inside.sum()), 1)


def _spots(prepared: Prepared, solution: Solution) -> list[_Spot]:
    """The pieces of the plan in the order in which they begin."""
    problem, time = prepared.problem, prepared.time
    people = {technician.id: number for number, technician in enumerate(problem.technicians)}
    found = []
    for number, operation in enumerate(problem.operations):
        work = solution.operations[operation.id]
        stints = list(work.stints)
        spans = [(stint.start, stint.end) for stint in stints]
        if operation.sessions == 1:
            spans = [(work.start, work.end)]
        for session, (start, end) in enumerate(spans):
            begun = problem.now is not None and start < problem.now
            at = time.position(start)
            found.append(_Spot(at, number, session, time.position(end), people[work.technician], begun))
    return sorted(found, key=lambda spot: (spot.start, spot.operation, spot.session))


def _operations(prepared: Prepared, spots: list[_Spot], deliveries: Mapping[str, int]) -> Whole:
    table = np.zeros((r.OP_ROWS, len(prepared.job)), dtype=np.int64)
    table[r.O_JOB] = prepared.job
    table[r.O_WAIT] = prepared.wait
    table[r.O_PLACE] = prepared.place
    for number, operation in enumerate(prepared.problem.operations):
        day, fixed = operation.not_before, operation.fixed
        table[r.O_EARLIEST, number] = prepared.time.position_of_day(day) if day else 0
        table[r.O_FIXED, number] = prepared.time.position(fixed.start) if fixed else 0
        table[r.O_DELIVERY, number] = deliveries.get(operation.id, r.NONE)
    for number, drawn in enumerate(_drawn_of(prepared, spots)):
        table[r.O_PIECES, number] = max(1, len(drawn))
        table[r.O_LEFT, number] = sum(
            prepared.piece_slots[prepared.first_piece[number] + spot.session] - _worked(prepared, spot)
            for spot in drawn
        )
    return table


def _who_can(problem: Problem) -> Whole:
    """Who has the skill of each operation; an appointment stays with its technician."""
    table = np.zeros((max(1, len(problem.technicians)), len(problem.operations)), dtype=np.int64)
    for who, technician in enumerate(problem.technicians):
        skills = set(technician.skills)
        for number, operation in enumerate(problem.operations):
            table[who, number] = int(operation.skill in skills and operation.fixed is None)
    return table


def _drawn_of(prepared: Prepared, spots: list[_Spot]) -> list[list[_Spot]]:
    """For each operation the pieces whose hours are still open: those not begun, or else one under way."""
    found: list[list[_Spot]] = [[] for _ in prepared.job]
    under_way: list[list[_Spot]] = [[] for _ in prepared.job]
    for spot in spots:
        if not spot.begun:
            found[spot.operation].append(spot)
        elif spot.end > prepared.now:
            under_way[spot.operation].append(spot)
    return [own or begun[-1:] for own, begun in zip(found, under_way, strict=True)]


def _worked(prepared: Prepared, spot: _Spot) -> int:
    """Slots of a piece its technician has worked before now."""
    if not spot.begun:
        return 0
    own, day = prepared.own[spot.who], prepared.time.day

    def until(position: int) -> int:
        number, rest = divmod(position, day)
        return own.before[number] * day + (rest if own.working[number] else 0)

    return until(min(prepared.now, spot.end)) - until(spot.start)


def _pieces(prepared: Prepared, spots: list[_Spot]) -> tuple[Whole, list[int]]:
    """The table of pieces, and the last pieces of the prerequisites of each, laid end to end."""
    table = np.full((r.PIECE_ROWS, len(spots)), r.NONE, dtype=np.int64)
    place = {(spot.operation, spot.session): index for index, spot in enumerate(spots)}
    sessions = [operation.sessions for operation in prepared.problem.operations]
    open_ones = _drawn_of(prepared, spots)
    drawn = {(spot.operation, spot.session): turn for own in open_ones for turn, spot in enumerate(own)}
    here = [job.in_house for job in prepared.problem.jobs]
    left = [0] * len(here)
    for spot in spots:
        left[prepared.job[spot.operation]] += 1
    before: list[int] = []
    for index, spot in enumerate(spots):
        key, job = (spot.operation, spot.session), prepared.job[spot.operation]
        whole = prepared.piece_slots[prepared.first_piece[spot.operation] + spot.session]
        first = len(before)
        if not spot.session:
            before += [place[other, sessions[other] - 1] for other in prepared.before[spot.operation]]
        left[job] -= 1
        table[:, index] = _column(
            {
                r.P_OP: spot.operation,
                r.P_WHO: spot.who,
                r.P_LENGTH: _worked(prepared, spot) if key in drawn else whole,
                r.P_TURN: drawn.get(key, r.NONE),
                r.P_BEGUN: spot.start if spot.begun else r.NONE,
                r.P_PREVIOUS: place[spot.operation, spot.session - 1] if spot.session else r.NONE,
                r.P_ALONE: int(sessions[spot.operation] > 1),
                r.P_OVER: int(_pauses_over_leave(prepared, spot, whole)),
                r.P_ENTERS: int(not here[job]),
                r.P_LEAVES: int(not left[job]),
                r.P_FROM: first,
                r.P_TO: len(before),
                r.P_PLANNED: spot.start,
            }
        )
        here[job] = True
    return table, before


def _column(values: Mapping[int, int]) -> Whole:
    return np.array([values.get(row, r.NONE) for row in range(r.PIECE_ROWS)], dtype=np.int64)


def _pauses_over_leave(prepared: Prepared, spot: _Spot, slots: int) -> bool:
    """Whether the plan begins a piece before a leave it could have been begun after."""
    own, day = prepared.own[spot.who], prepared.time.day
    number = spot.start // day
    return own.next_leave[number] * day < spot.end and own.run[number] * day >= slots
