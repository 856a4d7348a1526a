"""What a finished schedule costs."""

from jobs.scheduling.calc.solve.compiled.jit import inlined
from jobs.scheduling.calc.solve.compiled.rows import (
    END,
    FACT_DAY,
    FAR,
    GIVEN_PIECE,
    GIVEN_START,
    GIVEN_WHO,
    JOB_DUE_DAY,
    LAST_END,
    LATE_DAYS,
    NEAR_MOVED,
    NUMBER,
    OP_JOB,
    PIECE_OP,
    SOFT,
    START,
    WHO,
)

MARGIN_DAYS = 14.0
"""Ending fewer days than this before the due date counts a little, as prototypes measured."""
MARGIN_COST = 0.02


@inlined
def measure(shop, state):
    """Write the end of each job, the days late, the soft cost, the last end and the near operations moved."""
    state.job_end[:] = 0
    last = 0
    for piece in range(state.piece.shape[1]):
        job, end = shop.op[OP_JOB, shop.piece[PIECE_OP, piece]], state.piece[END, piece]
        state.job_end[job] = max(state.job_end[job], end)
        last = max(last, end)
    late = soft = 0.0
    day = shop.fact[FACT_DAY]
    for job in range(shop.job.shape[1]):
        end, due = state.job_end[job], shop.job[JOB_DUE_DAY, job]
        if end == 0 or due == FAR:
            continue
        over = shop.calendar[NUMBER, (end - 1) // day] - due
        late += shop.weight[job] * max(over, 0)
        within = ((end - 1) % day + 1) / day - 1.0
        soft += shop.weight[job] * MARGIN_COST * max(0.0, over + within + MARGIN_DAYS)
    state.result[LATE_DAYS] = late
    state.result[SOFT] = soft
    state.result[LAST_END] = last
    for pin in range(len(shop.pin)):
        piece = shop.pin[pin, GIVEN_PIECE]
        same = state.piece[WHO, piece] == shop.pin[pin, GIVEN_WHO]
        if not same or state.piece[START, piece] != shop.pin[pin, GIVEN_START]:
            state.tally[NEAR_MOVED] += 1
