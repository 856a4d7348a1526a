"""Starting pieces: who does one, what it takes, what follows from it, and pins that hold or break."""

from jobs.scheduling.calc.solve.compiled.bound import after_piece, ends_no_sooner
from jobs.scheduling.calc.solve.compiled.jit import inlined, part
from jobs.scheduling.calc.solve.compiled.people import after_wait, give_back, possible_end, take
from jobs.scheduling.calc.solve.compiled.places import admit, admits, full, room
from jobs.scheduling.calc.solve.compiled.queues import event_key, push
from jobs.scheduling.calc.solve.compiled.rows import (
    BROKEN,
    DECIDED,
    END,
    ENDS,
    FACT_DAY,
    FACT_FLOOR,
    FAR,
    FLOOR_CHANGED,
    FROM,
    GIVEN_END,
    GIVEN_PIECE,
    GIVEN_START,
    GIVEN_WHO,
    HERE,
    MISSING,
    NEEDS_FLOOR,
    NONE,
    ON_FLOOR,
    OP_BEGUN,
    OP_FIRST,
    OP_FORCED,
    OP_JOB,
    OP_LATER_FROM,
    OP_LATER_TO,
    OP_PIN,
    OP_PLACE,
    OP_SESSIONS,
    OP_SKILL,
    OP_WAIT,
    PIECE_LATER,
    PIECE_OP,
    PIECE_SLOTS,
    PINS,
    QUEUED_AT,
    READY,
    RELEASED,
    RELEASED_AT,
    START,
    STARTED,
    TO,
    WAITS,
    WHO,
    WISH_AHEAD,
    WISH_WHO,
)


@inlined
def begin(shop, state, wish, piece, who, start, end, moment):
    """Write down that a piece is done by somebody from start to end, and tell what waits for it."""
    done = state.piece
    done[START, piece], done[WHO, piece], done[END, piece], done[DECIDED, piece] = start, who, end, moment
    ends_no_sooner(
        shop.calendar, shop.job, shop.weight, state.job, state.result, shop.op[OP_JOB, shop.piece[PIECE_OP, piece]],
        after_piece(shop.calendar, shop.fact, shop.piece, shop.op, piece, end),
    )  # fmt: skip
    push(state.event, state.tally, event_key(end, ENDS, piece, done.shape[1]))
    if shop.piece[PIECE_LATER, piece] == NONE:
        operation = shop.piece[PIECE_OP, piece]
        ready = after_wait(shop.calendar, shop.fact, end, shop.op[OP_WAIT, operation])
        for index in range(shop.op[OP_LATER_FROM, operation], shop.op[OP_LATER_TO, operation]):
            later = shop.later[index]
            state.op[READY, later] = max(state.op[READY, later], ready)
            state.op[MISSING, later] -= 1
            if state.op[MISSING, later] == 0:
                release(shop, state, wish, later, moment)


@inlined
def release(shop, state, wish, operation, moment):
    """The ends of all prerequisites are known: say from when the operation may be thought of."""
    piece, ready, pin = shop.op[OP_FIRST, operation], state.op[READY, operation], shop.op[OP_PIN, operation]
    state.op[RELEASED_AT, operation] = moment
    if state.piece[START, piece] >= 0:
        if state.piece[START, piece] < ready and not shop.op[OP_BEGUN, operation]:
            state.tally[BROKEN] += 1
    elif pin >= 0 and state.pinned[pin]:
        if shop.pin[pin, GIVEN_START] < ready:
            break_pin(shop, state, wish, pin, moment)
    else:
        state.op[QUEUED_AT, operation] = max(moment, ready - wish[WISH_AHEAD, operation])
        key = event_key(state.op[QUEUED_AT, operation], RELEASED, piece, state.piece.shape[1])
        push(state.event, state.tally, key)


@part
def break_pin(shop, state, wish, pin, moment):
    """Give up what a pin reserved; its operation queues like any other."""
    piece = shop.pin[pin, GIVEN_PIECE]
    operation = shop.piece[PIECE_OP, piece]
    state.pinned[pin] = 0
    give_back(state.booked, shop.pin[pin, GIVEN_WHO], piece)
    if shop.op[OP_PLACE, operation] >= 0:
        give_back(state.held, shop.op[OP_PLACE, operation], piece)
    state.job[PINS, shop.op[OP_JOB, operation]] -= 1
    state.tally[FLOOR_CHANGED] = 1
    if state.op[MISSING, operation] == 0:
        state.op[RELEASED_AT, operation] = moment
        moment = max(moment, state.op[READY, operation] - wish[WISH_AHEAD, operation])
        state.op[QUEUED_AT, operation] = moment
        push(state.event, state.tally, event_key(moment, RELEASED, piece, state.piece.shape[1]))


