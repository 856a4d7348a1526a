"""From priorities to a schedule: the compiled twin of ``list_schedule``, with bookings ahead and pins besides."""

from jobs.scheduling.calc.solve.compiled.jit import inlined, whole
from jobs.scheduling.calc.solve.compiled.measure import measure
from jobs.scheduling.calc.solve.compiled.people import next_booking, take
from jobs.scheduling.calc.solve.compiled.places import admit
from jobs.scheduling.calc.solve.compiled.queues import event_key, pop, push, queue_in, queue_out
from jobs.scheduling.calc.solve.compiled.rows import (
    ARRIVES,
    BROKEN,
    COMPLETE,
    DECIDED,
    ENDS,
    EVENTS,
    EXPECTED,
    FACT_DAY,
    FACT_END,
    FACT_FLOOR,
    FACT_NOW,
    FAR,
    FLOOR_CHANGED,
    FREE,
    GIVEN_BEGUN,
    GIVEN_END,
    GIVEN_PIECE,
    GIVEN_START,
    GIVEN_WHO,
    HERE,
    HOPELESS,
    JOB_IN_HOUSE,
    JOB_WORK,
    JOINED,
    KEPT,
    KINDS,
    LEAST_COST,
    LEAST_DAY,
    LEAST_LATE,
    LEFT,
    MISSING,
    NEEDS_FLOOR,
    ON_FLOOR,
    OP_BEFORE,
    OP_EARLIEST,
    OP_JOB,
    OP_PIN,
    OP_PLACE,
    OP_SKILL,
    PERSON_WORKS,
    PIECE_LATER,
    PIECE_OP,
    PINS,
    QUEUED_AT,
    READY,
    RELEASED,
    RELEASED_AT,
    START,
    STUCK,
    TRIED,
    UNFINISHED,
    WAITS,
)
from jobs.scheduling.calc.solve.compiled.saving import forget_rest, has_joined, load, save_what_is_due
from jobs.scheduling.calc.solve.compiled.starting import begin, keep_pin, release, reserve_pin, try_piece


@whole
def decode(shop, state, saved, priority, wish, wanted_pins, cautious, since, joins, limit, late_limit):
    """Build one schedule in ``state`` and measure it; COMPLETE, or STUCK when some work can never start.

    HOPELESS, and not finished, once it will surely cost more than ``limit`` and be later than ``late_limit``.
    ``since``: slot of ``saved`` to go on from; -1 to begin at the start. ``joins``: moment after which what was changed
    since the present schedule makes no difference any more: JOINED, and not finished, once it is the same as that.
    ``priority``: one number an operation, lower first. ``wish``: how many slots before it is ready an operation may
    book its start, and which technician it waits for. ``wanted_pins``: 1 for each pin to try. ``cautious``: keep a
    floor place for every appointment.
    """
    moment, day = shop.fact[FACT_NOW], shop.fact[FACT_DAY]
    if since >= 0:
        moment = load(shop, state, saved, since)
    else:
        from_the_start(shop, state, wish, wanted_pins, moment)
    slot = since + 1
    while True:
        kept, slot = slot, save_what_is_due(shop, state, saved, slot, moment)
        if slot > kept and moment > joins and has_joined(state, saved, slot - 1, moment):
            state.tally[KEPT] = slot
            return JOINED
        happen(shop, state, priority, wish, moment)
        if state.tally[UNFINISHED] == 0:
            forget_rest(saved, slot)
            measure(shop, state)
            return COMPLETE
        if state.result[LEAST_COST] > limit and state.result[LEAST_LATE] > late_limit:
            return HOPELESS
        look_around(shop.people, shop.can, state.booked, state.free, state.skill, day, moment)
        ask_again(shop, state, priority)
        start_what_may(shop, state, priority, wish, cautious, moment)
        moment = next_moment(state.event, state.tally, state.queue, state.piece.shape[1], day, moment)
        if moment >= shop.fact[FACT_END]:
            return STUCK


