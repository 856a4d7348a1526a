"""Compiled inner loops: the serial schedule and its justification, the parallel schedule, and a genetic search.

Activities are numbered so that each comes after its predecessors; times are whole periods. A network is two
arrays (``first``, ``links``): the predecessors of activity ``i`` are ``links[first[i]:first[i + 1]]``. Resources
are packed side by side into 64-bit words, a spare guard bit above each: one subtraction then tells whether
every resource of the word suffices. ``random`` is one word of state, changed in place. One file, because the
compiler's cache notices a changed file, not a changed function called from another file.

Serial and parallel schemes after Kolisch, European Journal of Operational Research 90, 1996; crossover after
Hartmann, Naval Research Logistics 45, 1998; double justification after Valls, Ballestín and Quintanilla,
European Journal of Operational Research 165, 2005 (all from memory).
"""

import numpy as np
from numba import njit

from jobs.scheduling.calc.solve.warm import use_own_folder

use_own_folder()  # before the first function is given to numba

MUTATION = 0.05
"""Chance of a swap with the neighbour, for each place of a list; Hartmann's value."""
TRIES = 3


@njit(cache=True, nogil=True)
def draw(random):
    """A number from 0 up to 1 (xorshift64*, Vigna 2016; from memory)."""
    word = random[0]
    word ^= word >> np.uint64(12)
    word ^= word << np.uint64(25)
    word ^= word >> np.uint64(27)
    random[0] = word
    return np.float64((word * np.uint64(2685821657736338717)) >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@njit(cache=True, nogil=True)
def fits(activity, period, needs, guard, free):
    """Whether every resource suffices for an activity in one period."""
    for word in range(guard.size):
        left = (free[period, word] | guard[word]) - needs[activity, word]
        if left & guard[word] != guard[word]:
            return False
    return True


@njit(cache=True, nogil=True)
def take(activity, start, durations, needs, free):
    """Book an activity's resources from ``start`` on; returns its end."""
    end = start + durations[activity]
    for period in range(start, end):
        for word in range(free.shape[1]):
            free[period, word] -= needs[activity, word]
    return end


@njit(cache=True, nogil=True)
def give_back(top, full, free):
    """Make every period before ``top`` free again."""
    for period in range(top):
        for word in range(full.size):
            free[period, word] = full[word]


@njit(cache=True, nogil=True)
def ready_at(activity, durations, first, links, starts):
    """End of the last predecessor; -1 if one has no start yet."""
    ready = 0
    for link in range(first[activity], first[activity + 1]):
        before = links[link]
        if starts[before] < 0:
            return -1
        ready = max(ready, starts[before] + durations[before])
    return ready


@njit(cache=True, nogil=True)
def serial(order, durations, needs, first, links, full, guard, free, starts):
    """Place each activity of ``order`` as early as predecessors and resources allow; returns the makespan.

    ``free``: words per period, given full and handed back full. Writes ``starts``; no old value of it counts.
    """
    starts[:] = 0
    top = 0
    for activity in order:
        start = ready_at(activity, durations, first, links, starts)
        length = durations[activity]
        unseen = start
        period = start + length - 1
        while period >= unseen:  # from the end, so that what was seen free need not be looked at again
            if fits(activity, period, needs, guard, free):
                period -= 1
            else:
                unseen = start + length
                start = period + 1
                period = start + length - 1
        starts[activity] = start
        top = max(top, take(activity, start, durations, needs, free))
    give_back(top, full, free)
    return top


@njit(cache=True, nogil=True)
def parallel(order, durations, needs, first, links, full, guard, free, starts):
    """Walk through time and start, in ``order``, whatever may start; returns the makespan, writes ``starts``.

    ``order`` has predecessors first, so what an activity of no length frees is met later in the same round.
    """
    starts[:] = -1
    waiting = order.copy()
    count = waiting.size
    top, moment = 0, 0
    while count:
        kept = 0
        for index in range(count):
            activity = waiting[index]
            ready = ready_at(activity, durations, first, links, starts)
            if 0 <= ready <= moment and (durations[activity] == 0 or fits(activity, moment, needs, guard, free)):
                starts[activity] = moment
                top = max(top, take(activity, moment, durations, needs, free))
            else:
                waiting[kept] = activity
                kept += 1
        count = kept
        moment = next_end(moment, top, starts, durations)
    give_back(top, full, free)
    return top


@njit(cache=True, nogil=True)
def next_end(moment, top, starts, durations):
    """The first end after a moment, ``top`` at the latest."""
    following = top
    for activity in range(starts.size):
        end = starts[activity] + durations[activity]
        if starts[activity] >= 0 and moment < end < following:
            following = end
    return following


@njit(cache=True, nogil=True)
def by_time(times, limit, buckets, order):
    """Write into ``order`` the activities by rising time (at most ``limit``), those of one time by number."""
    for time in range(limit + 2):
        buckets[time] = 0
    for activity in range(times.size):
        buckets[times[activity] + 1] += 1
    for time in range(limit + 1):
        buckets[time + 1] += buckets[time]
    for activity in range(times.size):
        time = times[activity]
        order[buckets[time]] = activity
        buckets[time] += 1


@njit(cache=True, nogil=True)
def justified(order, net, space):
    """Schedule ``order``, push all to the right and all to the left again; returns the makespan.

    Leaves the schedule's starts in ``space.starts`` and its list in ``order``. Each pass is a serial schedule
    of the network read in its direction; the reversed one numbers its activities from the end.
    """
    durations, needs, first, links, back_durations, back_needs, back_first, back_links, full, guard = net
    free, starts, mirrored, buckets = space
    last = durations.size - 1
    length = serial(order, durations, needs, first, links, full, guard, free, starts)
    for activity in range(last + 1):
        mirrored[last - activity] = length - starts[activity] - durations[activity]
    by_time(mirrored, length, buckets, order)
    length = serial(order, back_durations, back_needs, back_first, back_links, full, guard, free, mirrored)
    for activity in range(last + 1):
        starts[activity] = length - mirrored[last - activity] - durations[activity]
    by_time(starts, length, buckets, order)
    length = serial(order, durations, needs, first, links, full, guard, free, starts)
    by_time(starts, length, buckets, order)
    return length


@njit(cache=True, nogil=True)
def crossed(mother, father, child, taken, random):
    """Two-point crossover: the mother's list, its middle in the father's order."""
    size = mother.size
    one, other = int(draw(random) * (size + 1)), int(draw(random) * (size + 1))
    begin, end = min(one, other), max(one, other)
    taken[:] = False
    for place in range(begin):
        child[place] = mother[place]
        taken[mother[place]] = True
    place = begin
    for activity in father:
        if place == end:
            break
        if not taken[activity]:
            child[place] = activity
            taken[activity] = True
            place += 1
    for activity in mother:
        if not taken[activity]:
            child[place] = activity
            place += 1


@njit(cache=True, nogil=True)
def mutated(child, first, links, chance, random):
    """Swap neighbours of a list here and there, where no link forbids it."""
    for place in range(child.size - 1):
        if draw(random) < chance:
            before, after = child[place], child[place + 1]
            free = True
            for link in range(first[after], first[after + 1]):
                if links[link] == before:
                    free = False
                    break
            if free:
                child[place], child[place + 1] = after, before


@njit(cache=True, nogil=True)
def sampled(latest, first, links, order, sharpness, random):
    """A random list that prefers small ``latest`` finishes: regret-based sampling (Drexl 1991; from memory)."""
    size = latest.size
    missing = np.empty(size, np.int64)
    open_ones = np.empty(size, np.int64)
    count = 0
    for activity in range(size):
        missing[activity] = first[activity + 1] - first[activity]
        if missing[activity] == 0:
            open_ones[count] = activity
            count += 1
    followers_first, followers = _turned(first, links)
    for place in range(size):
        worst = latest[open_ones[0]]
        for index in range(1, count):
            worst = max(worst, latest[open_ones[index]])
        total = 0.0
        for index in range(count):
            total += (worst - latest[open_ones[index]] + 1.0) ** sharpness
        mark = draw(random) * total
        chosen = count - 1
        for index in range(count):
            mark -= (worst - latest[open_ones[index]] + 1.0) ** sharpness
            if mark < 0:
                chosen = index
                break
        activity = open_ones[chosen]
        count -= 1
        open_ones[chosen] = open_ones[count]
        order[place] = activity
        for link in range(followers_first[activity], followers_first[activity + 1]):
            follower = followers[link]
            missing[follower] -= 1
            if missing[follower] == 0:
                open_ones[count] = follower
                count += 1


@njit(cache=True, nogil=True)
def _turned(first, links):
    """The same links, listed by predecessor."""
    size = first.size - 1
    counts = np.zeros(size + 1, np.int64)
    for before in links:
        counts[before + 1] += 1
    turned_first = np.cumsum(counts)
    fill = turned_first.copy()
    turned = np.empty(links.size, np.int64)
    for activity in range(size):
        for link in range(first[activity], first[activity + 1]):
            before = links[link]
            turned[fill[before]] = activity
            fill[before] += 1
    return turned_first, turned


@njit(cache=True, nogil=True)
def founded(people, lengths, latest, net, space, best_starts, best, random):
    """Fill the population: lists sampled by latest finish, each scheduled by either scheme and justified.

    Returns the best makespan so far; ``best_starts`` is overwritten when a member beats ``best``.
    """
    durations, needs, first, links, _, _, _, _, full, guard = net
    free, starts, _, buckets = space
    order = np.empty(durations.size, np.int64)
    for one in range(lengths.size):
        sampled(latest, first, links, order, 1.0 + 3.0 * draw(random), random)
        if one % 2:
            length = parallel(order, durations, needs, first, links, full, guard, free, starts)
            by_time(starts, length, buckets, order)
        lengths[one] = justified(order, net, space)
        people[one] = order
        if lengths[one] < best:
            best = lengths[one]
            best_starts[:] = starts
    return best


@njit(cache=True, nogil=True)
def evolved(people, lengths, net, space, children, mutation, best_starts, best, random):
    """Bear ``children`` children; each replaces a worse one of the population. Returns the best makespan so far.

    ``best_starts`` is overwritten when a child beats ``best``.
    """
    size = lengths.size
    first, links = net[2], net[3]
    child = np.empty(people.shape[1], np.int64)
    taken = np.empty(people.shape[1], np.bool_)
    for _ in range(children):
        mother, father = chosen(lengths, random), chosen(lengths, random)
        crossed(people[mother], people[father], child, taken, random)
        mutated(child, first, links, mutation, random)
        length = justified(child, net, space)
        worst = int(draw(random) * size)
        for _ in range(TRIES):
            other = int(draw(random) * size)
            if lengths[other] > lengths[worst]:
                worst = other
        if length <= lengths[worst] and not present(people, lengths, child, length):
            people[worst] = child
            lengths[worst] = length
        if length < best:
            best = length
            best_starts[:] = space[1]
    return best


@njit(cache=True, nogil=True)
def chosen(lengths, random):
    """The better of two drawn at random."""
    one, other = int(draw(random) * lengths.size), int(draw(random) * lengths.size)
    return one if lengths[one] <= lengths[other] else other


@njit(cache=True, nogil=True)
def present(people, lengths, child, length):
    """Whether the population holds this very list."""
    for one in range(lengths.size):
        if lengths[one] == length:
            same = True
            for place in range(child.size):
                if people[one, place] != child[place]:
                    same = False
                    break
            if same:
                return True
    return False
