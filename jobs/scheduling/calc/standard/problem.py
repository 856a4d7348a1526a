"""The standard resource-constrained project: activities, their followers, and renewable resources."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

MOST_PERIODS = 2_000_000
"""Durations may add up to so many periods: the engine keeps what is free in each."""


class UnusableProject(ValueError):
    """The project contradicts itself; the sentence names the activity and what to change."""


@dataclass(frozen=True)
class StandardProject:
    """A single-mode project. Activities are numbered from 1 on, as in the files; times are whole periods.

    ``durations``: periods of each activity; ``demands``: for each activity, units of each resource it holds
    while it runs; ``followers``: numbers of the activities that start after its end; ``capacities``: units of
    each resource in every period.
    """

    name: str
    durations: tuple[int, ...]
    demands: tuple[tuple[int, ...], ...]
    followers: tuple[tuple[int, ...], ...]
    capacities: tuple[int, ...]

    @property
    def size(self) -> int:
        """Number of activities."""
        return len(self.durations)

    @cached_property
    def befores(self) -> tuple[tuple[int, ...], ...]:
        """For each activity the numbers of its direct predecessors."""
        found: list[list[int]] = [[] for _ in self.durations]
        for number, followers in enumerate(self.followers, 1):
            for follower in followers:
                found[follower - 1].append(number)
        return tuple(tuple(befores) for befores in found)

    @cached_property
    def order(self) -> tuple[int, ...]:
        """The numbers so that each comes after its predecessors. Raises UnusableProject for a circle."""
        missing = [len(befores) for befores in self.befores]
        ready = [number for number, count in enumerate(missing, 1) if not count]
        for number in ready:
            for follower in self.followers[number - 1]:
                missing[follower - 1] -= 1
                if not missing[follower - 1]:
                    ready.append(follower)
        if len(ready) < self.size:
            stuck = [str(number) for number, count in enumerate(missing, 1) if count]
            shown = ", ".join(stuck[:5]) + (f" and {len(stuck) - 5} more" if len(stuck) > 5 else "")
            raise UnusableProject(f"Activities {shown} wait for each other in a circle: take out one of the links.")
        return tuple(ready)


def check_project(project: StandardProject) -> None:
    """Raise UnusableProject unless the project can be scheduled at all."""
    for number, demands in enumerate(project.demands, 1):
        for resource, (demand, capacity) in enumerate(zip(demands, project.capacities, strict=True), 1):
            if demand > capacity and project.durations[number - 1] > 0:
                raise UnusableProject(
                    f"Activity {number} needs {demand} of resource {resource}, of which there are {capacity}: "
                    "lower the need or raise the capacity."
                )
    periods = sum(project.durations)
    if periods > MOST_PERIODS:
        raise UnusableProject(
            f"The durations add up to {periods} periods, more than {MOST_PERIODS}: give them in a larger unit."
        )
    _ = project.order


def broken_rules(project: StandardProject, starts: Sequence[int]) -> list[str]:
    """Every rule a schedule breaks, as sentences; empty when it may be shown.

    ``starts``: first period of each activity, in the order of the numbers. Written without the engine: it
    adds up each resource over the periods as they are.
    """
    if len(starts) != project.size:
        return [f"The schedule has {len(starts)} starts for {project.size} activities."]
    ends = [start + length for start, length in zip(starts, project.durations, strict=True)]
    broken = [f"Activity {number} starts before the beginning." for number, start in enumerate(starts, 1) if start < 0]
    for number, followers in enumerate(project.followers, 1):
        broken += [
            f"Activity {follower} starts at {starts[follower - 1]}, before {number} ends at {ends[number - 1]}."
            for follower in followers
            if starts[follower - 1] < ends[number - 1]
        ]
    for resource, capacity in enumerate(project.capacities):
        steps: dict[int, int] = {}
        for start, end, demands in zip(starts, ends, project.demands, strict=True):
            if end > start:
                steps[start] = steps.get(start, 0) + demands[resource]
                steps[end] = steps.get(end, 0) - demands[resource]
        used = 0
        for period in sorted(steps):
            used += steps[period]
            if used > capacity:
                broken.append(f"In period {period} resource {resource + 1} is used {used} times; there are {capacity}.")
    return broken


def makespan(project: StandardProject, starts: Sequence[int]) -> int:
    """End of the last activity, in periods."""
    return max((start + length for start, length in zip(starts, project.durations, strict=True)), default=0)
