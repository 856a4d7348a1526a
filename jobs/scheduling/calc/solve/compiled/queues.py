"""What is to happen when (a binary heap of events) and what may start (a sorted queue for each skill)."""

from jobs.scheduling.calc.solve.compiled.jit import part
from jobs.scheduling.calc.solve.compiled.rows import EVENTS, KINDS, PIECE_OP


@part
def push(event, count, key):
    """Note an event; see ``event_key``."""
    size = count[EVENTS]
    count[EVENTS] = size + 1
    while size > 0:
        above = (size - 1) >> 1
        if event[above] <= key:
            break
        event[size] = event[above]
        size = above
    event[size] = key


@part
def event_key(moment, kind, piece, pieces):
    """One number that sorts by moment, then kind, then piece."""
    return (moment * KINDS + kind) * pieces + piece


@part
def pop(event, count):
    """Take the first event out: its key."""
    first = event[0]
    size = count[EVENTS] - 1
    count[EVENTS] = size
    key = event[size]
    here = 0
    while True:
        below = 2 * here + 1
        if below >= size:
            break
        if below + 1 < size and event[below + 1] < event[below]:
            below += 1
        if event[below] >= key:
            break
        event[here] = event[below]
        here = below
    event[here] = key
    return first


@part
def queue_in(queue, skill, piece_table, priority, piece):
    """Put a piece into the queue of its skill, the most urgent first."""
    mine = priority[piece_table[PIECE_OP, piece]]
    index = queue[skill, 0]
    queue[skill, 0] = index + 1
    while index > 0:
        other = queue[skill, index]
        urgency = priority[piece_table[PIECE_OP, other]]
        if urgency < mine or (urgency == mine and other < piece):
            break
        queue[skill, index + 1] = other
        index -= 1
    queue[skill, index + 1] = piece


@part
def queue_out(queue, skill, index):
    """Take out the piece at an index (from 1)."""
    size = queue[skill, 0]
    for place in range(index, size):
        queue[skill, place] = queue[skill, place + 1]
    queue[skill, 0] = size - 1
