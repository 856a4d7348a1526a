"""Simulated annealing over choices (Kirkpatrick, Gelatt and Vecchi, Science 220, 1983; from memory)."""

import math
from collections.abc import Callable
from random import Random

from jobs.scheduling.calc.solve.builder import NOTHING, Builder, Choice
from jobs.scheduling.calc.solve.compiled.rows import FAR
from jobs.scheduling.calc.solve.moves import Moves
from jobs.scheduling.calc.solve.prepared import Prepared

HOT_SHARE, HOT_LEAST, HOT_MOST = 0.03, 1.5, 3.0
"""First temperature: this share of the cost at the start, within these weighted days; tried on 10 to 100 jobs.

A move changes a job or two, however many there are: what it may cost does not grow with the house.
"""
COOLING = 0.1
"""Last temperature as a share of the first."""


def anneal(
    prepared: Prepared,
    builder: Builder,
    start: Choice,
    chance: Random,
    done: Callable[[], float],
    found: Callable[[Builder, Choice], None],
    late_limit: Callable[[], float],
    hot_most: float = HOT_MOST,
) -> None:
    """Vary ``start`` until ``done()`` reaches 1; it is asked before each schedule for the share gone by.

    ``found`` is called after each schedule, with the builder and the choice that led to it. One that will not be
    accepted need not be finished, unless its days late may still be ``late_limit()`` or fewer. ``hot_most``: the
    first temperature is no higher.
    """
    choice = start.copy()
    present = builder.stand_at(choice)
    found(builder, choice)
    if present >= NOTHING:
        return
    moves = Moves(prepared, builder.shop, chance)
    moves.look_at(builder)
    hot = min(max(HOT_LEAST, HOT_SHARE * (present % 1e6)), hot_most)
    while (share := done()) < 1:
        undo = moves.propose(choice)
        if undo is None:
            continue
        limit = present - hot * COOLING**share * math.log(chance.random() or 1e-12)
        first = moves.first_change(choice, undo)
        if first >= FAR:  # the same schedule: it stands, and need not be built
            found(builder, choice)
            continue
        since = builder.unchanged(first)
        cost = builder.cost(
            choice, since=since, joins=moves.settled(choice, undo), limit=limit, late_limit=late_limit()
        )
        found(builder, choice)
        if cost <= limit:
            builder.accept(since, cost)
            if cost != present:
                moves.look_at(builder)
            present = cost
        else:
            for table, where, value in reversed(undo):
                table[where] = value
