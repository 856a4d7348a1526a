"""How much of an operation an instrument takes: counts, hours, waits, sessions."""

import math
from dataclasses import dataclass

from jobs.operations.calc.catalogue import IN_TURN, Operation

FULL_COMPASS = 88  # a per-note operation with this usual count is done on every note of the instrument
HOURS_A_DAY = 6.0  # attended hours of one person in a working day; common practice, no source


@dataclass(frozen=True)
class Hours:
    """Person-hours of attended work: low, likely, high."""

    low: float = 0.0
    likely: float = 0.0
    high: float = 0.0

    def __add__(self, other: "Hours") -> "Hours":
        return Hours(self.low + other.low, self.likely + other.likely, self.high + other.high)

    def times(self, factor: float) -> "Hours":
        """Return the hours multiplied."""
        return Hours(self.low * factor, self.likely * factor, self.high * factor)


@dataclass(frozen=True)
class Piece:
    """One part of an operation that is followed by its own wait (clock hours); ``number`` of ``of``."""

    number: int
    of: int
    hours: Hours
    wait_hours: float
    least_days: int


def usual_quantity(operation: Operation, kind: str, notes: int = FULL_COMPASS) -> float:
    """Return the usual count of units on that kind of instrument with that many notes.

    Work done on every note follows the compass (85 on an 85-note instrument); a usual count of nought means
    that the work is not usual, and one unit is counted when it is chosen all the same.
    Raises ValueError for an unknown kind.
    """
    if kind not in ("grand", "upright"):
        raise ValueError(f"“{kind}” is no kind of instrument: grand or upright.")
    count = operation.usual_grand if kind == "grand" else operation.usual_upright
    if operation.unit == "note" and count == FULL_COMPASS:
        return float(notes)
    return float(count or 1)


def hours_for(operation: Operation, quantity: float, kind: str) -> Hours:
    """Return the norm hours of so many units. Raises ValueError for a count that is not above nought."""
    if not quantity > 0:
        raise ValueError(f"“{operation.title}” needs a count above nought, not {quantity:g}.")
    factor = quantity * (operation.upright_factor if kind == "upright" else 1.0)
    return Hours(operation.hours_low, operation.hours_likely, operation.hours_high).times(factor)


def pieces(operation: Operation, quantity: float, kind: str) -> tuple[Piece, ...]:
    """Return the operation cut where a wait falls: one piece, or one for each pass.

    Raises ValueError for a count that is not above nought, or not whole where the units are done in turn.
    """
    hours = hours_for(operation, quantity, kind)
    if operation.repeats != IN_TURN:
        return (Piece(1, 1, hours, operation.wait_hours, operation.least_days),)
    if quantity != int(quantity):
        raise ValueError(f"“{operation.title}” is done in whole passes; {quantity:g} is not a whole number.")
    count = int(quantity)
    one = hours.times(1 / count)
    return tuple(Piece(i, count, one, operation.wait_hours, operation.least_days) for i in range(1, count + 1))


def wait_total(operation: Operation, quantity: float) -> float:
    """Return the clock hours of waiting: once after units done together, after each of those done in turn."""
    return operation.wait_hours * (quantity if operation.repeats == IN_TURN else 1)


def sessions(hours: float, least_days: int, hours_a_day: float = HOURS_A_DAY) -> tuple[float, ...]:
    """Return the attended hours of each session, one session a working day, evenly spread.

    There are as many as the hours need at ``hours_a_day``, and at least ``least_days``.
    Raises ValueError for hours or a day's hours that are not above nought.
    """
    if not hours > 0 or not hours_a_day > 0:
        raise ValueError("Sessions need hours above nought.")
    count = max(least_days, math.ceil(hours / hours_a_day - 1e-9), 1)
    return (hours / count,) * count