@inlined
def from_the_start(shop, state, wish, wanted_pins, now):
    """Place what is given, reserve what is pinned, and release what waits for nothing."""
    clear(shop, state)
    book_given(shop, state)
    for pin in range(len(shop.pin)):
        if wanted_pins[pin] and reserve_pin(shop, state, pin):
            key = event_key(shop.pin[pin, GIVEN_START], ARRIVES, shop.pin[pin, GIVEN_PIECE], state.piece.shape[1])
            push(state.event, state.tally, key)
    for index in range(len(shop.preset)):  # only now, when pins are known, may ends release what follows
        piece = shop.preset[index, GIVEN_PIECE]
        begin(
            shop, state, wish, piece, shop.preset[index, GIVEN_WHO],
            shop.preset[index, GIVEN_START], shop.preset[index, GIVEN_END], now,
        )  # fmt: skip
        state.piece[DECIDED, piece] = now - 1
        state.op[RELEASED_AT, shop.piece[PIECE_OP, piece]] = now
        state.op[QUEUED_AT, shop.piece[PIECE_OP, piece]] = now
    for operation in range(shop.op.shape[1]):
        if shop.op[OP_BEFORE, operation] == 0:
            release(shop, state, wish, operation, now)
    for operation in range(shop.op.shape[1]):
        if state.op[RELEASED_AT, operation] == now:
            state.op[RELEASED_AT, operation] = now - 1  # before anything that is kept


