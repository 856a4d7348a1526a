"""What logged hours say about a norm, and how often figures held: plain counts a manager can follow."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

LEAST_LOGS = 5  # fewer say nothing about a norm; our judgement
LEAST_OFF = 0.08  # a norm nearer than this to the likely figure is left alone; our judgement
CHANCE_MOST = 0.05  # of the logs lying so one-sided by luck alone, as statistics commonly asks
HOLD_LEAST, HOLD_MOST, HOLD_NEEDS = 0.70, 0.92, 20  # where "8 in 10" is doubted, and from how many cases on


@dataclass(frozen=True)
class Proposal:
    """A norm the logs propose: hours of one unit, how many logs lie above and below the old one, and the luck of it."""

    low: float
    likely: float
    high: float
    above: int
    below: int
    chance: float

    @property
    def words(self) -> str:
        """Return low, likely and high as people write them, "9.8, 12.5, 17.5"."""
        return ", ".join(f"{hours:g}" for hours in (self.low, self.likely, self.high))

    @property
    def likely_words(self) -> str:
        """Return the likely hours, "12.5"."""
        return f"{self.likely:g}"

    @property
    def in_hundred(self) -> str:
        """Return the luck as times in a hundred, "4" or "0.6"."""
        return f"{100 * self.chance:.1g}"


@dataclass(frozen=True)
class Holding:
    """How often the 8-in-10 figure held: ``held`` of ``cases``; ``cushion`` is the median of 80 % over likely."""

    cases: int
    held: int
    cushion: float

    @property
    def share(self) -> float:
        """Return the share that held, 0 without cases."""
        return self.held / self.cases if self.cases else 0.0

    @property
    def too_few(self) -> bool:
        """Tell whether there are too few cases to say anything."""
        return self.cases < HOLD_NEEDS

    @property
    def doubted(self) -> bool:
        """Tell whether the figures hold too seldom or too often to be left as they are."""
        return self.too_tight or self.too_wide

    @property
    def too_tight(self) -> bool:
        """Tell whether the figures hold too seldom to be trusted."""
        return self.cases >= HOLD_NEEDS and self.share < HOLD_LEAST

    @property
    def too_wide(self) -> bool:
        """Tell whether the figures hold so often that quotes are dearer than they need be."""
        return self.cases >= HOLD_NEEDS and self.share > HOLD_MOST


def one_sided_by_luck(above: int, below: int) -> float:
    """Return the chance of a split at least so uneven if either side were as likely: the exact two-sided sign test.

    Source: Dixon and Mood 1946, "The statistical sign test", JASA 41, 557–566.
    """
    cases = above + below
    if not cases:
        return 1.0
    tail = sum(math.comb(cases, k) for k in range(min(above, below) + 1))
    return min(1.0, 2 * tail / float(2**cases)) if cases <= 1000 else min(1.0, float(2 * tail // 2**cases))


def norm_proposal(*, norm: float, low: float, likely: float, high: float, ratios: Sequence[float]) -> Proposal | None:
    """Return a better norm, or None while the logs do not speak clearly against the old one.

    ``low``, ``likely``, ``high`` are what the learner expects (1, 5 and 9 in 10 stay under); ``ratios`` logged hours
    over norm, one for each log that counts. All hours of one unit.
    """
    above, below = sum(ratio > 1 for ratio in ratios), sum(ratio < 1 for ratio in ratios)
    chance = one_sided_by_luck(above, below)
    if len(ratios) < LEAST_LOGS or abs(likely / norm - 1) < LEAST_OFF or chance > CHANCE_MOST:
        return None
    if (likely > norm) != (above > below):
        return None
    least, middle, most = (rounded_norm(hours) for hours in (low, likely, high))
    if middle == norm:
        return None
    return Proposal(min(least, middle), middle, max(middle, most), above, below, chance)


def rounded_norm(hours: float) -> float:
    """Return hours as people write norms: to 0.05 below two hours, 0.1 below ten, else to the half hour."""
    step = 0.05 if hours < 2 else 0.1 if hours < 10 else 0.5
    return max(0.05, round(round(hours / step) * step, 2))


def holding(cases: Sequence[tuple[float, float, float]]) -> Holding:
    """Return how often figures held; each case is (hours in the end, likely said, 80 % figure said)."""
    cushions = [figure / likely for _, likely, figure in cases if likely > 0]
    return Holding(
        cases=len(cases),
        held=sum(hours <= figure for hours, _, figure in cases),
        cushion=median(cushions) if cushions else 1.0,
    )
