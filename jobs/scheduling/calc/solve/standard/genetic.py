"""A genetic search on one thread: populations bred until they stop improving, then founded anew."""

from time import perf_counter

import numpy as np

from jobs.scheduling.calc.solve.standard.kernels import MUTATION, evolved, founded, justified
from jobs.scheduling.calc.solve.standard.network import Integers, Network
from jobs.scheduling.calc.solve.standard.standing import Standing

BATCH = 0.03
"""Seconds between two looks at the clock."""
PATIENCE = 60
"""A population is given up after so many children per member without a shorter schedule of its own; measured."""


def population_size(activities: int) -> int:
    """Members of a population: fewer when schedules are dear. Measured on the standard sets."""
    return int(np.clip(90_000 // max(activities, 1), 60, 750))


def first_schedule(network: Network) -> tuple[int, Integers]:
    """Makespan and starts of one schedule at once, by latest finish."""
    order = np.argsort(_latest(network), kind="stable")
    space = network.space()
    return int(justified(order, network.net, space)), space[1]


def _latest(network: Network) -> Integers:
    """Latest finish of each activity if the project took no longer than its longest chain."""
    latest: Integers = network.tails.max(initial=0) - network.tails + network.net[0]
    return latest


class Island:
    """One thread's population. ``run`` breeds until the standing is over and offers it every shorter schedule."""

    def __init__(self, network: Network, standing: Standing, seed: int) -> None:
        self.network, self.standing = network, standing
        self.space = network.space()
        self.random = np.array([0x9E3779B97F4A7C15 ^ seed * 0x2545F4914F6CDD1D & 0xFFFFFFFFFFFFFFFF], np.uint64)
        self.starts: Integers = np.zeros(network.numbers.size, np.int64)
        members = population_size(network.numbers.size)
        self.people: Integers = np.zeros((members, network.numbers.size), np.int64)
        self.lengths: Integers = np.zeros(members, np.int64)
        self.latest = _latest(network)
        self.batch = 1
        self.until: float | None = None
        self.schedules = 0

    def run(self, until: float | None = None) -> None:
        """Found and breed populations until the standing is over, or until a moment of the clock."""
        self.until = until
        while not self._over:
            self.generation()

    def generation(self) -> None:
        """Found one population and breed it until it stops improving."""
        self._breed(self._found())

    @property
    def _over(self) -> bool:
        return self.standing.over or (self.until is not None and perf_counter() >= self.until)

    def _found(self) -> int:
        best, done = _FAR, 0
        while done < self.lengths.size and not self._over:
            some = slice(done, done + max(1, self.batch))
            people, lengths = self.people[some], self.lengths[some]
            begun = perf_counter()
            better = founded(people, lengths, self.latest, self.network.net, self.space, self.starts, best, self.random)
            best = self._seen(begun, lengths.size, best, better)
            done += lengths.size
        self.lengths[done:] = _FAR
        self.people[done:] = self.people[0]
        return best

    def _breed(self, best: int) -> None:
        barren, most = 0, PATIENCE * self.lengths.size
        while barren < most and not self._over:
            begun, count = perf_counter(), self.batch
            better = evolved(
                self.people, self.lengths, self.network.net, self.space, count, MUTATION, self.starts, best, self.random
            )
            barren = 0 if better < best else barren + count
            best = self._seen(begun, count, best, better)

    def _seen(self, begun: float, count: int, best: int, better: int) -> int:
        """After a batch: offer what is shorter, and size the next batch by the time this one took."""
        self.schedules += 3 * count
        if better < best:
            self.standing.offer(int(better), self.starts)
        spent = perf_counter() - begun
        self.batch = int(np.clip(count * BATCH / max(spent, 1e-6), 1, 2 * count + 1))
        return int(better)


_FAR = int(np.iinfo(np.int64).max)
