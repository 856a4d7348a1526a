"""Standard projects for the tests: two of our own as text in both layouts, proven optima, and a slow search."""

from itertools import permutations

from hypothesis import strategies as st

from jobs.scheduling.calc.standard import StandardProject, broken_rules, makespan

PATTERSON = """\
6 2
3 2
0 0 0 2 2 3
4 2 1 1 4
3 2 0 1 5
2 1 2 1 6
5 1 1
1 6
0 0 0 0
"""
"""Four activities on two resources; our own. Line breaks mean nothing, as activity 5 shows."""

PSPLIB = """\
************************************************************************
file with basedata            : our own
************************************************************************
projects                      :  1
jobs (incl. supersource/sink ):  6
horizon                       :  14
RESOURCES
  - renewable                 :  2   R
  - nonrenewable              :  0   N
  - doubly constrained        :  0   D
************************************************************************
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        1          1           4
   3        1          1           5
   4        1          1           6
   5        1          1           6
   6        1          0
************************************************************************
REQUESTS/DURATIONS:
jobnr. mode duration  R 1  R 2
------------------------------------------------------------------------
  1      1     0       0    0
  2      1     4       2    1
  3      1     3       2    0
  4      1     2       1    2
  5      1     5       1    1
  6      1     0       0    0
************************************************************************
RESOURCEAVAILABILITIES:
  R 1  R 2
    3    2
************************************************************************
"""
OPTIMUM = 10
"""Of both texts. Activity 4 needs all of resource 2, so 5 comes before or after it: 3 + 5 + 2 periods through
activities 3, 5, 4, or 4 + 2 + 5 through 2, 4, 5; and 10 can be kept."""

TASKS = (  # days of work, days of waiting after it, followers, (technician, bench, floor place, spray room)
    (2, 0, (2, 4), (1, 0, 1, 0)),
    (5, 2, (3,), (1, 0, 1, 0)),
    (4, 3, (5,), (1, 0, 1, 0)),
    (6, 0, (5,), (1, 1, 0, 0)),
    (4, 0, (), (1, 1, 0, 0)),
    (3, 0, (7,), (1, 0, 1, 0)),
    (2, 7, (8,), (1, 0, 0, 1)),
    (4, 0, (9,), (1, 1, 0, 0)),
    (2, 0, (10,), (1, 0, 1, 0)),
    (1, 0, (), (1, 0, 1, 0)),
)
"""Two instruments whose waits occupy nobody: the first five tasks are of one, the others of the other."""
PROVEN = (((2, 1, 2, 1), 20), ((1, 1, 2, 1), 33), ((3, 2, 2, 1), 20))
"""Capacities and shortest makespan in days: made here, proven by a constraint solver, and by reasoning: 33 is the
sum of all work days, 20 the longest chain of the first instrument (2 + 5 + 2 + 4 + 3 + 4)."""


def two_instruments(capacities):
    """The tasks with each wait as an activity that uses nothing."""
    durations, demands, followers = [], [], []
    waits = {number: len(TASKS) + place for place, number in enumerate(waiting(), 1)}
    for number, (days, _, after, needs) in enumerate(TASKS, 1):
        durations.append(days)
        demands.append(needs)
        followers.append((waits[number],) if number in waits else after)
    for number in waits:
        durations.append(TASKS[number - 1][1])
        demands.append((0, 0, 0, 0))
        followers.append(TASKS[number - 1][2])
    return StandardProject("two", tuple(durations), tuple(demands), tuple(followers), capacities)


def waiting():
    return [number for number, (_, wait, after, _) in enumerate(TASKS, 1) if wait and after]


@st.composite
def small_projects(draw):
    """Up to five activities on up to two resources; every need can be met."""
    size = draw(st.integers(1, 5))
    capacities = tuple(draw(st.lists(st.integers(1, 4), min_size=0, max_size=2)))
    durations = tuple(draw(st.integers(0, 5)) for _ in range(size))
    demands = tuple(tuple(draw(st.integers(0, most)) for most in capacities) for _ in range(size))
    names = draw(st.permutations(range(1, size + 1)))  # numbers need not follow the precedence
    followers = [() for _ in range(size)]
    for place, number in enumerate(names[:-1]):
        followers[number - 1] = tuple(sorted(draw(st.sets(st.sampled_from(names[place + 1 :]), max_size=2))))
    return StandardProject("small", durations, demands, tuple(followers), capacities)


def least_makespan(project):
    """Shortest makespan by trying every order; each activity as early as the ones before it allow."""
    orders = permutations(range(project.size))
    return min(makespan(project, starts) for order in orders for starts in placed(project, order))


def placed(project, order):
    starts = [None] * project.size
    for activity in order:
        befores = [number - 1 for number in project.befores[activity]]
        if any(starts[before] is None for before in befores):
            return
        start = max((starts[before] + project.durations[before] for before in befores), default=0)
        while not fits(project, starts, activity, start):
            start += 1
        starts[activity] = start
    assert broken_rules(project, starts) == []
    yield starts


def fits(project, starts, activity, start):
    for period in range(start, start + project.durations[activity]):
        for resource, capacity in enumerate(project.capacities):
            used = sum(
                project.demands[other][resource]
                for other, begun in enumerate(starts)
                if begun is not None and begun <= period < begun + project.durations[other]
            )
            if used + project.demands[activity][resource] > capacity:
                return False
    return True
