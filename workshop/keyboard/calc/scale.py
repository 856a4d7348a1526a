"""The figures beside a plot: few, round, and always the two limits."""

import math
from collections.abc import Sequence
from dataclasses import dataclass


def round_step(span: float, parts: int) -> float:
    """Return a step of 1, 2 or 5 times a power of ten that divides ``span`` into about ``parts`` parts."""
    raw = span / max(parts, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    return next(step * power for step in (1, 2, 5, 10) if raw <= step * power * 1.0001)


@dataclass(frozen=True)
class PlotScale:
    """From ``low`` at the foot of a plot to ``high`` at its top; ``figures`` are written beside it."""

    low: float
    high: float
    figures: tuple[float, ...]

    def part(self, value: float) -> float:
        """Return how far up the plot a value stands, 0 at the foot and 1 at the top."""
        return (value - self.low) / (self.high - self.low)


def _try(floor: float, roof: float, limits: Sequence[float], step: float, apart: float) -> PlotScale:
    """Return the scale with figures at multiples of ``step``; the roof rises to the next one if it is close."""
    above = math.ceil(roof / step - 1e-9) * step
    if above - roof <= 0.12 * (roof - floor) and all(
        abs(limit / step - round(limit / step)) < 1e-9 for limit in limits
    ):
        roof = above
    near = apart * (roof - floor)
    chosen = sorted(set(limits))
    for count in range(math.ceil(floor / step - 1e-9), math.floor(roof / step + 1e-9) + 1):
        figure = round(count * step, 10)
        if all(abs(figure - other) >= near for other in chosen):
            chosen.append(figure)
    return PlotScale(floor, roof, tuple(sorted(chosen)))


def plot_scale(values: Sequence[float], limits: Sequence[float], most: int = 5, apart: float = 0.13) -> PlotScale:
    """Return the scale for ``values`` with the ``limits`` of the range always among its figures.

    At most ``most`` figures, and no round figure nearer than ``apart`` (part of the plot's height) to
    another. Steps on which the limits themselves fall are preferred, then those with more figures. With
    neither values nor limits the scale runs from 0 to 1.
    """
    everything = [*values, *limits]
    if not everything:
        return PlotScale(0.0, 1.0, ())
    low, high = min(everything), max(everything)
    span = (high - low) or max(abs(high), 1.0) * 0.5
    floor = 0.0 if 0 <= low <= 0.25 * span else low - 0.08 * span
    roof = high + 0.13 * span
    best = PlotScale(floor, roof, tuple(sorted(set(limits))))
    best_merit = 0.0
    for parts in range(1, 8):
        step = round_step(roof - floor, parts)
        scale = _try(floor, roof, limits, step, apart)
        falls = bool(limits) and all(abs(limit / step - round(limit / step)) < 1e-9 for limit in limits)
        merit = len(scale.figures) + (1.5 if falls else 0.0)
        if len(scale.figures) <= most and merit > best_merit:
            best, best_merit = scale, merit
    return best
