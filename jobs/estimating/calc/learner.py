"""The norm that learns: what was logged, in nested piles, gives hours at any confidence.

One number for each finished task: y = ln(logged hours / norm). The shop's pile stands on 40 normal points, the
pile of a kind of work on 40 percentiles of the shop's, a technician's pile at that kind on 40 percentiles of the
kind's. That is the conjugate update of a Dirichlet process with the level above as base measure
(Ferguson 1973, Annals of Statistics 1, 209–230): own outcomes weigh n/(n + kappa).
"""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from jobs.estimating.calc.piles import (
    MIDDLES,
    NO_PILE,
    NORMAL_MIDDLES,
    PARTS,
    Numbers,
    Pile,
    clip_limits,
    merged,
    sorted_percentiles,
)

LEAST_LIMIT = 0.064  # in ln: 10th to 50th percentile at the least spread of a task, 0.05 · 1.28
NOTHING = 1e-9  # a pile that weighs less says nothing
ENDS = (0.1, 0.5, 0.9)
ALIKE = 9  # decimals of a logarithm beyond which outcomes are the same, so that rounding parts no equal ones


@dataclass(frozen=True)
class Log:
    """One finished task: hours logged against the norm it had, on which day (ordinal), by whom, on what.

    ``norm`` and ``hours`` in person-hours. ``ident`` names it to whoever handed it in. A ``first_time`` log is
    left out of the piles. ``marks`` are further things tasks may share, e.g. the job. A blank mark is shared with
    nothing: such a log counts only at the levels that do not ask for it.
    """

    ident: int
    kind: str
    technician: str
    norm: float
    hours: float
    day: int
    first_time: bool = False
    marks: Mapping[str, str] = field(default_factory=dict)

    @property
    def outcome(self) -> float:
        """Return ``ln(hours / norm)``."""
        return round(math.log(self.hours / self.norm), ALIKE)

    def mark(self, name: str) -> str:
        """Return what it has under a name: its kind, its technician, or one of its marks."""
        if name == "kind":
            return self.kind
        return self.technician if name == "technician" else self.marks.get(name, "")


@dataclass(frozen=True)
class Level:
    """One level of piles: what its logs share, how many pseudo-logs it takes from the level above.

    ``width`` (ln hours): logs of tasks about as long count more; None when all count alike. ``apart`` is what an
    earlier level shares: an outcome then counts by how far it lies from the middle of its own pile there, and is put
    onto the middle of the level above. So a technician's hours at other work speak too, without that work's own habit.
    """

    shares: tuple[str, ...]
    kappa: float
    width: float | None = None
    apart: tuple[str, ...] = ()


@dataclass(frozen=True)
class Constants:
    """What is fixed before anything is learned. The first level is the shop and stands on the norm itself."""

    sigma0: float = 0.35
    half_life_days: float = 365.0
    clip: float = 2.0
    levels: tuple[Level, ...] = (Level((), 8.0), Level(("kind",), 10.0), Level(("kind", "technician"), 10.0))


WORKSHOP = Constants()  # the workshop's judgement: a first 80 % figure of 1.34 × norm


@dataclass(frozen=True)
class Forecast:
    """Hours of one task: the norm, and the pile that speaks for it.

    ``shares`` says which pile that is (() for the shop's), ``logs`` how many logs of that kind of work it holds of
    its own, ``least`` and ``most`` the shortest and longest of them in hours of this task's size.
    """

    norm: float
    values: Numbers
    places: Numbers
    shares: tuple[str, ...]
    logs: int
    least: float | None
    most: float | None

    def figure(self, confidence: float) -> float:
        """Return the hours that suffice with that chance. Raises ValueError outside 0 to 1."""
        if not 0 < confidence < 1:
            raise ValueError(f"A chance lies between 0 and 1, not at {confidence:g}.")
        return float(self.norm * math.exp(float(np.interp(confidence, self.places, self.values))))


@dataclass(frozen=True)
class Suspect:
    """A log that lies so far off that it counts at a limit: ``limit_hours`` instead of its own hours."""

    ident: int
    hours: float
    limit_hours: float


@dataclass(frozen=True)
class _Stand:
    """A pile ready to be asked: sorted values, weights, which level's it is, and the limits its own logs got.

    ``place`` −1 is the norm itself, of which nothing is logged; ``centre`` the middle of the level above.
    """

    values: Numbers
    weights: Numbers
    place: int
    pile: Pile | None = None
    low: float = -math.inf
    high: float = math.inf
    centre: float = 0.0


