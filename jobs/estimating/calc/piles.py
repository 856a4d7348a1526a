"""Piles of outcomes: weighted points of ``ln(logged hours / norm)``, and their percentiles."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

Numbers = npt.NDArray[np.float64]

PARTS = 40  # percentiles by which one pile stands for itself in the next
MIDDLES: Numbers = (np.arange(1, PARTS + 1) - 0.5) / PARTS  # 1.25 %, 3.75 %, …
NORMAL_MIDDLES: Numbers = np.array([NormalDist().inv_cdf(float(middle)) for middle in MIDDLES])


def sorted_percentiles(values: Numbers, weights: Numbers, confidences: Numbers | Sequence[float]) -> Numbers:
    """Return percentiles of weighted points that are sorted by value already, by the mid-point rule.

    The points stand at c_i = (w_1 + … + w_(i−1) + w_i/2) / Σw; between them straight lines, the end values
    outside. For equal weights this is Hazen's plotting position, (i − 0.5)/n.
    """
    places = np.cumsum(weights)
    total = places[-1]
    return np.interp(confidences, (places - weights / 2) / total, values)


def pile_percentiles(
    values: Sequence[float] | Numbers, weights: Sequence[float] | Numbers, confidences: Sequence[float]
) -> Numbers:
    """Return percentiles of weighted points in any order. Raises ValueError for no points or a weight ≤ 0."""
    points = np.asarray(values, dtype=np.float64)
    weighing = np.asarray(weights, dtype=np.float64)
    if not points.size or not bool(np.all(weighing > 0)):
        raise ValueError("A percentile needs points with weights above nought.")
    order = np.lexsort((weighing, points))
    return sorted_percentiles(points[order], weighing[order], confidences)


def merged(values: Numbers, weights: Numbers, more: Numbers, weight_each: float) -> tuple[Numbers, Numbers]:
    """Return two sorted piles as one; every point of the second has the same weight."""
    both = np.concatenate((values, more))
    weighing = np.concatenate((weights, np.full(more.size, weight_each)))
    order = np.argsort(both, kind="stable")
    return both[order], weighing[order]


@dataclass(frozen=True)
class Pile:
    """Outcomes of one kind, sorted: what was measured, on which day, for which size of norm.

    ``values`` in ln, ``days`` as ordinals, ``sizes`` as ln of the norm's hours, ``groups`` as numbers of what each
    is told apart by; all of one length.
    """

    values: Numbers
    days: Numbers
    sizes: Numbers
    groups: npt.NDArray[np.intp]

    def __len__(self) -> int:
        return int(self.values.size)

    def added(self, more: "Pile") -> "Pile":
        """Return a pile with the outcomes of another put into their places."""
        values = np.concatenate((self.values, more.values))
        days = np.concatenate((self.days, more.days))
        order = np.lexsort((days, values))  # days second, so that the order of arrival decides nothing
        sizes, groups = np.concatenate((self.sizes, more.sizes)), np.concatenate((self.groups, more.groups))
        return Pile(values[order], days[order], sizes[order], groups[order])

    def weights(self, today: int, half_life: float, size: float, width: float | None) -> Numbers:
        """Return what each outcome weighs on a day: half after a half-life, and less the further its size is off.

        ``width`` is in ln of hours: at that distance from ``size`` an outcome counts exp(−1/2); None for all alike.
        """
        weights: Numbers = np.exp2(-np.maximum(0.0, today - self.days) / half_life)
        if width is not None:
            weights = weights * np.exp(-0.5 * ((self.sizes - size) / width) ** 2)
        return weights


NO_PILE = Pile(np.empty(0), np.empty(0), np.empty(0), np.empty(0, dtype=np.intp))


def clip_limits(a: float, m: float, b: float, clip: float, least: float) -> tuple[float, float]:
    """Return the limits beyond which an outcome counts at the limit: m − clip·(m − a) and m + clip·(b − m).

    a, m, b: 10th, 50th, 90th percentile of the pile above. ``least`` keeps a pile of equal outcomes from pressing
    every later one onto itself.
    """
    return m - clip * max(m - a, least), m + clip * max(b - m, least)
