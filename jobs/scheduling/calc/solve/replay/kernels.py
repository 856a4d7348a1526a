"""The order of a plan replayed one future after the other, compiled."""

from jobs.scheduling.calc.solve.compiled.jit import part, whole
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
)
from jobs.scheduling.calc.solve.replay.rows import (
    END,
    FAR,
    FREE,
    H_DAY,
    H_FLOOR,
    H_PART,
    H_PERSON,
    H_PLACE,
    H_WAIT,
    H_WORK,
    INSIDE,
    MANNED,
    MEETS,
    NONE,
    O_DELIVERY,
    O_EARLIEST,
    O_FIXED,
    O_JOB,
    O_PIECES,
    O_PLACE,
    O_WAIT,
    P_ALONE,
    P_ALSO,
    P_BEGUN,
    P_ENTERS,
    P_FROM,
    P_LEAVES,
    P_LENGTH,
    P_OP,
    P_OVER,
    P_PLANNED,
    P_PREVIOUS,
    P_TO,
    P_TURN,
    P_WHO,
    READY,
    START,
    T_BENCH,
    T_DAY,
    T_FLOOR,
    T_PART,
    T_PERSON,
    T_WAIT,
    T_WORK,
    VIA,
)


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


@part
def clear(course, room):
    """Nobody busy, nothing held but the floor by what stands on it."""
    room.busy[:, :] = 0
    room.used[:, :] = 0
    room.open_slots[:, :] = course.fact[FACT_DAY]
    room.job_end[:] = 0
    room.job_last[:] = NONE
    room.stands[:] = NONE
    room.floor[:] = FAR
    room.floor[: course.fact[FACT_FLOOR]] = 0
    taken = 0
    for job in range(course.inside.shape[0]):
        if course.inside[job]:
            room.floor[taken] = FAR
            room.stands[job] = taken
            taken += 1


@part
def place_piece(course, room, drawn, late, future, piece):
    """Work out when one piece begins and ends, all that comes before it in the plan being placed."""
    table, keep = course.piece, room.piece
    operation = table[P_OP, piece]
    slots = piece_slots(course, drawn, future, piece)
    if table[P_BEGUN, piece] >= 0:
        who, start = table[P_WHO, piece], table[P_BEGUN, piece]
        end = work_end(course.people, who, course.fact, start, slots)
        for row in range(READY, MANNED + 1):
            keep[row, piece] = start
        keep[VIA, piece] = NONE
    else:
        wait_for_things(course, room, late, future, piece)
        who, manned, start, end = who_first(course, room, piece, slots)
        keep[MANNED, piece] = manned
    keep[START, piece], keep[END, piece] = start, end
    room.who[operation] = who
    book(course, room, who, course.op[O_PLACE, operation], start, end)
    come_and_go(course, room, piece, course.op[O_JOB, operation], end)


@part
def piece_slots(course, drawn, future, piece):
    """Slots of a piece: its share of what was drawn for its operation, the longer sessions first."""
    slots, turn = course.piece[P_LENGTH, piece], course.piece[P_TURN, piece]
    if turn < 0:
        return slots
    operation = course.piece[P_OP, piece]
    shares, left = course.op[O_PIECES, operation], drawn[future, operation]
    return slots + left // shares + (1 if turn < left % shares else 0)


@part
def wait_for_things(course, room, late, future, piece):
    """When everything but technician and bench is there: what comes before, parts, an appointment, a floor place."""
    keep, operation = room.piece, course.piece[P_OP, piece]
    end_of_all = course.fact[FACT_END]
    ready, via = when_ready(course, room, piece)
    free = max(ready, course.op[O_EARLIEST, operation])
    delivery = course.op[O_DELIVERY, operation]
    if delivery >= 0:
        free = max(free, course.op[O_EARLIEST, operation] + late[future, delivery])
    meets = max(free, course.op[O_FIXED, operation])
    inside = meets
    if course.piece[P_ENTERS, piece]:
        opens = room.floor[smallest(room.floor)]
        if opens < FAR:
            inside = max(inside, opens)
    keep[READY, piece], keep[FREE, piece] = min(ready, end_of_all), min(free, end_of_all)
    keep[MEETS, piece], keep[INSIDE, piece] = min(meets, end_of_all), min(inside, end_of_all)
    keep[VIA, piece] = via


