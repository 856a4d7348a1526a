"""The tables the compiled scheduler reads (``Shop``) and writes (``State``)."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from jobs.scheduling.calc.solve.compiled import rows as r
from jobs.scheduling.calc.solve.look_ahead import look_ahead
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.timeline import DAY_MINUTES, OwnDays

Whole = NDArray[np.int64]
Real = NDArray[np.float64]
NEVER_DUE_DAY = r.FAR
SPARE_BOOKINGS = 40
"""Room for bookings of one technician that lie ahead, beyond appointments and pins."""


class Shop(NamedTuple):
    """What does not change from one schedule to the next; rows and columns are named in ``rows``."""

    op: Whole
    piece: Whole
    job: Whole
    weight: Real
    people: Whole
    can: Whole
    able: Whole
    later: Whole
    calendar: Whole
    preset: Whole
    pin: Whole
    fact: Whole


class State(NamedTuple):
    """One schedule being built: starts, people and ends of pieces, bookings, queues, the floor."""

    op: Whole
    piece: Whole
    job: Whole
    event: Whole
    queue: Whole
    skill: Whole
    booked: Whole
    held: Whole
    free: Whole
    pinned: Whole
    tally: Whole
    job_end: Whole
    result: Real


class Saved(NamedTuple):
    """The present schedule, and for moments of it and of the one being built what was then at hand: see ``saving``.

    Rows of the tables kept: which of the two sets, which moment of ``grid``. ``which`` of the two is the present one.
    """

    op: Whole
    piece: Whole
    grid: Whole
    which: Whole
    moment: Whole
    job: Whole
    event: Whole
    queue: Whole
    booked: Whole
    held: Whole
    pinned: Whole
    tally: Whole
    result: Real


class Pin(NamedTuple):
    """A near operation that should stay: piece, technician, start and end position."""

    piece: int
    who: int
    start: int
    end: int


def shop_tables(prepared: Prepared, pins: list[Pin]) -> Shop:
    """The tables of a problem."""
    skills = sorted(set(prepared.skill))
    number = {skill: index for index, skill in enumerate(skills)}
    able = [prepared.able.get(skill, []) for skill in skills]
    can = np.zeros((max(1, len(prepared.own)), max(1, len(skills))), dtype=np.int64)
    table = np.full((can.shape[1], can.shape[0] + 1), r.NONE, dtype=np.int64)
    for skill, people in enumerate(able):
        can[people, skill] = 1
        table[skill, : len(people)] = people
    return Shop(
        op=_operations(prepared, number, pins),
        piece=_table(prepared.piece_slots, prepared.piece_operation, _later_pieces(prepared)),
        job=_jobs(prepared),
        weight=np.array([job.weight for job in prepared.problem.jobs], dtype=np.float64),
        people=people_table(prepared.own, len(prepared.time.dates)),
        can=can,
        able=table,
        later=_row([operation for group in prepared.following for operation in group]),
        calendar=calendar_table(prepared.time.numbers),
        preset=_given([(p.piece, p.technician, p.start, p.end, int(p.begun)) for p in prepared.presets]),
        pin=_given([(*pin, 0) for pin in pins]),
        fact=facts(prepared),
    )


def state_tables(shop: Shop) -> State:
    """Empty tables for schedules of a shop; one set for each thread."""
    pieces, people, skills = shop.piece.shape[1], shop.people.shape[1], shop.can.shape[1]
    given = len(shop.preset) + len(shop.pin)

    def empty(*shape: int) -> Whole:
        return np.zeros(shape, dtype=np.int64)

    return State(
        op=empty(4, shop.op.shape[1]),
        piece=empty(4, pieces),
        job=empty(5, shop.job.shape[1]),
        event=empty(4 * pieces + 2 * given + 8),
        queue=empty(skills + 1, pieces + 2),  # the last row holds what waits for a floor place
        skill=empty(2, skills),
        booked=empty(people, given + SPARE_BOOKINGS, 3),
        held=empty(2, pieces + given + 2, 3),
        free=empty(people),
        pinned=empty(len(shop.pin) + 1),
        tally=empty(r.COUNTS),
        job_end=empty(shop.job.shape[1]),
        result=np.zeros(r.RESULTS, dtype=np.float64),
    )


def saved_tables(state: State, grid: Whole) -> Saved:
    """Room for what is kept at the moments of ``grid``, which rise."""
    size = len(grid)

    def room(table: NDArray[Any]) -> NDArray[Any]:
        return np.zeros((2, size, *table.shape), dtype=table.dtype)

    return Saved(
        op=np.zeros_like(state.op),
        piece=np.zeros_like(state.piece),
        grid=grid,
        which=np.zeros(size, dtype=np.int64),
        moment=np.full((2, size), r.FAR, dtype=np.int64),
        job=room(state.job),
        event=room(state.event),
        queue=room(state.queue),
        booked=room(state.booked),
        held=room(state.held),
        pinned=room(state.pinned),
        tally=room(state.tally),
        result=room(state.result),
    )


def _row(values: Any) -> Whole:
    return np.array(values, dtype=np.int64).reshape(-1)


def _table(*lines: Any) -> Whole:
    return np.ascontiguousarray(np.array(lines, dtype=np.int64).reshape(len(lines), -1))


def _given(lines: list[tuple[int, ...]]) -> Whole:
    return np.array(lines, dtype=np.int64).reshape(-1, r.GIVEN_COLUMNS)


def _starts(groups: Any) -> list[int]:
    """Where each group begins when they are laid end to end, and where the last one ends."""
    starts = [0]
    for group in groups:
        starts.append(starts[-1] + len(group))
    return starts


def _operations(prepared: Prepared, skill: dict[str, int], pins: list[Pin]) -> Whole:
    size, later = len(prepared.job), _starts(prepared.following)
    pin_of = dict.fromkeys(range(size), r.NONE)
    pin_of.update({prepared.piece_operation[pin.piece]: index for index, pin in enumerate(pins)})
    return _table(
        prepared.job,
        prepared.first_piece,
        [operation.sessions for operation in prepared.problem.operations],
        prepared.place,
        prepared.wait,
        prepared.earliest,
        [len(befores) for befores in prepared.before],
        [skill[name] for name in prepared.skill],
        [prepared.forced.get(number, r.NONE) for number in range(size)],
        [int(number in prepared.begun_operations) for number in range(size)],
        later[:-1],
        later[1:],
        [pin_of[number] for number in range(size)],
        *_least_minutes(prepared),
    )


def _least_minutes(prepared: Prepared) -> tuple[list[int], list[int]]:
    """Clock minutes each operation takes at the least, and those from its end to its job's end at the least."""
    time, size = prepared.time, len(prepared.job)
    night, lengths, tails = DAY_MINUTES - time.day * time.slot, [], [0] * size
    given = {prepared.piece_operation[preset.piece] for preset in prepared.presets}  # start when they are told to
    for number, operation in enumerate(prepared.problem.operations):
        slots, first = prepared.slots[number], prepared.first_piece[number]
        if operation.sessions == 1:
            lengths.append(slots * time.slot + (-(-slots // time.day) - 1) * night)
        else:  # from late on its first day to early on its last
            ends = prepared.piece_slots[first] + prepared.piece_slots[first + operation.sessions - 1]
            lengths.append((operation.sessions - 1) * DAY_MINUTES + (ends - time.day) * time.slot)
    for number in reversed(prepared.order):
        for later in prepared.following[number]:
            if prepared.job[later] == prepared.job[number] and later not in given:
                tails[number] = max(tails[number], prepared.wait[number] + lengths[later] + tails[later])
    return lengths, tails


def _later_pieces(prepared: Prepared) -> list[int]:
    laters = (prepared.later_piece(piece) for piece in range(len(prepared.piece_slots)))
    return [r.NONE if later is None else later for later in laters]


def _jobs(prepared: Prepared) -> Whole:
    jobs, start = prepared.problem.jobs, prepared.problem.start
    return _table(
        [int(job.in_house) for job in jobs],
        prepared.work_left,
        [(job.due - start).days if job.due else NEVER_DUE_DAY for job in jobs],
        look_ahead(prepared),
    )


def people_table(own_days: Sequence[OwnDays], days: int) -> Whole:
    """When each technician works on so many shop days: see the rows of ``Shop.people``."""
    table = np.zeros((r.PERSON_ROWS, max(1, len(own_days)), days + 1), dtype=np.int64)
    for who, own in enumerate(own_days):
        table[r.PERSON_WORKS, who, :days] = own.working
        table[r.PERSON_BEFORE, who, : len(own.before)] = own.before
        table[r.PERSON_DAY, who] = days + 1
        table[r.PERSON_DAY, who, : len(own.shop_day)] = own.shop_day
        table[r.PERSON_LEAVE, who, :days] = own.next_leave
        table[r.PERSON_RUN, who, :days] = own.run
    return table


def calendar_table(numbers: list[int]) -> Whole:
    """For each calendar day the first shop day on or after it; for each shop day its calendar day."""
    size = (numbers[-1] + 1) if numbers else 0
    table = np.zeros((2, size), dtype=np.int64)
    table[r.SHOP_DAY] = np.searchsorted(np.array(numbers, dtype=np.int64), np.arange(size))
    table[r.NUMBER, : len(numbers)] = numbers
    return table


def facts(prepared: Prepared) -> Whole:
    """The shop in a few numbers: see the columns of ``Shop.fact``."""
    time = prepared.time
    floor = prepared.problem.places.floor
    return _row([time.day, time.slot, time.opens, prepared.now, time.end, floor, *prepared.capacity])
