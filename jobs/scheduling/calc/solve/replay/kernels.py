"""The order of a plan replayed one future after the other, compiled."""

from jobs.scheduling.calc.solve.compiled.jit import inlined, part, whole
from jobs.scheduling.calc.solve.compiled.people import after_wait
from jobs.scheduling.calc.solve.compiled.rows import (
    FACT_DAY,
    FACT_END,
    FACT_FLOOR,
    FACT_NOW,
    FACT_PLACE,
    PERSON_BEFORE,
    PERSON_DAY,
    PERSON_LEAVE,
    PERSON_RUN,
    PERSON_WORKS,
)  # fmt: skip
from jobs.scheduling.calc.solve.replay import rows as r


@whole
def replay_range(course, room, tally, drawn, late, first, last, count):
    """Replay the futures from ``first`` up to ``last``: ends of jobs, and what decided them where ``count`` is 1.

    ``drawn``: slots [future, operation]; ``late``: slots of delay [future, delivery].
    """
    for future in range(first, last):
        clear(course, room)
        for piece in range(course.piece.shape[1]):
            place_piece(course, room, drawn, late, future, piece)
        for job in range(course.inside.shape[0]):
            tally.end[future, job] = room.job_end[job]
            if count and room.job_last[job] >= 0:
                walk_back(course, room, tally, job)


@inlined
def clear(course, room):
    """Nobody busy, nothing held but the floor by what stands on it."""
    for who in range(course.own.shape[0]):
        for position in range(course.own.shape[1]):
            room.next_free[who, position] = course.own[who, position]
    room.used[:, :] = 0
    room.open_slots[:, :] = course.fact[FACT_DAY]
    room.job_end[:] = 0
    room.job_last[:] = r.NONE
    room.stands[:] = r.NONE
    room.floor[:] = r.FAR
    room.floor[: course.fact[FACT_FLOOR]] = 0
    taken = 0
    for job in range(course.inside.shape[0]):
        if course.inside[job]:
            room.floor[taken] = r.FAR
            room.stands[job] = taken
            taken += 1


@inlined
def place_piece(course, room, drawn, late, future, piece):
    """Work out when one piece begins and ends, all that comes before it in the plan being placed."""
    table, keep = course.piece, room.piece
    operation = table[r.P_OP, piece]
    slots = piece_slots(course, drawn, future, piece)
    if table[r.P_BEGUN, piece] >= 0:
        who, start = table[r.P_WHO, piece], table[r.P_BEGUN, piece]
        end = work_end(course.people, who, course.fact, start, slots)
        for row in range(r.READY, r.MANNED + 1):
            keep[row, piece] = start
        keep[r.VIA, piece] = r.NONE
    else:
        wait_for_things(course, room, late, future, piece)
        who, manned, start, end = who_first(course, room, piece, slots)
        keep[r.MANNED, piece] = manned
    keep[r.START, piece], keep[r.END, piece] = start, end
    room.who[operation] = who
    book(course, room, who, course.op[r.O_PLACE, operation], start, end)
    come_and_go(course, room, piece, course.op[r.O_JOB, operation], end)


@inlined
def piece_slots(course, drawn, future, piece):
    """Slots of a piece: its share of what was drawn for its operation, the longer sessions first."""
    slots, turn = course.piece[r.P_LENGTH, piece], course.piece[r.P_TURN, piece]
    if turn < 0:
        return slots
    operation = course.piece[r.P_OP, piece]
    shares, left = course.op[r.O_PIECES, operation], drawn[future, operation]
    return slots + left // shares + (1 if turn < left % shares else 0)


@inlined
def wait_for_things(course, room, late, future, piece):
    """When everything but technician and bench is there: what comes before, parts, an appointment, a floor place."""
    keep, operation = room.piece, course.piece[r.P_OP, piece]
    end_of_all = course.fact[FACT_END]
    ready, via = when_ready(course, room, piece)
    free = max(ready, course.op[r.O_EARLIEST, operation])
    delivery = course.op[r.O_DELIVERY, operation]
    if delivery >= 0:
        free = max(free, course.op[r.O_EARLIEST, operation] + late[future, delivery])
    meets = max(free, course.op[r.O_FIXED, operation])
    inside = meets
    if course.piece[r.P_ENTERS, piece]:
        opens = room.floor[smallest(room.floor)]
        if opens < r.FAR:
            inside = max(inside, opens)
    keep[r.READY, piece], keep[r.FREE, piece] = min(ready, end_of_all), min(free, end_of_all)
    keep[r.MEETS, piece], keep[r.INSIDE, piece] = min(meets, end_of_all), min(inside, end_of_all)
    keep[r.VIA, piece] = via


