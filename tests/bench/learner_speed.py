"""How long the learner takes for a quote of 100 tasks in a shop with 20,000 logs.

``python tests/bench/learner_speed.py``. Aim: 50 ms for the quote, with nothing asked before on that day.
Run by hand; figures depend on the machine.
"""

import math
import random
import time

from jobs.estimating.calc.learner import Learner, Log

TODAY, LOGS, TASKS = 20_000, 20_000, 100


def _logs(rng: random.Random) -> list[Log]:
    kinds, people = [f"kind {i}" for i in range(110)], [f"person {i}" for i in range(8)]
    found = []
    for i in range(LOGS):
        norm = rng.uniform(0.5, 60)
        found.append(
            Log(
                i, rng.choice(kinds), rng.choice(people), norm, norm * math.exp(rng.gauss(0.05, 0.35)), TODAY - i % 1500
            )
        )
    return found


def _milliseconds(start: float) -> float:
    return (time.perf_counter() - start) * 1000


def main() -> None:
    """Print three times: taking in all logs, one quote, one more log with the quote again."""
    rng = random.Random(5)
    logs = _logs(rng)
    start = time.perf_counter()
    learner = Learner(logs=logs[:-1])
    print(f"{LOGS} logs taken in: {_milliseconds(start):.0f} ms")
    for name in ("a quote, nothing asked before", "one more log, then the quote"):
        start = time.perf_counter()
        if name.startswith("one more"):
            learner.add(logs[-1:])
        for i in range(TASKS):
            marks = {"kind": f"kind {i}", "technician": f"person {i % 8}"}
            forecast = learner.forecast(norm=10, today=TODAY, marks=marks)
            forecast.figure(0.5), forecast.figure(0.8)
        print(f"{name} ({TASKS} tasks): {_milliseconds(start):.0f} ms")


if __name__ == "__main__":
    main()