@part
def who_first(course, room, piece, slots):
    """Who does a piece; since when the technician had the time; start and end.

    The plan's technician; one who helps (``P_ALSO``) where that is sooner; and where a piece would begin a day or more
    after its time in the plan, whoever can do it and is done first.
    """
    table, operation = course.piece, course.piece[P_OP, piece]
    if table[P_PREVIOUS, piece] >= 0:
        who = room.who[operation]
        manned, start, end = earliest(course, room, piece, who, slots, course.fact[FACT_END])
        return who, manned, start, end
    who, also = table[P_WHO, piece], table[P_ALSO, piece]
    manned, start, end = earliest(course, room, piece, who, slots, course.fact[FACT_END])
    late = start - table[P_PLANNED, piece] >= course.fact[FACT_DAY]
    for other in range(course.people.shape[1]):
        asked = other == also or (late and course.can[other, operation] == 1)
        if asked and other != who:
            other_manned, other_start, other_end = earliest(course, room, piece, other, slots, end - slots)
            if other_end < end:
                who, manned, start, end = other, other_manned, other_start, other_end
    return who, manned, start, end


@part
def come_and_go(course, room, piece, job, end):
    """A job's floor place, taken with its first piece and free after its last; and where it ends."""
    if course.piece[P_ENTERS, piece]:
        best = smallest(room.floor)
        if room.floor[best] < FAR:
            room.floor[best] = FAR
            room.stands[job] = best
    if end >= room.job_end[job]:
        room.job_end[job] = end
        room.job_last[job] = piece
    if course.piece[P_LEAVES, piece] and room.stands[job] >= 0:
        room.floor[room.stands[job]] = room.job_end[job]


@part
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


