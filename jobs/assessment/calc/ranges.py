"""What is ordinary for a measure on one kind and era of instrument."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Bend:
    """The ends of a range at one key; between the keys given, straight lines; outside them nothing is said."""

    key: int
    low: float | None
    high: float | None


@dataclass(frozen=True)
class MeasureRange:
    """A range in the unit of its measure; an end that is None is open.

    ``bends`` are given where the range changes along the compass; ``low`` and ``high`` then serve readings
    that belong to no note. ``own`` marks the workshop's own range, which goes before the reference.
    """

    kind: str
    era: str
    low: float | None = None
    high: float | None = None
    bends: tuple[Bend, ...] = ()
    own: bool = False
    source: str = ""

    def limits(self, key: int | None = None) -> tuple[float | None, float | None]:
        """Return (low, high) at a key, or for a reading that belongs to no note."""
        if key is None or not self.bends:
            return self.low, self.high
        bends = sorted(self.bends, key=lambda bend: bend.key)
        for left, right in zip(bends, bends[1:], strict=False):
            if left.key <= key <= right.key:
                share = (key - left.key) / (right.key - left.key)
                return _between(left.low, right.low, share), _between(left.high, right.high, share)
        return None, None


def choose_range(ranges: Iterable[MeasureRange], kind: str, era: str) -> MeasureRange | None:
    """Return the range for that kind and era, the workshop's own before the reference; None if there is none.

    A range of another era or kind is never used in its place.
    """
    fitting = [found for found in ranges if (found.kind, found.era) == (kind, era)]
    return next((found for found in fitting if found.own), fitting[0] if fitting else None)


def side_of(value: float, low: float | None, high: float | None) -> str:
    """Return "under", "over", or "" for a value inside its limits, both ends included."""
    if low is not None and value < low:
        return "under"
    if high is not None and value > high:
        return "over"
    return ""


def _between(left: float | None, right: float | None, share: float) -> float | None:
    return None if left is None or right is None else left + share * (right - left)
