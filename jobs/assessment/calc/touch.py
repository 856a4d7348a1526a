"""Touch: what the weights read at a key say of friction, weight and leverage.

All weights are in grams at the front of the key, distances in millimetres from the balance pin.
"""

from dataclasses import dataclass
from enum import StrEnum


class TouchCause(StrEnum):
    """Why a key plays heavy or returns slowly."""

    NONE = "none"  # within its ranges
    FRICTION = "friction"
    WEIGHT = "weight"
    BOTH = "both"
    EDGE = "edge"  # each within its range, the two together too much
    LIGHT = "light"  # too little balance weight to bring the key back
    UNKNOWN = "unknown"  # heavy, and no up weight read: the two cannot be told apart


@dataclass(frozen=True)
class TouchRanges:
    """The highest down weight and lowest up weight wanted, and the ranges of balance weight and friction."""

    down_high: float
    up_low: float
    balance_low: float
    balance_high: float
    friction_high: float


@dataclass(frozen=True)
class TouchVerdict:
    """Why a key plays as it does; balance weight and friction in grams, None where no up weight was read."""

    cause: TouchCause
    balance_g: float | None
    friction_g: float | None


def balance_weight(down: float, up: float) -> float:
    """Return ``(down + up) / 2``, the weight that friction does not change.

    Source: a technicians' training sheet, as all of the arithmetic of down and up weight here. Raises
    ValueError when up exceeds down or a weight is below nought.
    """
    _check_weights(down, up)
    return (down + up) / 2


def friction(down: float, up: float) -> float:
    """Return ``(down - up) / 2``, the friction of key and action. Raises ValueError as ``balance_weight``."""
    _check_weights(down, up)
    return (down - up) / 2


def balance_from_parts(
    *, strike_weight: float, strike_ratio: float, wippen_weight: float, key_ratio: float, front_weight: float
) -> float:
    """Return the balance weight that weighed parts give: ``BW = SW R + WW KR - FW``.

    The balance equation of trade-journal work of the 1990s, as printed in a technicians' list, October 2008.
    """
    return strike_weight * strike_ratio + wippen_weight * key_ratio - front_weight


def front_weight_for(
    *, balance: float, strike_weight: float, strike_ratio: float, wippen_weight: float, key_ratio: float
) -> float:
    """Return the front weight a key needs for a wanted balance weight; below nought, leads cannot reach it.

    The balance equation solved for FW: one gram more in front is one gram less balance weight.
    """
    return strike_weight * strike_ratio + wippen_weight * key_ratio - balance


def strike_ratio(
    *, balance: float, front_weight: float, wippen_weight: float, key_ratio: float, strike_weight: float
) -> float:
    """Return the overall leverage of a key from weighed parts: ``R = (BW + FW - WW KR) / SW``.

    Raises ValueError for a strike weight not above nought.
    """
    if not strike_weight > 0:
        raise ValueError(f"The strike weight must be above nought; it is {strike_weight:g} g.")
    return (balance + front_weight - wippen_weight * key_ratio) / strike_weight


def lead_moment(mass_g: float, distance_mm: float, front_arm_mm: float) -> float:
    """Return what a lead adds to the front weight: ``mass distance / front arm``, grams.

    ``distance_mm`` is positive in front of the balance pin, negative behind; ``front_arm_mm`` is from the pin
    to where front weight is read. A lead taken out counts the other way. Lead dust is poisonous: no sanding
    or drilling dry, and follow local rules. Raises ValueError for a front arm not above nought, or a lead
    beyond the front.
    """
    if not front_arm_mm > 0:
        raise ValueError(f"The front arm of the key must be above nought; it is {front_arm_mm:g} mm.")
    if distance_mm > front_arm_mm:
        raise ValueError(f"A lead {distance_mm:g} mm out lies beyond the front of the key at {front_arm_mm:g} mm.")
    return mass_g * distance_mm / front_arm_mm


def touch_cause(down: float, up: float | None, ranges: TouchRanges) -> TouchVerdict:
    """Tell whether a heavy or slow key has too much friction, too much weight, or both.

    Friction moves down and up weight apart and leaves the balance weight alone. Raises ValueError when up
    exceeds down or a weight is below nought.
    """
    if up is None:
        _check_weights(down, 0)
        cause = TouchCause.UNKNOWN if down > ranges.down_high else TouchCause.NONE
        return TouchVerdict(cause, None, None)
    balance, drag = balance_weight(down, up), friction(down, up)
    return TouchVerdict(_cause(down, up, balance, drag, ranges), balance, drag)


def _cause(down: float, up: float, balance: float, drag: float, ranges: TouchRanges) -> TouchCause:
    if down <= ranges.down_high and up >= ranges.up_low:
        return TouchCause.NONE
    if drag > ranges.friction_high:
        return TouchCause.BOTH if balance > ranges.balance_high else TouchCause.FRICTION
    if balance > ranges.balance_high:
        return TouchCause.WEIGHT
    return TouchCause.LIGHT if balance < ranges.balance_low else TouchCause.EDGE


def _check_weights(down: float, up: float) -> None:
    if min(down, up) < 0:
        raise ValueError(f"Touch weights are not below nought; read were down {down:g} g and up {up:g} g.")
    if up > down:
        raise ValueError(f"The up weight ({up:g} g) cannot exceed the down weight ({down:g} g): were the two swapped?")