@inlined
def keep_pin(shop, state, wish, pin, moment):
    """The moment of a pin has come: start its operation there, or break the pin."""
    piece = shop.pin[pin, GIVEN_PIECE]
    operation = shop.piece[PIECE_OP, piece]
    job = shop.op[OP_JOB, operation]
    known = state.op[MISSING, operation] == 0 and state.op[READY, operation] <= moment
    if known and (state.job[HERE, job] or state.tally[ON_FLOOR] < shop.fact[FACT_FLOOR]):
        state.pinned[pin] = 0
        state.op[QUEUED_AT, operation] = moment  # its later sessions queue
        state.job[PINS, job] -= 1
        admit(state.job, state.tally, job)
        begin(shop, state, wish, piece, shop.pin[pin, GIVEN_WHO], moment, shop.pin[pin, GIVEN_END], moment)
    else:
        break_pin(shop, state, wish, pin, moment)


@inlined
def reserve_pin(shop, state, pin):
    """Reserve technician and place of a pin. False, and nothing reserved, when either is taken already."""
    piece, who = shop.pin[pin, GIVEN_PIECE], shop.pin[pin, GIVEN_WHO]
    start, end = shop.pin[pin, GIVEN_START], shop.pin[pin, GIVEN_END]
    operation = shop.piece[PIECE_OP, piece]
    place = shop.op[OP_PLACE, operation]
    for index in range(1, state.booked[who, 0, 0] + 1):
        if state.booked[who, index, FROM] < end and state.booked[who, index, TO] > start:
            return False
    if not room(shop.fact, state.held, place, start, end) or not take(state.booked, who, start, end, piece, 0):
        return False
    if place >= 0:
        take(state.held, place, start, end, piece, 0)
    state.pinned[pin] = 1
    state.job[PINS, shop.op[OP_JOB, operation]] += 1
    return True


@inlined
def choose(able, people, booked, only, over_leave, skill, day, start, slots, moment):
    """Who would end a piece first; of those equal who idles least before it, then who comes first in ``able``."""
    best, best_end, best_idle = NONE, FAR, FAR
    for index in range(able.shape[1]):
        who = able[skill, index] if only < 0 else only
        if who < 0 or (only >= 0 and index > 0):
            break
        end = possible_end(people, booked, who, day, start, slots, over_leave)
        if end < 0 or end > best_end:
            continue
        idle = start - busy_until(booked, who, start, moment)
        if end < best_end or idle < best_idle:
            best, best_end, best_idle = who, end, idle
    return best, best_end


@part
def busy_until(booked, who, start, moment):
    """When the last booking before ``start`` ends; ``moment`` when there is none after it."""
    until = moment
    for index in range(1, booked[who, 0, 0] + 1):
        if booked[who, index, TO] <= start:
            until = max(until, booked[who, index, TO])
    return until


@part
def only_technician(op_table, done, wish, operation, piece):
    """Who alone may do a piece: begun work and later sessions stay with theirs; -1 for anybody able."""
    first = op_table[OP_FIRST, operation]
    if op_table[OP_FORCED, operation] >= 0:
        return op_table[OP_FORCED, operation]
    return wish[WISH_WHO, operation] if piece == first else done[WHO, first]


@inlined
def try_piece(shop, state, wish, cautious, piece, moment):
    """Start a piece now, or book its start ahead when it is not ready; say what became of it."""
    operation, slots = shop.piece[PIECE_OP, piece], shop.piece[PIECE_SLOTS, piece]
    job, place, day = shop.op[OP_JOB, operation], shop.op[OP_PLACE, operation], shop.fact[FACT_DAY]
    start = moment
    if piece == shop.op[OP_FIRST, operation]:
        start = max(moment, state.op[READY, operation])
    if start > moment and not state.job[HERE, job]:
        return WAITS
    if not admits(shop.job, shop.fact, state.job, state.tally, job, moment, cautious):
        return NEEDS_FLOOR
    too_late = shop.op[OP_SESSIONS, operation] > 1 and start % day + slots > day
    if too_late or (place >= 0 and full(shop.fact, state.held, place, start)):
        return WAITS
    only = only_technician(shop.op, state.piece, wish, operation, piece)
    over_leave = wish[WISH_WHO, operation] >= 0
    skill = shop.op[OP_SKILL, operation]
    who, end = choose(shop.able, shop.people, state.booked, only, over_leave, skill, day, start, slots, moment)
    if who < 0 or not room(shop.fact, state.held, place, start, end):
        return WAITS
    if not take(state.booked, who, start, end, piece, moment):
        return WAITS
    if place >= 0:
        take(state.held, place, start, end, piece, moment)
    admit(state.job, state.tally, job)
    begin(shop, state, wish, piece, who, start, end, moment)
    if start == moment:
        no_longer_free(shop.can, state.free, state.skill, who)
    return STARTED


@part
def no_longer_free(can, free, skills, who):
    """A technician has begun something."""
    if free[who]:
        free[who] = 0
        for skill in range(can.shape[1]):
            skills[0, skill] -= can[who, skill]
