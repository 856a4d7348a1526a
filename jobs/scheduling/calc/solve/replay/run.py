"""Replay a plan: compiled, on two cores where there are many futures, or in plain Python."""

from concurrent.futures import ThreadPoolExecutor

from jobs.scheduling.calc.solve.replay.plain import replay_plain
from jobs.scheduling.calc.solve.replay.tables import Course, Drawn, Tally, room_for, tally_for

MANY = 60
"""Fewer futures are not worth a second thread."""


def replay(course: Course, drawn: Drawn, late: Drawn, *, compiled: bool = True, follow: bool = True) -> Tally:
    """Ends of all jobs in all futures, and, compiled, what decided them where ``follow`` is asked.

    ``drawn``: slots [future, operation]; ``late``: slots of delay [future, delivery].
    """
    number = len(drawn)
    tally = tally_for(course, number)
    if not course.piece.shape[1]:
        return tally
    if not compiled:
        tally.end[:] = replay_plain(course, drawn, late)
        return tally
    from jobs.scheduling.calc.solve.replay.kernels import replay_range  # numba takes most of a second to import

    middle = number // 2 if number >= MANY else number
    halves = [(0, middle), (middle, number)] if middle < number else [(0, number)]
    counted = [tally_for(course, 0) for _ in halves]

    def one(index: int) -> None:
        first, last = halves[index]
        mine = Tally(tally.end, counted[index].decided, counted[index].held)
        replay_range(course, room_for(course), mine, drawn, late, first, last, int(follow))

    if len(halves) == 1:
        one(0)
    else:
        with ThreadPoolExecutor(len(halves)) as pool:
            list(pool.map(one, range(len(halves))))
    for part in counted:
        tally.decided[:] += part.decided
        tally.held[:] += part.held
    return tally
