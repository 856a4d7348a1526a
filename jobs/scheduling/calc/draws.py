"""What is drawn for each future: the hours of every operation, and how late its parts come.

The hours of an operation are its hours in the problem, which are the figure with even chances, times
``exp(spread · z + tau · z_job)``: ``z`` is its own, ``z_job`` shared by all operations of its job, because a hard
instrument is hard everywhere. The plan's hours are rounded up to whole slots already; what is drawn from them is
rounded to the nearest, one slot a session at least, so that rounding counts once. Every second future mirrors the one
before (−z for z, 1 − u for u), so that fewer are needed. Draws are made operation by operation: work added at the end
of a problem changes nothing for what was there before, and two plans can be compared future by future.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from statistics import NormalDist
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

Z80 = NormalDist().inv_cdf(0.8)
SPREAD_LEAST, SPREAD_MOST = 0.05, 1.5


@dataclass(frozen=True, slots=True)
class PartDelays:
    """How late a delivery is against the day it is expected, in working days of the shop; our judgement.

    On time (or sooner, which counts the same) with the chance ``on_time``; else late by an exponential time with
    the mean ``mean_days``, rounded up to whole days.
    """

    on_time: float = 0.7
    mean_days: float = 5.0


@dataclass(frozen=True)
class Uncertainty:
    """What is not known of the work in a problem.

    ``spreads``: operation → standard deviation of the logarithm of its hours (``hours_spread``); what is not named
    takes its hours exactly. ``parts``: operation → name of the delivery its parts come with; operations of one
    delivery wait for it together, and their ``not_before`` is the day it is expected. ``tau``: what all operations of
    one job share, in the logarithm of hours.
    """

    spreads: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    parts: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    tau: float = 0.0
    delays: PartDelays = PartDelays()


def hours_spread(likely: float, figure_80: float) -> float:
    """Standard deviation of the logarithm of hours from the figures that hold 5 and 8 times in 10.

    ``ln(80 % / likely) / 0.8416``, held between 0.05 and 1.5. Raises ValueError for hours that are not above nought.
    """
    if not (likely > 0 and figure_80 > 0):
        raise ValueError(f"Hours are above nought; {likely:g} and {figure_80:g} are not.")
    return min(SPREAD_MOST, max(SPREAD_LEAST, math.log(figure_80 / likely) / Z80))


def slots_drawn(
    left: Sequence[int],
    least: Sequence[int],
    job_of: Sequence[int],
    spreads: Sequence[float],
    tau: float,
    number: int,
    seed: int,
) -> NDArray[np.int32]:
    """Slots [future, operation] still to be worked, for ``number`` futures (even).

    ``left``: slots with even chances; ``least``: the fewest slots, one a session; ``job_of``: the job's number.
    """
    own, shared = (np.random.default_rng(one) for one in np.random.SeedSequence(seed).spawn(2))
    half, jobs = number // 2, max(job_of, default=-1) + 1
    z = own.standard_normal((len(left), half), dtype=np.float32)
    z *= np.array(spreads, dtype=np.float32)[:, None]
    z += tau * shared.standard_normal((jobs, half), dtype=np.float32)[np.array(job_of, dtype=np.int64)]
    half_slots = np.array(left, dtype=np.float32)[:, None]
    drawn = np.empty((number, len(left)), dtype=np.int32)
    drawn[0::2] = np.rint(half_slots * np.exp(z)).T
    drawn[1::2] = np.rint(half_slots * np.exp(-z)).T
    return np.maximum(drawn, np.array(least, dtype=np.int32))


def days_late(deliveries: int, delays: PartDelays, number: int, seed: int) -> NDArray[np.int32]:
    """Working days [future, delivery] by which each delivery is late, for ``number`` futures (even)."""
    generator = np.random.default_rng(np.random.SeedSequence(seed).spawn(3)[2])
    u = generator.random((deliveries, number // 2)).T
    late = np.empty((number, deliveries), dtype=np.int32)
    for first, share in ((0, u), (1, 1 - u)):
        beyond = np.maximum(share - delays.on_time, 0.0) / max(1e-12, 1 - delays.on_time)
        late[first::2] = np.ceil(-delays.mean_days * np.log1p(-np.minimum(beyond, 1 - 1e-9)))
    return late