@inlined
def next_moment(event, count, queue, pieces, day, moment):
    """The next event; the next morning if that is sooner and something waits for it."""
    waiting = 0
    for line in range(queue.shape[0]):
        waiting += queue[line, 0]
    following = (moment // day + 1) * day if waiting > 0 else FAR
    if count[EVENTS] > 0:
        following = min(following, max(moment, event[0] // (KINDS * pieces)))
    return following


@inlined
def clear(shop, state):
    """Begin with nothing placed, and with the instruments that are in the house."""
    state.piece[START, :] = -1
    state.tally[:] = 0
    state.queue[:, 0] = 0
    state.booked[:, 0, 0] = 0
    state.held[:, 0, 0] = 0
    state.pinned[:] = 0
    state.result[:] = 0.0
    state.op[RELEASED_AT, :] = FAR
    state.op[QUEUED_AT, :] = FAR
    state.tally[UNFINISHED] = state.piece.shape[1]
    for operation in range(shop.op.shape[1]):
        state.op[READY, operation] = shop.op[OP_EARLIEST, operation]
        state.op[MISSING, operation] = shop.op[OP_BEFORE, operation]
    for job in range(shop.job.shape[1]):
        state.job[HERE, job] = shop.job[JOB_IN_HOUSE, job]
        state.job[LEFT, job] = shop.job[JOB_WORK, job]
        state.job[EXPECTED, job] = FAR
        state.job[PINS, job] = 0
        state.job[LEAST_DAY, job] = -FAR
        if shop.job[JOB_IN_HOUSE, job] and shop.job[JOB_WORK, job] > 0:
            state.tally[ON_FLOOR] += 1


@inlined
def book_given(shop, state):
    """Book technicians and places of what is given: work already begun, and appointments."""
    for index in range(len(shop.preset)):
        piece, who = shop.preset[index, GIVEN_PIECE], shop.preset[index, GIVEN_WHO]
        start, end = shop.preset[index, GIVEN_START], shop.preset[index, GIVEN_END]
        operation = shop.piece[PIECE_OP, piece]
        job = shop.op[OP_JOB, operation]
        state.piece[START, piece] = start
        take(state.booked, who, start, end, piece, 0)
        if shop.op[OP_PLACE, operation] >= 0:
            take(state.held, shop.op[OP_PLACE, operation], start, end, piece, 0)
        if shop.preset[index, GIVEN_BEGUN]:
            admit(state.job, state.tally, job)
            continue
        push(state.event, state.tally, event_key(start, ARRIVES, piece, state.piece.shape[1]))
        if not state.job[HERE, job]:
            state.job[EXPECTED, job] = min(start, state.job[EXPECTED, job])


@inlined
def happen(shop, state, priority, wish, moment):
    """Everything that happens up to a moment: work ends, instruments arrive, pins come due, work is released."""
    pieces = state.piece.shape[1]
    while state.tally[EVENTS] > 0 and state.event[0] // (KINDS * pieces) <= moment:
        key = pop(state.event, state.tally)
        piece, kind = key % pieces, key // pieces % KINDS
        if kind == ENDS:
            ended(shop, state, piece, key // (KINDS * pieces))
        elif kind == ARRIVES:
            arrived(shop, state, wish, piece, moment)
        else:
            skill = shop.op[OP_SKILL, shop.piece[PIECE_OP, piece]]
            queue_in(state.queue, skill, shop.piece, priority, piece)


@inlined
def ended(shop, state, piece, end):
    """A piece is done: its next session may follow another day; the last work of a job frees its floor place."""
    state.tally[UNFINISHED] -= 1
    later, day = shop.piece[PIECE_LATER, piece], shop.fact[FACT_DAY]
    if later >= 0:
        if state.piece[START, later] < 0:
            morning = max(shop.fact[FACT_NOW], -(-end // day) * day)
            push(state.event, state.tally, event_key(morning, RELEASED, later, state.piece.shape[1]))
        return
    job = shop.op[OP_JOB, shop.piece[PIECE_OP, piece]]
    state.job[LEFT, job] -= 1
    if state.job[LEFT, job] == 0:
        state.tally[ON_FLOOR] -= 1
        state.tally[FLOOR_CHANGED] = 1


@inlined
def arrived(shop, state, wish, piece, moment):
    """An appointment brings its instrument onto the floor, or a pin comes due."""
    operation = shop.piece[PIECE_OP, piece]
    if state.piece[START, piece] >= 0:
        admit(state.job, state.tally, shop.op[OP_JOB, operation])
        if state.tally[ON_FLOOR] > shop.fact[FACT_FLOOR]:
            state.tally[BROKEN] += 1
        return
    pin = shop.op[OP_PIN, operation]
    if pin >= 0 and state.pinned[pin]:
        keep_pin(shop, state, wish, pin, moment)


@inlined
def look_around(people, can, booked, free, skills, day, moment):
    """Who is free now, and for each skill how many of them have it."""
    skills[:, :] = 0
    number = moment // day
    for who in range(can.shape[0]):
        works = people[PERSON_WORKS, who, number] == 1
        free[who] = 1 if works and next_booking(booked, who, moment) > moment else 0
        if free[who]:
            for skill in range(can.shape[1]):
                skills[FREE, skill] += can[who, skill]


@inlined
def ask_again(shop, state, priority):
    """Queue work parked for want of a floor place whose instrument is here by now, or all of it if a place is free."""
    if not state.tally[FLOOR_CHANGED]:
        return
    state.tally[FLOOR_CHANGED] = 0
    parked = state.queue[state.skill.shape[1]]
    waiting = parked[0]
    parked[0] = 0
    for index in range(1, waiting + 1):
        piece = parked[index]
        operation = shop.piece[PIECE_OP, piece]
        if state.job[HERE, shop.op[OP_JOB, operation]] or state.tally[ON_FLOOR] < shop.fact[FACT_FLOOR]:
            queue_in(state.queue, shop.op[OP_SKILL, operation], shop.piece, priority, piece)
        else:
            parked[0] += 1
            parked[parked[0]] = piece


@inlined
def start_what_may(shop, state, priority, wish, cautious, moment):
    """Try what is queued, the most urgent first, while somebody able is free."""
    parked = state.skill.shape[1]
    while True:
        skill = most_urgent(shop.piece, state.queue, state.skill, priority)
        if skill < 0:
            return
        index = state.skill[TRIED, skill] + 1
        piece = state.queue[skill, index]
        outcome = try_piece(shop, state, wish, cautious, piece, moment)
        if outcome == WAITS:
            state.skill[TRIED, skill] = index
            continue
        queue_out(state.queue, skill, index)
        if outcome == NEEDS_FLOOR:
            state.queue[parked, 0] += 1
            state.queue[parked, state.queue[parked, 0]] = piece
        elif state.event[0] // (KINDS * state.piece.shape[1]) <= moment:
            return  # something may now book ahead: it comes before what is less urgent


@inlined
def most_urgent(piece_table, queue, skills, priority):
    """The skill whose next piece is most urgent, of those somebody free has; -1 when there is none."""
    best, best_urgency, best_piece = -1, 0.0, 0
    for skill in range(skills.shape[1]):
        if skills[FREE, skill] == 0 or skills[TRIED, skill] >= queue[skill, 0]:
            continue
        piece = queue[skill, skills[TRIED, skill] + 1]
        urgency = priority[piece_table[PIECE_OP, piece]]
        if best < 0 or urgency < best_urgency or (urgency == best_urgency and piece < best_piece):
            best, best_urgency, best_piece = skill, urgency, piece
    return best
