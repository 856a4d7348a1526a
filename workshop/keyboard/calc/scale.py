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


def plot_scale(
    values: Sequence[float], limits: Sequence[float], most: int = 5, apart: float = 0.13
) -> PlotScale:
    """Return the scale for ``values`` with the ``limits`` of the range always among its figures.

    At most ``most`` figures, and no round figure nearer than ``apart`` (part of the plot's height) to another.
    With neither values nor limits the scale runs from 0 to 1.
    """
    everything = [*values, *limits]
    if not everything:
        return PlotScale(0.0, 1.0, ())
    low, high = min(everything), max(everything)
    span = (high - low) or max(abs(high), 1.0) * 0.5
    floor = 0.0 if 0 <= low <= 0.25 * span else low - 0.08 * span
    roof = high + 0.1 * span
    figures = sorted(set(limits))
    for parts in (4, 3, 2):
        step = round_step(roof - floor, parts)
        near = apart * (roof - floor)
        chosen = list(figures)
        for count in range(math.ceil(floor / step - 1e-9), math.floor(roof / step + 1e-9) + 1):
            figure = round(count * step, 10)
            if all(abs(figure - other) >= near for other in chosen):
                chosen.append(figure)
        if len(chosen) <= most:
            return PlotScale(floor, roof, tuple(sorted(chosen)))
    return PlotScale(floor, roof, tuple(figures[:most]))
