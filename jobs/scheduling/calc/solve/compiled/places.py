"""Benches and spray room by spans of the work that holds them; the floor by instruments in the house."""

from jobs.scheduling.calc.solve.compiled.jit import part
from jobs.scheduling.calc.solve.compiled.rows import (
    EXPECTED,
    FACT_FLOOR,
    FACT_PLACE,
    FAR,
    FLOOR_CHANGED,
    FROM,
    HERE,
    JOB_LOOK_AHEAD,
    ON_FLOOR,
    PINS,
    TO,
)


@part
def full(fact, held, place, moment):
    """Whether every place of a kind is taken at a moment."""
    taken = 0
    for index in range(1, held[place, 0, 0] + 1):
        if held[place, index, FROM] <= moment < held[place, index, TO]:
            taken += 1
    return taken >= fact[FACT_PLACE + place]


@part
def room(fact, held, place, start, end):
    """Whether one place of a kind is free throughout; there is always room for work that needs none."""
    if place < 0:
        return True
    if full(fact, held, place, start):
        return False
    for index in range(1, held[place, 0, 0] + 1):
        if start < held[place, index, FROM] < end and full(fact, held, place, held[place, index, FROM]):
            return False
    return True


@part
def admits(job_table, fact, jobs, count, job, moment, cautious):
    """Whether work on a job may start: it is here, or a place is free that no appointment or pin will need."""
    if jobs[HERE, job]:
        return True
    taken = count[ON_FLOOR]
    if taken >= fact[FACT_FLOOR]:
        return False
    until = FAR if cautious else moment + job_table[JOB_LOOK_AHEAD, job]
    for other in range(jobs.shape[1]):
        waited_for = jobs[EXPECTED, other] < until or jobs[PINS, other] > 0
        if waited_for and other != job and not jobs[HERE, other]:
            taken += 1
    return taken < fact[FACT_FLOOR]


@part
def admit(jobs, count, job):
    """A job is here from now on."""
    if not jobs[HERE, job]:
        jobs[HERE, job] = 1
        count[ON_FLOOR] += 1
        count[FLOOR_CHANGED] = 1
        jobs[EXPECTED, job] = FAR
