"""Simulated annealing over choices (Kirkpatrick, Gelatt and Vecchi, Science 220, 1983; from memory)."""

import math
from collections.abc import Callable
from random import Random

from jobs.scheduling.calc.solve.builder import NOTHING, Builder, Choice
from jobs.scheduling.calc.solve.moves import Moves
from jobs.scheduling.calc.solve.prepared import Prepared

HOT_SHARE, HOT_LEAST = 0.03, 1.5
"""First temperature: this share of the cost at the start, at least so many weighted days; tried on 10 to 100 jobs."""
COOLING = 0.1
"""Last temperature as a share of the first."""


def anneal(
    prepared: Prepared,
    builder: Builder,
    start: Choice,
    chance: Random,
    done: Callable[[], float],
    found: Callable[[Builder, Choice], None],
) -> None:
    """Vary ``start`` until ``done()`` reaches 1; it is asked before each schedule for the share gone by.

    ``found`` is called after each schedule that is built, with the builder and the choice that led to it.
    """
    choice = start.copy()
    present = builder.cost(choice)
    found(builder, choice)
    if present >= NOTHING:
        return
    moves = Moves(prepared, builder.shop, chance)
    moves.look_at(builder)
    hot = max(HOT_LEAST, HOT_SHARE * (present % 1e6))
    while (share := done()) < 1:
        undo = moves.propose(choice)
        if undo is None:
            continue
        cost = builder.cost(choice)
        if cost < NOTHING:
            found(builder, choice)
        if cost <= present - hot * COOLING**share * math.log(chance.random() or 1e-12):
            if cost != present:
                moves.look_at(builder)
            present = cost
        else:
            for table, where, value in reversed(undo):
                table[where] = value
