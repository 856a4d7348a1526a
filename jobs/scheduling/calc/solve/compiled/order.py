"""From when on a change of priorities matters: two tasks must have waited at one moment and go the other way round."""

from jobs.scheduling.calc.solve.compiled.jit import whole
from jobs.scheduling.calc.solve.compiled.rows import FAR


@whole
def order_changes(changed, before, after, queued, decided, last):
    """First moment of a schedule at which work that waits goes in another order; FAR when none does.

    ``changed``: operations whose priority is another. ``before``, ``after``: all priorities. ``queued``: moment from
    which the priority of each operation counts. ``decided``, by piece, and ``last`` piece of each: until when.
    """
    first = FAR
    for index in range(len(changed)):
        mine = changed[index]
        begins, ends = queued[mine], decided[last[mine]]
        if begins >= first:
            continue
        for other in range(len(queued)):
            both = max(begins, queued[other])
            if both >= first or both > min(ends, decided[last[other]]):
                continue
            sooner = before[mine] < before[other]
            later = before[mine] > before[other]
            if sooner != (after[mine] < after[other]) or later != (after[mine] > after[other]):
                first = both
    return first
