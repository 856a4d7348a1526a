"""A schedule on the way is kept at some moments, so that the next one, which differs late, need not begin at the start.

Two sets of kept moments: those of the schedule the search stands at, and those of the one being built. What was
settled before a kept moment is the same in both, so starts are not kept but taken over from the present schedule.
"""

from jobs.scheduling.calc.solve.compiled.bound import look_at_queues
from jobs.scheduling.calc.solve.compiled.jit import inlined, part, whole
from jobs.scheduling.calc.solve.compiled.people import after_wait
from jobs.scheduling.calc.solve.compiled.rows import (
    BROKEN,
    DECIDED,
    END,
    EVENTS,
    FAR,
    FLOOR_CHANGED,
    KEPT,
    LEAST_DAY,
    MISSING,
    NONE,
    OP_BEFORE,
    OP_EARLIEST,
    OP_LATER_FROM,
    OP_LATER_TO,
    OP_WAIT,
    PIECE_LATER,
    PIECE_OP,
    QUEUED_AT,
    READY,
    RELEASED_AT,
    START,
    UNFINISHED,
    WHO,
)


@inlined
def save_what_is_due(shop, state, saved, slot, moment):
    """Keep the schedule as it stands before a moment, if that is one to keep; the next slot to be filled."""
    if slot >= len(saved.grid) or saved.grid[slot] > moment:
        return slot
    look_at_queues(shop, state, moment)
    while slot < len(saved.grid) and saved.grid[slot] <= moment:
        _save(state, saved, 1 - saved.which[slot], slot, moment)
        slot += 1
    return slot


@inlined
def _save(state, saved, side, slot, moment):
    saved.moment[side, slot] = moment
    copy_all(state.job, saved.job[side, slot])
    copy_row(state.tally, saved.tally[side, slot], state.tally.shape[0])
    copy_row(state.result, saved.result[side, slot], state.result.shape[0])
    copy_row(state.pinned, saved.pinned[side, slot], state.pinned.shape[0])
    copy_row(state.event, saved.event[side, slot], state.tally[EVENTS])
    copy_lines(state.queue, saved.queue[side, slot])
    copy_spans(state.booked, saved.booked[side, slot])
    copy_spans(state.held, saved.held[side, slot])


@inlined
def load(shop, state, saved, slot):
    """Go on from a kept moment of the present schedule; that moment."""
    side = saved.which[slot]
    copy_all(saved.job[side, slot], state.job)
    copy_row(saved.tally[side, slot], state.tally, state.tally.shape[0])
    copy_row(saved.result[side, slot], state.result, state.result.shape[0])
    copy_row(saved.pinned[side, slot], state.pinned, state.pinned.shape[0])
    copy_row(saved.event[side, slot], state.event, state.tally[EVENTS])
    copy_lines(saved.queue[side, slot], state.queue)
    copy_spans(saved.booked[side, slot], state.booked)
    copy_spans(saved.held[side, slot], state.held)
    moment = saved.moment[side, slot]
    take_over(shop, state, saved, moment)
    return moment


@inlined
def take_over(shop, state, saved, moment):
    """Starts settled before a moment, and what they say of the work that follows."""
    copy_all(saved.op, state.op)
    for operation in range(shop.op.shape[1]):
        state.op[READY, operation] = shop.op[OP_EARLIEST, operation]
        state.op[MISSING, operation] = shop.op[OP_BEFORE, operation]
    for piece in range(state.piece.shape[1]):
        if saved.piece[DECIDED, piece] >= moment:
            state.piece[START, piece] = -1
            continue
        end = saved.piece[END, piece]
        state.piece[START, piece], state.piece[WHO, piece] = saved.piece[START, piece], saved.piece[WHO, piece]
        state.piece[END, piece], state.piece[DECIDED, piece] = end, saved.piece[DECIDED, piece]
        if shop.piece[PIECE_LATER, piece] != NONE:
            continue
        operation = shop.piece[PIECE_OP, piece]
        first, last = shop.op[OP_LATER_FROM, operation], shop.op[OP_LATER_TO, operation]
        if first == last:
            continue
        ready = after_wait(shop.calendar, shop.fact, end, shop.op[OP_WAIT, operation])
        for index in range(first, last):
            later = shop.later[index]
            state.op[READY, later] = max(state.op[READY, later], ready)
            state.op[MISSING, later] -= 1


@inlined
def has_joined(state, saved, slot, moment):
    """Whether the same is settled, queued, pinned and in the house at a kept moment as in the present schedule."""
    side = saved.which[slot]
    if saved.moment[side, slot] != moment or not settled_alike(state.piece, saved.piece, moment):
        return False
    for count in (UNFINISHED, BROKEN, FLOOR_CHANGED):
        if saved.tally[side, slot, count] != state.tally[count]:
            return False
    for line in range(state.queue.shape[0]):
        if not same_row(state.queue[line], saved.queue[side, slot, line], state.queue[line, 0] + 1):
            return False
    for row in range(LEAST_DAY):
        if not same_row(state.job[row], saved.job[side, slot, row], state.job.shape[1]):
            return False
    return same_row(state.pinned, saved.pinned[side, slot], state.pinned.shape[0])


@part
def settled_alike(piece_table, present, moment):
    """Whether what the present schedule settled before a moment is settled here, and nothing else."""
    for piece in range(piece_table.shape[1]):
        if present[DECIDED, piece] >= moment:
            if piece_table[START, piece] >= 0:
                return False
        elif piece_table[START, piece] != present[START, piece] or piece_table[WHO, piece] != present[WHO, piece]:
            return False
    return True


@part
def same_row(one, other, size):
    """Whether the first so many of two rows are the same."""
    index = 0
    while index < size and one[index] == other[index]:
        index += 1
    return index == size


@whole
def take_joined(state, saved, since):
    """What was kept of a schedule begun at slot ``since`` and JOINED is of the present one from now on."""
    joined = state.tally[KEPT] - 1
    moment = saved.moment[1 - saved.which[joined], joined]
    for slot in range(since + 1, joined + 1):
        saved.which[slot] = 1 - saved.which[slot]
    for operation in range(state.op.shape[1]):
        for row in (RELEASED_AT, QUEUED_AT):
            if state.op[row, operation] <= moment:
                saved.op[row, operation] = state.op[row, operation]
    for piece in range(state.piece.shape[1]):
        if state.piece[START, piece] >= 0:
            saved.piece[DECIDED, piece] = state.piece[DECIDED, piece]


@inlined
def forget_rest(saved, slot):
    """No moment was kept from a slot on."""
    for rest in range(slot, len(saved.grid)):
        saved.moment[1 - saved.which[rest], rest] = FAR


@part
def copy_row(source, target, size):
    """Copy the first so many of a row."""
    for index in range(size):
        target[index] = source[index]


@part
def copy_all(source, target):
    """Copy a table of rows and columns."""
    for line in range(source.shape[0]):
        for index in range(source.shape[1]):
            target[line, index] = source[line, index]


@part
def copy_lines(source, target):
    """Copy queues: each begins with how many follow."""
    for line in range(source.shape[0]):
        for index in range(source[line, 0] + 1):
            target[line, index] = source[line, index]


@part
def copy_spans(source, target):
    """Copy bookings: row 0 of each page says how many follow."""
    for page in range(source.shape[0]):
        for index in range(source[page, 0, 0] + 1):
            for column in range(3):
                target[page, index, column] = source[page, index, column]
