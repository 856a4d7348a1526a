"""A project as packed arrays for the compiled loops, renumbered so that predecessors come first."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from jobs.scheduling.calc.standard.problem import StandardProject

Integers = NDArray[np.int64]
WORD_BITS = 64


@dataclass(frozen=True)
class Network:
    """What the kernels read. ``numbers``: for each new index the activity's number in the project.

    ``tails``: periods from an activity's start to the end of the project at the least; ``heads``: earliest
    start, both without resources.
    """

    numbers: Integers
    heads: Integers
    tails: Integers
    net: tuple[Any, ...]
    horizon: int

    def space(self) -> tuple[Any, ...]:
        """Fresh working arrays for one thread."""
        full, size = self.net[8], self.numbers.size
        free = np.tile(full, (self.horizon + 1, 1))
        return free, np.zeros(size, np.int64), np.zeros(size, np.int64), np.zeros(self.horizon + 3, np.int64)

    def starts_by_number(self, starts: Integers) -> list[int]:
        """Starts in the order of the project's own numbers."""
        found = [0] * self.numbers.size
        for number, start in zip(self.numbers, starts, strict=True):
            found[int(number) - 1] = int(start)
        return found


def network(project: StandardProject) -> Network:
    """The arrays of a checked project."""
    numbers = np.array(project.order, np.int64)
    index = {int(number): place for place, number in enumerate(numbers)}
    durations = np.array([project.durations[number - 1] for number in numbers], np.int64)
    befores = [sorted(index[before] for before in project.befores[number - 1]) for number in numbers]
    last = numbers.size - 1
    followers = [sorted(last - index[after] for after in project.followers[number - 1]) for number in numbers]
    needs, full, guard = _packed(project, numbers)
    net = (
        durations,
        needs,
        *_links(befores),
        durations[::-1].copy(),
        needs[::-1].copy(),
        *_links(followers[::-1]),
        full,
        guard,
    )
    heads, tails = _heads_and_tails(durations, befores)
    return Network(numbers, heads, tails, net, int(durations.sum()))


def _links(lists: list[list[int]]) -> tuple[Integers, Integers]:
    first = np.zeros(len(lists) + 1, np.int64)
    first[1:] = np.cumsum([len(one) for one in lists])
    return first, np.array([link for one in lists for link in one], np.int64)


def _packed(project: StandardProject, numbers: Integers) -> tuple[NDArray[np.uint64], ...]:
    """Demands, capacities and guard bits, as many resources to a word as fit."""
    bits = max((capacity.bit_length() for capacity in project.capacities), default=0) + 1
    per_word = WORD_BITS // bits
    words = max(1, -(-len(project.capacities) // per_word))
    needs = np.zeros((numbers.size, words), np.uint64)
    full, guard = np.zeros(words, np.uint64), np.zeros(words, np.uint64)
    for resource, capacity in enumerate(project.capacities):
        word, shift = resource // per_word, resource % per_word * bits
        full[word] |= np.uint64(capacity << shift)
        guard[word] |= np.uint64(1 << (shift + bits - 1))
        for place, number in enumerate(numbers):
            if project.durations[number - 1]:
                needs[place, word] |= np.uint64(project.demands[number - 1][resource] << shift)
    return needs, full, guard


def _heads_and_tails(durations: Integers, befores: list[list[int]]) -> tuple[Integers, Integers]:
    heads, tails = np.zeros_like(durations), durations.copy()
    for place, links in enumerate(befores):
        heads[place] = max((heads[before] + durations[before] for before in links), default=0)
    for place in range(durations.size - 1, -1, -1):
        for before in befores[place]:
            tails[before] = max(tails[before], durations[before] + tails[place])
    return heads, tails
