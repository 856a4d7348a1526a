"""How many of something are held at each moment: a level that steps up and down."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from datetime import date, datetime, time

EVER, NEVER = datetime.combine(date.min, time()), datetime.combine(date.max, time())
Span = tuple[datetime, datetime]


class Steps:
    """A level over time, built from spans that are half open. ``add`` and ``clash`` touch only what lies near them."""

    def __init__(self, spans: Iterable[Span] = ()) -> None:
        changes: dict[datetime, int] = {}
        for start, end in spans:
            if start < end:
                changes[start] = changes.get(start, 0) + 1
                changes[end] = changes.get(end, 0) - 1
        self._at = [EVER, *sorted(changes)]
        self._level = [0]
        for moment in self._at[1:]:
            self._level.append(self._level[-1] + changes[moment])

    def copy(self) -> "Steps":
        """The same, to be changed on its own."""
        new = Steps()
        new._at, new._level = self._at.copy(), self._level.copy()
        return new

    def add(self, start: datetime, end: datetime, by: int = 1) -> None:
        """Hold one more from ``start`` up to ``end``; with ``by`` -1 one less."""
        if start >= end:
            return
        first, last = self._step_at(start), self._step_at(end)
        for place in range(first, last):
            self._level[place] += by

    def _step_at(self, moment: datetime) -> int:
        place = bisect_left(self._at, moment)
        if place == len(self._at) or self._at[place] != moment:
            self._at.insert(place, moment)
            self._level.insert(place, self._level[place - 1])
        return place

    def clash(self, start: datetime, end: datetime, most: int) -> Span | None:
        """The first stretch with ``most`` or more held that overlaps ``start`` up to ``end``; None when there is none.

        It ends at NEVER when the level never falls below ``most`` again.
        """
        place = bisect_right(self._at, start) - 1
        while place < len(self._at) and self._at[place] < end:
            if self._level[place] >= most:
                after = place
                while after < len(self._at) and self._level[after] >= most:
                    after += 1
                return self._at[place], self._at[after] if after < len(self._at) else NEVER
            place += 1
        return None