class Learner:
    """Nested piles of logs. Adding a log sorts it into each pile it belongs to; nothing else is worked out anew."""

    def __init__(self, constants: Constants = WORKSHOP, logs: Iterable[Log] = ()) -> None:
        """Take in logs. Raises ValueError for one that cannot be, or a level apart from what none before it shares."""
        shares = [level.shares for level in constants.levels]
        for place, level in enumerate(constants.levels):
            if level.apart and level.apart not in shares[1:place]:
                raise ValueError(f"No level before {'+'.join(level.shares)} shares {'+'.join(level.apart)}.")
        self.constants = constants
        self._prior = _Stand(constants.sigma0 * NORMAL_MIDDLES, np.full(PARTS, 1.0 / PARTS), -1)
        self._piles: list[dict[tuple[str, ...], Pile]] = [{} for _ in constants.levels]
        self._stands: dict[tuple[object, ...], _Stand] = {}
        self._groups: dict[tuple[int, tuple[str, ...]], int] = {}  # a pile, by its level and key, has a number
        self._middles: dict[tuple[int, int], float] = {}
        self._logs: dict[int, Log] = {}
        self.add(logs)

    def __len__(self) -> int:
        return len(self._logs)

    def add(self, logs: Iterable[Log]) -> None:
        """Take in finished tasks. Those of a first time are kept out of the piles.

        Raises ValueError for hours or a norm not above nought, or a log that is known already; then none is kept.
        """
        new = {}
        for log in logs:
            if not (log.norm > 0 and log.hours > 0 and math.isfinite(log.norm) and math.isfinite(log.hours)):
                raise ValueError(f"Log {log.ident} needs hours and a norm above nought.")
            if log.ident in self._logs or log.ident in new:
                raise ValueError(f"Log {log.ident} is known already.")
            new[log.ident] = log
        self._logs.update(new)
        counting = [log for log in new.values() if not log.first_time]
        for piles, level in zip(self._piles, self.constants.levels, strict=True):
            gathered: dict[tuple[str, ...], list[Log]] = {}
            for log in counting:
                key = tuple(map(log.mark, level.shares))
                if all(key):
                    gathered.setdefault(key, []).append(log)
            for key, some in gathered.items():
                more = Pile(
                    np.array([log.outcome for log in some]),
                    np.array([float(log.day) for log in some]),
                    np.array([math.log(log.norm) for log in some]),
                    np.array([self._group(level, log) for log in some], dtype=np.intp),
                )
                piles[key] = piles.get(key, NO_PILE).added(more)
        self._stands, self._middles = {}, {}

    def forecast(self, *, norm: float, today: int, marks: Mapping[str, str]) -> Forecast:
        """Return the hours of a task with that norm on a day (ordinal); ``marks`` as ``{"kind": …, "technician": …}``.

        The deepest pile that holds a log speaks. Raises ValueError for a norm that is not above nought.
        """
        if not (norm > 0 and math.isfinite(norm)):
            raise ValueError(f"A norm needs hours above nought, not {norm:g}.")
        stand = self._stand(len(self.constants.levels) - 1, math.log(norm), today, lambda name: marks.get(name, ""))
        sums = np.cumsum(stand.weights)
        own = stand.pile.values if stand.pile is not None and stand.place > 0 else None
        return Forecast(
            norm=norm,
            values=stand.values,
            places=(sums - stand.weights / 2) / sums[-1],
            shares=self.constants.levels[stand.place].shares if stand.place > 0 else (),
            logs=0 if own is None else own.size,
            least=None if own is None else norm * math.exp(float(own[0])),
            most=None if own is None else norm * math.exp(float(own[-1])),
        )

    def outcomes(self, marks: Mapping[str, str], until: int | None = None) -> list[float]:
        """Return logged hours over norm of the logs that share these marks, those of a level's names, oldest first.

        ``until`` leaves out what was finished after that day (ordinal). No logs give an empty list.
        """
        place = next(
            (place for place, level in enumerate(self.constants.levels) if set(level.shares) == set(marks)), None
        )
        if place is None:
            raise ValueError(f"No level of this learner shares {', '.join(marks)}.")
        shares = self.constants.levels[place].shares
        pile = self._piles[place].get(tuple(marks[name] for name in shares), NO_PILE)
        order = np.argsort(pile.days, kind="stable")
        heard = order if until is None else order[pile.days[order] <= until]
        return [float(outcome) for outcome in np.exp(pile.values[heard])]

    def suspects(self, today: int, kind: str | None = None) -> list[Suspect]:
        """Return the logs (of one kind of work) that count at a limit in some pile; the furthest off first."""
        found: dict[int, Suspect] = {}
        for log in self._logs.values():
            if log.first_time or kind not in (None, log.kind):
                continue
            for place in range(len(self.constants.levels)):
                stand = self._stand(place, math.log(log.norm), today, log.mark)
                moved = self._moved(log, stand, today)
                outcome = round(log.outcome + moved, ALIKE)
                held = min(max(outcome, stand.low), stand.high)
                if held != outcome:
                    found[log.ident] = Suspect(log.ident, log.hours, log.norm * math.exp(held - moved))
        return sorted(found.values(), key=lambda one: (-abs(math.log(one.hours / one.limit_hours)), one.ident))

    def _stand(self, place: int, size: float, today: int, mark: Callable[[str], str]) -> _Stand:
        """Return the pile of a level for what a task shares, or the one above where nothing is logged here."""
        if place < 0:
            return self._prior
        level = self.constants.levels[place]
        pile = self._piles[place].get(tuple(map(mark, level.shares)))
        if pile is None:
            return self._stand(place - 1, size, today, mark)
        above = self.constants.levels[: place + 1]
        sized = size if any(one.width for one in above) else None
        key = (place, today, sized, *(mark(name) for one in above for name in one.shares))
        stand = self._stands.get(key)
        if stand is None:
            above_it = self._stand(place - 1, size, today, mark)
            stand = self._built(place, pile, above_it, pile.weights(today, self._half_life, size, level.width), today)
            self._stands[key] = stand
        return stand

    def _built(self, place: int, pile: Pile, above: _Stand, weights: Numbers, today: int) -> _Stand:
        level, heard = self.constants.levels[place], weights > NOTHING
        if not heard.any():
            return above
        values, weights = pile.values[heard], weights[heard]
        base = np.round(sorted_percentiles(above.values, above.weights, MIDDLES), ALIKE)
        if place == 0:
            ends = sorted_percentiles(*merged(values, weights, base, level.kappa / PARTS), ENDS)
        else:
            ends = np.interp(ENDS, MIDDLES, base)  # the level above, as it stands for itself here
        a, m, b = (float(end) for end in ends)
        if level.apart:
            values = np.round(values - self._middles_of(pile.groups[heard], today) + m, ALIKE)
            order = np.lexsort((weights, values))
            values, weights = values[order], weights[order]
        low, high = (round(end, ALIKE) for end in clip_limits(a, m, b, self.constants.clip, LEAST_LIMIT))
        clipped, weighing = merged(np.clip(values, low, high), weights, base, level.kappa / PARTS)
        return _Stand(clipped, weighing, place, pile, low, high, m)

    @property
    def _half_life(self) -> float:
        return self.constants.half_life_days

    def _group(self, level: Level, log: Log) -> int:
        """Return the number of the pile that a level tells a log apart by; nought where it does not."""
        if not level.apart:
            return 0
        place = next(i for i, one in enumerate(self.constants.levels) if one.shares == level.apart)
        return self._groups.setdefault((place, tuple(map(log.mark, level.apart))), len(self._groups))

    def _moved(self, log: Log, stand: _Stand, today: int) -> float:
        """Return by how much a log's outcome is moved in a pile: from the middle of its own group to the centre."""
        if stand.place < 0 or not self.constants.levels[stand.place].apart:
            return 0.0
        group = self._group(self.constants.levels[stand.place], log)
        return stand.centre - float(self._middles_of(np.array([group]), today)[0])

    def _middles_of(self, groups: npt.NDArray[np.intp], today: int) -> Numbers:
        """Return the middles of whole piles on a day, one for each group: sizes alike, over the whole shop."""
        known, places = np.unique(groups, return_inverse=True)
        if any((int(group), today) not in self._middles for group in known):
            piles = list(self._groups)
            for group in map(int, known):
                whole = self._whole(*piles[group], today)
                self._middles[group, today] = float(sorted_percentiles(whole.values, whole.weights, (0.5,))[0])
        return np.array([self._middles[int(group), today] for group in known])[places]

    def _whole(self, place: int, key: tuple[str, ...], today: int) -> _Stand:
        """Return a pile that stands on the whole shop's, tasks of all sizes alike."""
        stand = self._stands.get(("whole", place, today, *key))
        if stand is None:
            above = self._whole(0, (), today) if place else self._prior
            pile = self._piles[place].get(key, NO_PILE)  # none for a blank mark: then the shop's as it is
            stand = self._built(place, pile, above, pile.weights(today, self._half_life, 0.0, None), today)
            self._stands["whole", place, today, *key] = stand
        return stand