@part
def when_ready(course, room, piece):
    """When what comes before is over, with its waits; and which piece was last (NONE: nothing held it)."""
    day, end_of_all = course.fact[FACT_DAY], course.fact[FACT_END]
    ready, via = course.fact[FACT_NOW], NONE
    previous = course.piece[P_PREVIOUS, piece]
    if previous >= 0:
        morning = min(-(-room.piece[END, previous] // day) * day, end_of_all)
        return max(ready, morning), previous
    for index in range(course.piece[P_FROM, piece], course.piece[P_TO, piece]):
        other = course.before[index]
        free = room.piece[END, other]
        if free < end_of_all:
            free = after_wait(course.calendar, course.fact, free, course.op[O_WAIT, course.piece[P_OP, other]])
        if free >= ready:
            ready, via = min(free, end_of_all), other
    return ready, via


@part
def earliest(course, room, piece, who, slots, limit):
    """Since when a technician has the time for a piece; its start, when bench or spray room is free, too; its end.

    It goes into the first gap that is long enough: who would stand idle takes what can be done, but nothing moves what
    comes before it in the plan. Nothing is looked for from position ``limit`` on.
    """
    place = course.op[O_PLACE, course.piece[P_OP, piece]]
    start, end = technician_fit(course, room, piece, who, room.piece[INSIDE, piece], slots, limit)
    manned = start
    while place >= 0 and start < limit:
        taken = NONE
        for position in range(end - 1, start - 1, -1):
            if room.used[place, position] >= course.fact[FACT_PLACE + place]:
                taken = position
                break
        if taken < 0:
            break
        start, end = technician_fit(course, room, piece, who, taken + 1, slots, limit)
    return manned, start, end


@part
def technician_fit(course, room, piece, who, start, slots, limit):
    """First start from a position on, and end, with so many free slots of a technician's one after the other."""
    people, day, end_of_all = course.people, course.fact[FACT_DAY], course.fact[FACT_END]
    days = people.shape[2] - 1
    while start < limit:
        number = start // day
        if people[PERSON_WORKS, who, number] == 0:
            start = own_day(people, who, day, end_of_all, number)
            continue
        if room.open_slots[who, number] == 0:
            start = (number + 1) * day
            continue
        if room.busy[who, start]:
            start += 1
            continue
        if course.piece[P_ALONE, piece] and start % day + min(slots, day) > day:
            start = (number + 1) * day
            continue
        end, taken = run_free(course, room, who, start, slots)
        if taken >= 0:
            start = taken + 1
            continue
        leave = people[PERSON_LEAVE, who, number]
        if (
            course.piece[P_OVER, piece]
            or leave >= days
            or leave * day >= end
            or people[PERSON_RUN, who, number] * day < slots
        ):
            return start, end
        start = leave * day
    return end_of_all, end_of_all


@part
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
                if room.busy[who, slot]:
                    return slot, slot
        left -= until - position
        position = until
        if left == 0:
            return position, NONE
    return end_of_all, NONE


@part
def book(course, room, who, place, start, end):
    """Take a technician's working slots and a bench or the spray room from a start to an end."""
    people, day = course.people, course.fact[FACT_DAY]
    position = start
    while position < end:
        number = position // day
        until = min((number + 1) * day, end)
        if people[PERSON_WORKS, who, number] == 1:
            for slot in range(position, until):
                if room.busy[who, slot] == 0:
                    room.busy[who, slot] = 1
                    room.open_slots[who, number] -= 1
        position = until
    if place >= 0:
        for slot in range(start, end):
            room.used[place, slot] += 1


@part
def own_day(people, who, day, end_of_all, number):
    """Position of the technician's first own day on or after a shop day."""
    following = people[PERSON_DAY, who, people[PERSON_BEFORE, who, number]]
    return min(following * day, end_of_all)


@part
def work_end(people, who, fact, start, slots):
    """End position of uninterrupted work begun at a slot of the technician's, within the calendar."""
    day = fact[FACT_DAY]
    worked = people[PERSON_BEFORE, who, start // day] * day + start % day + slots - 1
    if worked // day >= people.shape[2]:
        return fact[FACT_END]
    return min(people[PERSON_DAY, who, worked // day] * day + worked % day + 1, fact[FACT_END])


@part
def walk_back(course, room, tally, job):
    """Follow a job back from its last end and count what most of the way went on."""
    spent, pieces = room.spent, room.piece
    spent[:] = 0
    piece = room.job_last[job]
    while piece >= 0:
        operation = course.piece[P_OP, piece]
        work = pieces[END, piece] - max(pieces[START, piece], course.fact[FACT_NOW])
        spent[T_WORK] += max(0, work)
        tally.held[H_WORK, operation] += max(0, work)
        if course.piece[P_BEGUN, piece] >= 0:
            break
        stood_still(course, room, tally, piece)
        via = pieces[VIA, piece]
        if via >= 0:
            rest = max(0, pieces[READY, piece] - pieces[END, via])
            if course.piece[P_PREVIOUS, piece] == via:
                spent[T_WORK] += rest
            else:
                spent[T_WAIT] += rest
                tally.held[H_WAIT, course.piece[P_OP, via]] += rest
        piece = via
    tally.decided[job, largest(spent)] += 1


@part
def stood_still(course, room, tally, piece):
    """Count what a piece waited for between being ready and its start: parts, floor, its technician, a bench."""
    spent, pieces, held = room.spent, room.piece, tally.held
    operation = course.piece[P_OP, piece]
    parts = pieces[FREE, piece] - pieces[READY, piece]
    on_order = course.op[O_DELIVERY, operation] >= 0
    spent[T_PART if on_order else T_DAY] += parts
    held[H_PART if on_order else H_DAY, operation] += parts
    floor = pieces[INSIDE, piece] - pieces[MEETS, piece]
    spent[T_FLOOR] += floor
    held[H_FLOOR, operation] += floor
    person = pieces[MEETS, piece] - pieces[FREE, piece] + pieces[MANNED, piece] - pieces[INSIDE, piece]
    spent[T_PERSON + room.who[operation]] += person
    held[H_PERSON, operation] += person
    bench = pieces[START, piece] - pieces[MANNED, piece]
    if bench > 0:
        spent[T_BENCH + course.op[O_PLACE, operation]] += bench
        held[H_PLACE, operation] += bench