@inlined
def who_first(course, room, piece, slots):
    """Who does a piece; since when the technician had the time; start and end.

    The plan's technician; one who helps (``P_ALSO``) where that is sooner; and where a piece would begin a day or more
    after its time in the plan, whoever can do it and is done first.
    """
    table, operation = course.piece, course.piece[r.P_OP, piece]
    if table[r.P_PREVIOUS, piece] >= 0:
        who = room.who[operation]
        manned, start, end = earliest(course, room, piece, who, slots, course.fact[FACT_END])
        return who, manned, start, end
    who, also = table[r.P_WHO, piece], table[r.P_ALSO, piece]
    manned, start, end = earliest(course, room, piece, who, slots, course.fact[FACT_END])
    late = start - table[r.P_PLANNED, piece] >= course.fact[FACT_DAY]
    for other in range(course.people.shape[1]):
        asked = other == also or (late and course.can[other, operation] == 1)
        if asked and other != who:
            other_manned, other_start, other_end = earliest(course, room, piece, other, slots, end - slots)
            if other_end < end:
                who, manned, start, end = other, other_manned, other_start, other_end
    return who, manned, start, end


@inlined
def come_and_go(course, room, piece, job, end):
    """A job's floor place, taken with its first piece and free after its last; and where it ends."""
    if course.piece[r.P_ENTERS, piece]:
        best = smallest(room.floor)
        if room.floor[best] < r.FAR:
            room.floor[best] = r.FAR
            room.stands[job] = best
    if end >= room.job_end[job]:
        room.job_end[job] = end
        room.job_last[job] = piece
    if course.piece[r.P_LEAVES, piece] and room.stands[job] >= 0:
        room.floor[room.stands[job]] = room.job_end[job]


@inlined
def smallest(row):
    """Index of the first smallest number."""
    best = 0
    for index in range(1, row.shape[0]):
        if row[index] < row[best]:
            best = index
    return best


@part
def largest(row):
    """Index of the first largest number."""
    best = 0
    for index in range(1, row.shape[0]):
        if row[index] > row[best]:
            best = index
    return best


