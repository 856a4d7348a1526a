"""How late an unfinished schedule will be at the least, so that one that cannot be accepted is not finished."""

from jobs.scheduling.calc.solve.compiled.jit import inlined, part
from jobs.scheduling.calc.solve.compiled.measure import MARGIN_COST, MARGIN_DAYS
from jobs.scheduling.calc.solve.compiled.people import DAY_MINUTES
from jobs.scheduling.calc.solve.compiled.rows import (
    FACT_DAY,
    FACT_END,
    FACT_OPENS,
    FACT_SLOT,
    FAR,
    JOB_DUE_DAY,
    LEAST_COST,
    LEAST_DAY,
    LEAST_LATE,
    NONE,
    NUMBER,
    OP_FIRST,
    OP_JOB,
    OP_LENGTH,
    OP_TAIL,
    PIECE_LATER,
    PIECE_OP,
    SHOP_DAY,
)


@part
def ends_no_sooner(calendar, job_table, weight, jobs, result, job, minutes):
    """A job cannot end before so many clock minutes from the plan's start: what that costs at the least."""
    due = job_table[JOB_DUE_DAY, job]
    date = (minutes - 1) // DAY_MINUTES
    if due == FAR or date >= calendar.shape[1]:
        return
    date = calendar[NUMBER, calendar[SHOP_DAY, date]]
    known = jobs[LEAST_DAY, job]
    if date <= known:
        return
    jobs[LEAST_DAY, job] = date
    late = weight[job] * (max(date - due, 0) - max(known - due, 0))
    margin = MARGIN_DAYS - 1.0  # its last day may only just have begun
    soft = max(date - due + margin, 0.0) - max(known - due + margin, 0.0)
    result[LEAST_LATE] += late
    result[LEAST_COST] += late + weight[job] * MARGIN_COST * soft


@part
def clock_minutes(calendar, fact, position):
    """Clock minutes from midnight of the plan's first day to the end of the slot before a position; FAR beyond all."""
    day, slot = (position - 1) // fact[FACT_DAY], (position - 1) % fact[FACT_DAY] + 1
    if position > fact[FACT_END]:
        return FAR * DAY_MINUTES
    return calendar[NUMBER, day] * DAY_MINUTES + fact[FACT_OPENS] + slot * fact[FACT_SLOT]


@part
def after_piece(calendar, fact, piece_table, op_table, piece, end):
    """The least clock minutes at which the job of a piece that ends at ``end`` is done."""
    operation, rest = piece_table[PIECE_OP, piece], 0
    later = piece_table[PIECE_LATER, piece]
    while later != NONE:
        rest += 1
        later = piece_table[PIECE_LATER, later]
    minutes = clock_minutes(calendar, fact, end)
    if rest:
        minutes = (minutes // DAY_MINUTES + rest) * DAY_MINUTES + fact[FACT_OPENS] + fact[FACT_SLOT]
    return minutes + op_table[OP_TAIL, operation]


@inlined
def look_at_queues(shop, state, moment):
    """What is queued at a moment starts no sooner."""
    minutes = clock_minutes(shop.calendar, shop.fact, moment + 1) - shop.fact[FACT_SLOT]
    for line in range(state.queue.shape[0]):
        for index in range(1, state.queue[line, 0] + 1):
            operation = shop.piece[PIECE_OP, state.queue[line, index]]
            if state.queue[line, index] != shop.op[OP_FIRST, operation]:
                continue
            least = minutes + shop.op[OP_LENGTH, operation] + shop.op[OP_TAIL, operation]
            ends_no_sooner(
                shop.calendar, shop.job, shop.weight, state.job, state.result, shop.op[OP_JOB, operation], least
            )
