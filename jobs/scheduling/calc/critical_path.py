"""The critical path method: earliest and latest times, floats, and the chance of a date from three estimates.

Forward and backward pass over finish-to-start links, as in any handbook of project management; the
three-point estimate is that of PERT (Malcolm, Roseboom, Clark and Fazar, Operations Research 7, 1959; from
memory). People and places are left out: it says how fast a job could go alone, and which tasks have room.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

from jobs.scheduling.calc.problem import Problem

CLOSE = 1e-9


@dataclass(frozen=True, slots=True)
class Activity:
    """One task, in any one unit of time. ``lag`` passes after its end before a follower starts."""

    id: str
    duration: float
    after: tuple[str, ...] = ()
    lag: float = 0.0
    variance: float = 0.0


@dataclass(frozen=True, slots=True)
class Times:
    """Earliest and latest start and finish of one activity, in the unit of its duration."""

    earliest_start: float
    earliest_finish: float
    latest_start: float
    latest_finish: float
    free_float: float

    @property
    def total_float(self) -> float:
        """How much it may slip without moving the end."""
        return self.latest_start - self.earliest_start

    @property
    def critical(self) -> bool:
        """Whether any slip moves the end."""
        return self.total_float < CLOSE


@dataclass(frozen=True, slots=True)
class CriticalPath:
    """The network worked out: its duration and the times of each activity, in the order they were given."""

    duration: float
    times: dict[str, Times]
    activities: tuple[Activity, ...]

    @property
    def critical(self) -> tuple[str, ...]:
        """Ids of the activities without float."""
        return tuple(key for key, times in self.times.items() if times.critical)

    @property
    def variance(self) -> float:
        """Sum of the variances along the longest chain; the widest if several are longest."""
        widest: dict[str, float] = {}
        for activity in _in_order(self.activities):
            befores = [key for key in activity.after if self._binds(key, activity.id)]
            widest[activity.id] = activity.variance + max((widest[key] for key in befores), default=0.0)
        ends = (key for key in self.critical if abs(self.times[key].earliest_finish - self.duration) < CLOSE)
        return max((widest[key] for key in ends), default=0.0)

    def _binds(self, before: str, key: str) -> bool:
        if not (self.times[before].critical and self.times[key].critical):
            return False
        lag = next(activity.lag for activity in self.activities if activity.id == before)
        return abs(self.times[before].earliest_finish + lag - self.times[key].earliest_start) < CLOSE

    def chance_within(self, limit: float) -> float:
        """Chance (0 to 1) to end within ``limit``, taking the critical chain as normally distributed.

        Optimistic by construction: other chains that may turn out longer are not counted.
        """
        if self.variance <= 0:
            return 1.0 if limit >= self.duration else 0.0
        return NormalDist(self.duration, sqrt(self.variance)).cdf(limit)


def critical_path(activities: Iterable[Activity]) -> CriticalPath:
    """Forward and backward pass. Raises ValueError for an unknown or circular predecessor.

    A trailing lag does not count for the end of the network.
    """
    given = tuple(activities)
    order = _in_order(given)
    by_id = {activity.id: activity for activity in given}
    start: dict[str, float] = {}
    for activity in order:
        start[activity.id] = max(
            (start[key] + by_id[key].duration + by_id[key].lag for key in activity.after), default=0.0
        )
    duration = max((start[key] + by_id[key].duration for key in start), default=0.0)
    latest = {activity.id: duration for activity in given}
    slack = {activity.id: duration - start[activity.id] - activity.duration for activity in given}
    for activity in reversed(order):
        for key in activity.after:
            before = by_id[key]
            latest[key] = min(latest[key], latest[activity.id] - activity.duration - before.lag)
            room = start[activity.id] - start[key] - before.duration - before.lag
            slack[key] = min(slack[key], room)
    times = {
        activity.id: Times(
            start[activity.id],
            start[activity.id] + activity.duration,
            latest[activity.id] - activity.duration,
            latest[activity.id],
            slack[activity.id],
        )
        for activity in given
    }
    return CriticalPath(duration, times, given)


def _in_order(activities: Sequence[Activity]) -> list[Activity]:
    """Activities so that each comes after its predecessors."""
    by_id = {activity.id: activity for activity in activities}
    for activity in activities:
        for key in activity.after:
            if key not in by_id:
                raise ValueError(f"{activity.id} comes after {key}, which is not in the network.")
    done: dict[str, Activity] = {}
    waiting = list(activities)
    while waiting:
        ready = [activity for activity in waiting if all(key in done for key in activity.after)]
        if not ready:
            raise ValueError(f"{', '.join(activity.id for activity in waiting)} wait for each other in a circle.")
        done.update((activity.id, activity) for activity in ready)
        waiting = [activity for activity in waiting if activity.id not in done]
    return list(done.values())


def three_point(optimistic: float, likely: float, pessimistic: float) -> tuple[float, float]:
    """PERT mean (a + 4m + b) / 6 and variance ((b − a) / 6)². Raises ValueError unless a ≤ m ≤ b."""
    if not optimistic <= likely <= pessimistic:
        raise ValueError(f"{optimistic:g}, {likely:g}, {pessimistic:g} do not rise from best to worst.")
    return (optimistic + 4 * likely + pessimistic) / 6, ((pessimistic - optimistic) / 6) ** 2


def job_alone(problem: Problem, job_id: str) -> CriticalPath:
    """The job's own network in clock hours, as if people and places were always free.

    Shop hours are spread evenly over the week (a day of 8 hours, five days a week: × 4.2), so it is a rough
    length, not a date. Links to other jobs are left out.
    """
    spread = 7 * 24 * 60 / (len(set(problem.workdays)) * problem.day_minutes)
    own = [operation for operation in problem.operations if operation.job == job_id]
    ids = {operation.id for operation in own}
    return critical_path(
        Activity(
            operation.id,
            operation.hours * spread,
            tuple(key for key in operation.after if key in ids),
            operation.wait_hours,
        )
        for operation in own
    )