@inlined
def when_ready(course, room, piece):
    """When what comes before is over, with its waits; and which piece was last (NONE: nothing held it)."""
    day, end_of_all = course.fact[FACT_DAY], course.fact[FACT_END]
    ready, via = course.fact[FACT_NOW], r.NONE
    previous = course.piece[r.P_PREVIOUS, piece]
    if previous >= 0:
        morning = min(-(-room.piece[r.END, previous] // day) * day, end_of_all)
        return max(ready, morning), previous
    for index in range(course.piece[r.P_FROM, piece], course.piece[r.P_TO, piece]):
        other = course.before[index]
        free = room.piece[r.END, other]
        if free < end_of_all:
            free = after_wait(course.calendar, course.fact, free, course.op[r.O_WAIT, course.piece[r.P_OP, other]])
        if free >= ready:
            ready, via = min(free, end_of_all), other
    return ready, via


@inlined
def earliest(course, room, piece, who, slots, limit):
    """Since when a technician has the time for a piece; its start, when bench or spray room is free, too; its end.

    It goes into the first gap that is long enough: who would stand idle takes what can be done, but nothing moves what
    comes before it in the plan. Nothing is looked for from position ``limit`` on.
    """
    place, begin, manned = course.op[r.O_PLACE, course.piece[r.P_OP, piece]], room.piece[r.INSIDE, piece], r.NONE
    while True:
        start, end = technician_fit(course, room, piece, who, begin, slots, limit)
        manned = start if manned < 0 else manned
        begin = last_full(course, room, place, start, end) + 1
        if begin == 0 or start >= limit:
            return manned, start, end


@inlined
def last_full(course, room, place, start, end):
    """The last position up to an end at which every bench or spray place is taken; NONE where one is always free."""
    if place >= 0:
        for position in range(end - 1, start - 1, -1):
            if room.used[place, position] >= course.fact[FACT_PLACE + place]:
                return position
    return r.NONE


@inlined
def technician_fit(course, room, piece, who, start, slots, limit):
    """First start from a position on, and end, with so many free slots of a technician's one after the other."""
    people, day, end_of_all = course.people, course.fact[FACT_DAY], course.fact[FACT_END]
    days = people.shape[2] - 1
    while True:
        start = free_slot(room, who, start)
        if start >= limit:
            return end_of_all, end_of_all
        number = start // day
        if course.piece[r.P_ALONE, piece] and start % day + min(slots, day) > day:
            start = (number + 1) * day
            continue
        end, taken = run_free(course, room, who, start, slots)
        if taken >= 0:
            start = taken + 1
            continue
        leave = people[PERSON_LEAVE, who, number]
        if (
            course.piece[r.P_OVER, piece]
            or leave >= days
            or leave * day >= end
            or people[PERSON_RUN, who, number] * day < slots
        ):
            return start, end
        start = leave * day


@inlined
def free_slot(room, who, position):
    """A technician's first free slot at or after a position; the way there is made shorter for the next."""
    found = position
    while room.next_free[who, found] != found:
        found = room.next_free[who, found]
    while room.next_free[who, position] != found:
        following = room.next_free[who, position]
        room.next_free[who, position] = found
        position = following
    return found


@inlined
def run_free(course, room, who, start, slots):
    """End of uninterrupted work begun at a free slot of a technician's, and the first slot in its way (NONE)."""
    people, day, end_of_all = course.people, course.fact[FACT_DAY], course.fact[FACT_END]
    position, left = start, slots
    while position < end_of_all:
        number = position // day
        if people[PERSON_WORKS, who, number] == 0:
            position = own_day(people, who, day, end_of_all, number)
            continue
        until = min((number + 1) * day, position + left)
        if room.open_slots[who, number] < day:
            for slot in range(position, until):
                if room.next_free[who, slot] != slot:
                    return slot, slot
        left -= until - position
        position = until
        if left == 0:
            return position, r.NONE
    return end_of_all, r.NONE


@inlined
def book(course, room, who, place, start, end):
    """Take a technician's working slots and a bench or the spray room from a start to an end."""
    people, day = course.people, course.fact[FACT_DAY]
    position = start
    while position < end:
        number = position // day
        until = min((number + 1) * day, end)
        if people[PERSON_WORKS, who, number] == 1:
            for slot in range(position, until):
                if room.next_free[who, slot] == slot:
                    room.next_free[who, slot] = slot + 1
                    room.open_slots[who, number] -= 1
        position = until
    if place >= 0:
        for slot in range(start, end):
            room.used[place, slot] += 1


@inlined
def own_day(people, who, day, end_of_all, number):
    """Position of the technician's first own day on or after a shop day."""
    following = people[PERSON_DAY, who, people[PERSON_BEFORE, who, number]]
    return min(following * day, end_of_all)


@inlined
def work_end(people, who, fact, start, slots):
    """End position of uninterrupted work begun at a slot of the technician's, within the calendar."""
    day = fact[FACT_DAY]
    worked = people[PERSON_BEFORE, who, start // day] * day + start % day + slots - 1
    if worked // day >= people.shape[2]:
        return fact[FACT_END]
    return min(people[PERSON_DAY, who, worked // day] * day + worked % day + 1, fact[FACT_END])


@inlined
def walk_back(course, room, tally, job):
    """Follow a job back from its last end and count what most of the way went on."""
    spent, pieces = room.spent, room.piece
    spent[:] = 0
    piece = room.job_last[job]
    while piece >= 0:
        operation = course.piece[r.P_OP, piece]
        work = pieces[r.END, piece] - max(pieces[r.START, piece], course.fact[FACT_NOW])
        spent[r.T_WORK] += max(0, work)
        tally.held[r.H_WORK, operation] += max(0, work)
        if course.piece[r.P_BEGUN, piece] >= 0:
            break
        stood_still(course, room, tally, piece)
        via = pieces[r.VIA, piece]
        if via >= 0:
            rest = max(0, pieces[r.READY, piece] - pieces[r.END, via])
            if course.piece[r.P_PREVIOUS, piece] == via:
                spent[r.T_WORK] += rest
            else:
                spent[r.T_WAIT] += rest
                tally.held[r.H_WAIT, course.piece[r.P_OP, via]] += rest
        piece = via
    tally.decided[job, largest(spent)] += 1


@inlined
def stood_still(course, room, tally, piece):
    """Count what a piece waited for between being ready and its start: parts, floor, its technician, a bench."""
    spent, pieces, held = room.spent, room.piece, tally.held
    operation = course.piece[r.P_OP, piece]
    parts = pieces[r.FREE, piece] - pieces[r.READY, piece]
    on_order = course.op[r.O_DELIVERY, operation] >= 0
    spent[r.T_PART if on_order else r.T_DAY] += parts
    held[r.H_PART if on_order else r.H_DAY, operation] += parts
    floor = pieces[r.INSIDE, piece] - pieces[r.MEETS, piece]
    spent[r.T_FLOOR] += floor
    held[r.H_FLOOR, operation] += floor
    person = pieces[r.MEETS, piece] - pieces[r.FREE, piece] + pieces[r.MANNED, piece] - pieces[r.INSIDE, piece]
    spent[r.T_PERSON + room.who[operation]] += person
    held[r.H_PERSON, operation] += person
    bench = pieces[r.START, piece] - pieces[r.MANNED, piece]
    if bench > 0:
        spent[r.T_BENCH + course.op[r.O_PLACE, operation]] += bench
        held[r.H_PLACE, operation] += bench
