"""A simulated shop, month by month: do the figures hold from the first month, and what do logs gain?

``python tests/bench/simulated_shop.py``. Five people, 40 kinds of work, 60 tasks a month; norms that are wrong by a
spread of 0.25, people by 0.08, jobs of ten tasks by 0.15, single tasks by 0.22 (all in the logarithm; invented). Each
line: how many of ten tasks stayed under their 8 in 10 figure, and the pinball loss of the likely and the 8 in 10 figure
against those of the norm alone (1 = no gain), over 40 shops.
"""

import math
import random

from jobs.estimating.calc.learner import Learner, Log

SHOPS, MONTHS, TASKS, KINDS, PEOPLE = 40, 12, 60, 40, 5
Z80 = 0.8416
FIRST_80 = math.exp(0.35 * Z80)


def loss(confidence: float, hours: float, figure: float) -> float:
    """Return the pinball loss on the logarithm of hours."""
    off = math.log(hours / figure)
    return max(confidence * off, (confidence - 1) * off)


def shop(seed: int, sums: list[list[float]]) -> None:
    """Run one shop through its months and add up, for each, tasks held and the four losses."""
    rng = random.Random(seed)
    wrong = [rng.gauss(0, 0.25) for _ in range(KINDS)]
    pace = [rng.gauss(0, 0.08) for _ in range(PEOPLE)]
    learner, ident = Learner(), 0
    for month in range(MONTHS):
        done = []
        for place in range(TASKS):
            if place % 10 == 0:
                shared = rng.gauss(0, 0.15)
            kind, person, norm = rng.randrange(KINDS), rng.randrange(PEOPLE), rng.uniform(0.5, 20)
            hours = norm * math.exp(wrong[kind] + pace[person] + shared + rng.gauss(0, 0.22))
            marks = {"kind": str(kind), "technician": str(person)}
            found = learner.forecast(norm=norm, today=30 * month, marks=marks)
            likely, figure = found.figure(0.5), found.figure(0.8)
            row = (hours <= figure, loss(0.5, hours, likely), loss(0.8, hours, figure), loss(0.5, hours, norm),
                   loss(0.8, hours, norm * FIRST_80))  # fmt: skip
            for column, value in enumerate(row):
                sums[month][column] += value
            ident += 1
            done.append(Log(ident, str(kind), str(person), norm, hours, 30 * month + 15))
        learner.add(done)


def main() -> None:
    """Print a line a month."""
    sums = [[0.0] * 5 for _ in range(MONTHS)]
    for seed in range(SHOPS):
        shop(seed, sums)
    for month, (held, likely, figure, norm, norm_80) in enumerate(sums, start=1):
        share = held / (SHOPS * TASKS)
        print(
            f"month {month:2d}  held {10 * share:4.1f} of 10"
            f"  likely {likely / norm:.2f}  8 in 10 {figure / norm_80:.2f}"
        )


if __name__ == "__main__":
    main()
