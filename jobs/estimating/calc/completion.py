"""What a job will take in the end, given what it has shown so far."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from jobs.estimating.calc.bundle import TAU0, bundle_hours
from jobs.estimating.calc.task_hours import TaskHours

LEAST_LEFT = 0.1  # of a task's likely hours, while it is still open however long it has taken; our judgement
SURE = 0.005  # a spread below which the end is as good as known
CLIP = 2.0  # reach of the limits for entries far off, as in the learner: twice as far as the 10th percentile
Z90 = NormalDist().inv_cdf(0.9)


@dataclass(frozen=True)
class TaskSoFar:
    """One task: the hours expected of it, those logged on it, whether it is done.

    ``said_left``: hours still to work as its technician last put it, if at all.
    """

    hours: TaskHours
    logged: float
    done: bool
    said_left: float | None = None


@dataclass(frozen=True)
class Completion:
    """Hours of a job in the end.

    ``used``: logged, or likely where a closed task has no hours. ``pace``: how this job runs against its figures so
    far, 1.1 for a tenth longer. ``to_finish`` is the middle of what is still to do, ``spread`` that of its logarithm.
    """

    used: float
    to_finish: float
    spread: float
    pace: float

    @property
    def likely(self) -> float:
        """Return the likely hours in the end."""
        return self.used + self.to_finish

    def figure(self, confidence: float) -> float:
        """Return the hours in the end that suffice with that chance. Raises ValueError outside 0 to 1."""
        return self.used + self.to_finish * math.exp(self.spread * NormalDist().inv_cdf(confidence))

    def chance_over(self, hours: float) -> float:
        """Return the chance of passing so many hours in the end, 0 to 1."""
        left = hours - self.used
        if left <= 0:
            return 1.0 if self.to_finish > 0 or left < 0 else 0.0
        if self.to_finish <= 0:
            return 0.0
        if self.spread < SURE:
            return float(self.to_finish > left)
        return 1 - NormalDist().cdf(math.log(left / self.to_finish) / self.spread)


def completion(tasks: Sequence[TaskSoFar], *, finished: Sequence[float] = (), tau: float = TAU0) -> Completion:
    """Return where a job ends, from its closed tasks and those still open.

    What all tasks of a job share is normal with spread ``tau`` in the logarithm around m, where finished quotes put it
    (``finished``, as in ``bundle_hours``). The closed tasks together have shown r = ln(Σ logged / L) with the spread v
    they have apart, so the open ones are expected at exp((r·tau² + m·v²)/(tau² + v²)) times their figures, with the
    spread that leaves (the conjugate normal update, e.g. Gelman et al., Bayesian Data Analysis, 2.5). In r a task far
    off its own figures counts at a limit, as a log does in the learner: one mistyped entry moves no pace. An
    open task needs what its technician last said, else its likely hours less what is logged, and never less than a
    tenth of them. A closed task without hours counts at its likely ones: somebody did it.
    """
    return _ending(tasks, *_shown(tasks, finished, tau))


def completion_in_parts(
    parts: Mapping[str, Sequence[TaskSoFar]], *, finished: Sequence[float] = (), tau: float = TAU0
) -> dict[str, Completion]:
    """Return where each part of a job ends, its stages say, at the pace of the whole job.

    Hours used and to finish of the parts add up to those ``completion`` gives for all tasks together.
    """
    shown = _shown([task for tasks in parts.values() for task in tasks], finished, tau)
    return {name: _ending(tasks, *shown) for name, tasks in parts.items()}


def task_end(task: TaskSoFar, pace: float) -> float:
    """Return the hours one task will have taken in the end, at the pace of its job (``Completion.pace``)."""
    return _ending([task], math.log(pace), 0.0).likely


def _shown(tasks: Sequence[TaskSoFar], finished: Sequence[float], tau: float) -> tuple[float, float]:
    """Return what a job has shown of what its tasks share: the middle of its logarithm, and the variance left."""
    if not tasks:
        return 0.0, tau**2
    whole = bundle_hours((task.hours for task in tasks), finished=finished)
    shown, left_over = math.log(whole.likely / whole.mean), tau**2
    closed = [task for task in tasks if task.done and task.logged > 0]
    if closed:
        bundle = bundle_hours(task.hours for task in closed)
        own = bundle.own_spread**2
        r = math.log(math.fsum(_held(task, shown, tau) for task in closed) / bundle.mean)
        shown, left_over = (r * tau**2 + shown * own) / (tau**2 + own), tau**2 * own / (tau**2 + own)
    return shown, left_over


def _held(task: TaskSoFar, middle: float, tau: float) -> float:
    """Return the hours a closed task counts with: its own, or the limit they lie beyond."""
    reach = CLIP * Z90 * math.hypot(task.hours.spread, tau)
    expected = task.hours.likely * math.exp(middle)
    return min(max(task.logged, expected * math.exp(-reach)), expected * math.exp(reach))


def _ending(tasks: Sequence[TaskSoFar], shown: float, left_over: float) -> Completion:
    used = math.fsum(task.hours.likely if task.done and not task.logged else task.logged for task in tasks)
    pace = math.exp(shown)
    said = 0.0
    open_tasks: list[TaskHours] = []
    for task in tasks:
        if task.done:
            continue
        if task.said_left is not None:
            said += task.said_left
            continue
        left = max(task.hours.likely * pace - task.logged, LEAST_LEFT * task.hours.likely)
        open_tasks.append(TaskHours(left, left, left * task.hours.figure_80 / task.hours.likely))
    rest = bundle_hours(open_tasks)
    open_hours = rest.sum_likely + said
    if open_hours <= 0:
        return Completion(used, 0.0, 0.0, pace)
    # what a technician has said counts as known; the rest carries the uncertainty of both kinds
    spread = math.sqrt(rest.own_spread**2 + left_over) * rest.sum_likely / open_hours
    return Completion(used, rest.mean + said, spread, pace)
