"""Hours of one task: the likely figure and the one that holds eight times in ten."""

import math
from dataclasses import dataclass
from statistics import NormalDist

SIGMA0 = 0.35  # spread of the logarithm of hours over norm before anything is logged; the workshop's judgement
SPREAD_LEAST, SPREAD_MOST = 0.05, 1.5
Z80 = NormalDist().inv_cdf(0.8)  # 0.8416


@dataclass(frozen=True)
class TaskHours:
    """Hours of one task: its norm, the likely figure (median) and the 80 % figure.

    ``code`` names the operation, so that two scopes can be compared task by task. The evidence: ``logs`` finished
    tasks of this kind of work, of the technician alone where ``own``, the shortest and longest of them in hours of
    this task's size.
    """

    norm: float
    likely: float
    figure_80: float
    code: str = ""
    logs: int = 0
    least: float | None = None
    most: float | None = None
    own: bool = False

    @property
    def spread(self) -> float:
        """Return the spread of the logarithm, ``ln(80 % / likely) / z(0.8)``, held between 0.05 and 1.5."""
        return min(SPREAD_MOST, max(SPREAD_LEAST, math.log(self.figure_80 / self.likely) / Z80))


def task_hours_from_norm(
    likely: float, *, low: float | None = None, high: float | None = None, code: str = ""
) -> TaskHours:
    """Return the hours of a task of which nothing is logged: ``80 % = norm · exp(0.35 · z(0.8))``.

    ``low`` and ``high`` are the ends of the norm; they are checked for order and decide nothing, because the
    spread of real work around a norm is learned from logs, not from what was thought possible.
    Raises ValueError for hours that are not above nought or not in rising order.
    """
    least = likely if low is None else low
    most = likely if high is None else high
    if not 0 < least <= likely <= most or not math.isfinite(most):
        raise ValueError(
            f"A norm needs hours above nought in rising order; low {least:g}, likely {likely:g}, high {most:g} are not."
        )
    return TaskHours(likely, likely, likely * math.exp(SIGMA0 * Z80), code)
