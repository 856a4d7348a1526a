"""The two engines together on one project: what starts when, and what it is stopped by."""

from dataclasses import dataclass
from threading import Thread
from time import perf_counter

import numpy as np

from jobs.scheduling.calc.solve.standard.exact import Exact
from jobs.scheduling.calc.solve.standard.genetic import Island, first_schedule
from jobs.scheduling.calc.solve.standard.network import Network, network
from jobs.scheduling.calc.solve.standard.standing import Standing
from jobs.scheduling.calc.standard.problem import StandardProject, broken_rules, makespan

EXACT_BESIDE = 90
"""Up to so many activities the exact solver has a core to itself; above, it is asked once the search has run."""
ALONE = 0.05
"""Share of the seconds the search has to itself before the exact solver starts from its schedule."""
EXACT_MOST = 3000
"""Above so many activities a constraint model is not built: it would not answer in any time worth waiting for."""
EXACT_LAST = 0.7
"""Share of the seconds after which a large project's second core passes from search to the exact solver."""


class WrongSchedule(RuntimeError):
    """The engine's schedule breaks a rule: a mistake of ours, never shown as an answer."""


@dataclass(frozen=True)
class StandardResult:
    """The best schedule found: starts by activity number, its makespan and the best bound, in periods."""

    starts: tuple[int, ...]
    makespan: int
    bound: int
    seconds: float

    @property
    def proved(self) -> bool:
        """Whether no schedule can be shorter."""
        return self.makespan == self.bound


def solve_project(project: StandardProject, seconds: float, *, seed: int = 1) -> StandardResult:
    """The shortest schedule found within ``seconds``, checked. Two threads work; a proof ends them early.

    Raises WrongSchedule if what was found breaks a rule.
    """
    begun = perf_counter()
    arrays = network(project)
    standing = Standing(*first_schedule(arrays), lower_bound(project, arrays), seconds)
    if not standing.over:
        _share(project, arrays, standing, seed)
    starts = arrays.starts_by_number(standing.starts)
    broken = broken_rules(project, starts)
    if broken or makespan(project, starts) != standing.best:
        raise WrongSchedule(" ".join(broken[:3]) or "The makespan is not the end of the last activity.")
    return StandardResult(tuple(starts), standing.best, min(standing.bound, standing.best), perf_counter() - begun)


def _share(project: StandardProject, arrays: Network, standing: Standing, seed: int) -> None:
    """One thread searches throughout; the other searches first, then proves."""
    beside = Thread(target=Island(arrays, standing, seed).run)
    beside.start()
    share = ALONE if project.size <= EXACT_BESIDE else EXACT_LAST if project.size <= EXACT_MOST else 1.0
    Island(arrays, standing, seed + 1).run(until=standing.begun + share * (standing.deadline - standing.begun))
    if not standing.over and project.size <= EXACT_MOST:
        Exact(project, arrays, standing).run(workers=1, seed=seed)
    beside.join()


def warm_up() -> None:
    """Compile the loops, or fetch them from the cache, so that no project's seconds are spent on it."""
    project = StandardProject("warm", (0, 1, 1, 0), ((0,), (1,), (1,), (0,)), ((2, 3), (4,), (4,), ()), (1,))
    arrays = network(project)
    Island(arrays, Standing(*first_schedule(arrays), bound=0, seconds=60.0), 1).generation()


def lower_bound(project: StandardProject, arrays: Network) -> int:
    """Periods no schedule can beat: the longest chain, or a resource's whole work over its capacity."""
    longest = int(arrays.tails.max(initial=0))
    durations = np.array(project.durations, np.int64)
    for resource, capacity in enumerate(project.capacities):
        demands = np.array([demands[resource] for demands in project.demands], np.int64)
        if capacity:
            longest = max(longest, -(-int((demands * durations).sum()) // capacity))
    return longest
