"""Hours of many tasks together: the sum, with the part of the uncertainty that all tasks of one job share.

Adding up the 80 % figures would hold far more often than eight times in ten; treating tasks as independent
holds too seldom, because a hard instrument is hard everywhere. So each sum has a spread of its own and a
shared one, ``TAU0``.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from jobs.estimating.calc.piles import pile_percentiles
from jobs.estimating.calc.task_hours import TaskHours

TAU0 = 0.20  # what all tasks of one job share, in the logarithm of hours; the workshop's judgement
LIFT = 0.25  # of a task's squared spread: how far its share of the likely sum lies above its likely figure
PRIOR_POINTS = 20  # normal points that stand for the experience still missing


@dataclass(frozen=True)
class Calibration:
    """How finished quotes correct new ones: what tasks of one job share, how many quotes count, against what.

    ``tau`` is a spread in ln of hours; ``last`` the number of finished quotes that count; ``prior_weight`` what the
    normal points weigh together, in quotes. ``lift`` is k of L = Σ h·exp(k·sg²): hours are skewed, so the middle of a
    sum lies above the sum of the middles, by ½ were it the mean.
    """

    tau: float = TAU0
    last: int = 60
    prior_weight: float = 20.0
    lift: float = LIFT


WORKSHOP = Calibration()


@dataclass(frozen=True)
class BundleHours:
    """Hours of a bundle of tasks.

    ``norm`` and ``sum_likely`` are plain sums; ``mean`` is L of the rule, ``own_spread`` the root of V (what
    the tasks have apart), ``spread`` s (with what they share). ``finished`` are the standardised outcomes of
    finished quotes, ``ln(total logged / L) / s``, newest last.
    """

    norm: float
    sum_likely: float
    mean: float
    own_spread: float
    spread: float
    finished: tuple[float, ...] = ()
    calibration: Calibration = WORKSHOP

    @property
    def likely(self) -> float:
        """Return the figure with even chances."""
        return self.figure(0.5)

    @property
    def figure_80(self) -> float:
        """Return the figure that holds eight times in ten."""
        return self.figure(0.8)

    def figure(self, confidence: float) -> float:
        """Return the hours that suffice with that chance, 0 to 1 apart. Raises ValueError outside."""
        if not 0 < confidence < 1:
            raise ValueError(f"A chance lies between 0 and 1, not at {confidence:g}.")
        return self.mean * math.exp(self.spread * _standing(self.finished, confidence, self.calibration))

    def outcome(self, logged_hours: float) -> float:
        """Return how a finished bundle turned out, ``ln(logged / L) / s``.

        Raises ValueError for an empty bundle or hours that are not above nought.
        """
        if not (logged_hours > 0 and self.mean > 0):
            raise ValueError("A finished bundle has tasks and logged hours above nought.")
        return math.log(logged_hours / self.mean) / self.spread


def bundle_hours(
    tasks: Iterable[TaskHours], *, finished: Sequence[float] = (), calibration: Calibration = WORKSHOP
) -> BundleHours:
    """Return the hours of a bundle of tasks; an empty bundle has none.

    For a task with median h and spread sg: L = Σ h·exp(lift·sg²), V = min(1, Σ h²(exp(sg²) − 1) / (Σ h)²),
    s = √(V + tau²); a figure is L·exp(s·u) with u from the finished quotes and normal points. The rule was
    tried on recorded task hours of other work; check figures stand in the tests (computed, no source).
    """
    tasks = list(tasks)
    total = math.fsum(task.likely for task in tasks)
    if not tasks:
        return BundleHours(0.0, 0.0, 0.0, 0.0, calibration.tau, tuple(finished), calibration)
    mean = math.fsum(task.likely * math.exp(calibration.lift * task.spread**2) for task in tasks)
    own = min(1.0, math.fsum(_variance(task.likely, task.spread) for task in tasks) / total**2)
    return BundleHours(
        norm=math.fsum(task.norm for task in tasks),
        sum_likely=total,
        mean=mean,
        own_spread=math.sqrt(own),
        spread=math.sqrt(own + calibration.tau**2),
        finished=tuple(finished),
        calibration=calibration,
    )


@dataclass(frozen=True)
class HoursBetween:
    """How many more hours the second scope takes than the first (fewer: negative).

    ``only_first`` and ``only_second`` are the likely hours that the scopes do not share; ``spread`` is one
    standard deviation in hours.
    """

    likely: float
    only_first: float
    only_second: float
    spread: float

    def figure(self, confidence: float) -> float:
        """Return the difference that is not exceeded with that chance, by the normal rule."""
        return self.likely + self.spread * NormalDist().inv_cdf(confidence)


def hours_between(first: Iterable[TaskHours], second: Iterable[TaskHours], *, tau: float = TAU0) -> HoursBetween:
    """Return the difference of two scopes of one instrument, told apart by the codes of their tasks.

    Tasks in both with the same hours cancel, with their uncertainty. A task whose hours differ counts with
    the difference alone, because it is the same work on the same instrument. What is left has its own spread
    and, times ``tau``, the share that all work on this instrument has. Raises ValueError when a scope holds
    the same code twice.
    """
    before, after = _by_code(first), _by_code(second)
    deltas: list[tuple[float, float]] = []
    for code in before.keys() | after.keys():
        old, new = before.get(code), after.get(code)
        spread = (new or old).spread  # type: ignore[union-attr]
        deltas.append(((new.likely if new else 0.0) - (old.likely if old else 0.0), spread))
    likely = math.fsum(delta * math.exp(LIFT * spread**2) for delta, spread in deltas)
    own = math.fsum(_variance(delta, spread) for delta, spread in deltas)
    return HoursBetween(
        likely=likely,
        only_first=math.fsum(task.likely for code, task in before.items() if code not in after),
        only_second=math.fsum(task.likely for code, task in after.items() if code not in before),
        spread=math.sqrt(own + (tau * likely) ** 2),
    )


def _standing(finished: Sequence[float], confidence: float, calibration: Calibration) -> float:
    if not finished:
        return NormalDist().inv_cdf(confidence)
    normal = [NormalDist().inv_cdf((i - 0.5) / PRIOR_POINTS) for i in range(1, PRIOR_POINTS + 1)]
    counting = finished[-calibration.last :]
    weights = [1.0] * len(counting) + [calibration.prior_weight / PRIOR_POINTS] * PRIOR_POINTS
    return float(pile_percentiles([*counting, *normal], weights, [confidence])[0])


def _variance(hours: float, spread: float) -> float:
    return float(hours**2 * math.expm1(spread**2))


def _by_code(tasks: Iterable[TaskHours]) -> dict[str, TaskHours]:
    found: dict[str, TaskHours] = {}
    for task in tasks:
        if task.code in found:
            raise ValueError(f"The scope holds “{task.code}” twice: add its hours up first.")
        found[task.code] = task
    return found
