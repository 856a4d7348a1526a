"""What the threads working on one project know together: the best schedule, the best bound, and when to stop."""

from collections.abc import Callable
from threading import Lock
from time import perf_counter

from jobs.scheduling.calc.solve.standard.network import Integers


class Standing:
    """Best makespan with its starts, best lower bound, and the deadline, ``seconds`` from now.

    ``offer`` and ``raise_bound`` may be called from any thread; ``on_proof`` is called when the two meet. The
    first schedule is given, so that there is always an answer.
    """

    def __init__(self, makespan: int, starts: Integers, bound: int, seconds: float) -> None:
        self.best, self.starts, self.bound = makespan, starts.copy(), bound
        self.begun = perf_counter()
        self.deadline = self.begun + seconds
        self.on_proof: Callable[[], None] | None = None
        self._lock = Lock()

    def offer(self, makespan: int, starts: Integers) -> None:
        """A schedule has been found; it is kept if it is shorter than the best."""
        with self._lock:
            if makespan < self.best:
                self.best, self.starts = makespan, starts.copy()
        self._tell()

    def raise_bound(self, bound: int) -> None:
        """No schedule can be shorter than this."""
        with self._lock:
            self.bound = max(self.bound, bound)
        self._tell()

    def _tell(self) -> None:
        if self.proved and self.on_proof is not None:
            self.on_proof()

    @property
    def proved(self) -> bool:
        """Whether the best schedule is as short as any can be."""
        return self.best <= self.bound

    @property
    def seconds_left(self) -> float:
        """Seconds to the deadline, not below nought."""
        return max(0.0, self.deadline - perf_counter())

    @property
    def over(self) -> bool:
        """Whether there is nothing left to do, or no time."""
        return self.proved or perf_counter() >= self.deadline
