"""Clock and calendars, and each technician's bookings, sorted by start."""

from jobs.scheduling.calc.solve.compiled.jit import part
from jobs.scheduling.calc.solve.compiled.rows import (
    BY,
    FACT_DAY,
    FACT_OPENS,
    FACT_SLOT,
    FAR,
    FROM,
    NONE,
    NUMBER,
    PERSON_BEFORE,
    PERSON_DAY,
    PERSON_LEAVE,
    PERSON_RUN,
    PERSON_WORKS,
    SHOP_DAY,
    TO,
)

DAY_MINUTES = 24 * 60


@part
def after_wait(calendar, fact, end, wait):
    """First position at which work may start when ``wait`` clock minutes follow an end position."""
    if wait == 0:
        return end
    day, slot, opens = fact[FACT_DAY], fact[FACT_SLOT], fact[FACT_OPENS]
    minutes = calendar[NUMBER, (end - 1) // day] * DAY_MINUTES + opens + ((end - 1) % day + 1) * slot + wait
    date = minutes // DAY_MINUTES
    if date >= calendar.shape[1]:
        return FAR
    number = calendar[SHOP_DAY, date]
    if calendar[NUMBER, number] > date:
        return number * day
    slots = -((opens - minutes % DAY_MINUTES) // slot)
    return number * day + min(max(slots, 0), day)


@part
def work_end(people, who, day, start, slots):
    """End position of uninterrupted work begun at a slot of the technician's."""
    worked = people[PERSON_BEFORE, who, start // day] * day + start % day + slots - 1
    return people[PERSON_DAY, who, worked // day] * day + worked % day + 1


@part
def next_booking(booked, who, moment):
    """Start of the booking that contains a moment or comes next after it."""
    for index in range(1, booked[who, 0, 0] + 1):
        if booked[who, index, TO] > moment:
            return booked[who, index, FROM]
    return FAR


@part
def possible_end(people, booked, who, day, start, slots, over_leave):
    """End of uninterrupted work begun at ``start``, or NONE if a booking, a day off or a leave is in the way.

    ``over_leave``: work that fits between two leaves may pause over one all the same.
    """
    number = start // day
    if number >= people.shape[2] - 1 or people[PERSON_WORKS, who, number] == 0:
        return NONE
    end = work_end(people, who, day, start, slots)
    if next_booking(booked, who, start) < end:
        return NONE
    if (
        not over_leave
        and people[PERSON_LEAVE, who, number] * day < end
        and people[PERSON_RUN, who, number] * day >= slots
    ):
        return NONE
    return end


@part
def copy_row(table, page, source, target):
    """Copy start, end and piece of one row to another."""
    table[page, target, 0] = table[page, source, 0]
    table[page, target, 1] = table[page, source, 1]
    table[page, target, 2] = table[page, source, 2]


@part
def drop_ended(table, page, moment):
    """Forget spans that have ended by a moment."""
    size = 0
    for index in range(1, table[page, 0, 0] + 1):
        if table[page, index, TO] > moment:
            size += 1
            if size < index:
                copy_row(table, page, index, size)
    table[page, 0, 0] = size


@part
def give_back(table, page, piece):
    """Take the span of a piece out again."""
    size = 0
    for index in range(1, table[page, 0, 0] + 1):
        if table[page, index, BY] != piece:
            size += 1
            if size < index:
                copy_row(table, page, index, size)
    table[page, 0, 0] = size


@part
def take(table, page, start, end, piece, moment):
    """Note a span, sorted by start. False when there is no room to note it."""
    drop_ended(table, page, moment)
    size = table[page, 0, 0]
    if size + 1 >= table.shape[1]:
        return False
    table[page, 0, 0] = size + 1
    while size > 0 and table[page, size, FROM] > start:
        copy_row(table, page, size, size + 1)
        size -= 1
    table[page, size + 1, FROM] = start
    table[page, size + 1, TO] = end
    table[page, size + 1, BY] = piece
    return True
