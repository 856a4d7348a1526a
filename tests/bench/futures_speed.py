"""How long the futures of a plan take. Run by hand, not by pytest.

    python tests/bench/futures_speed.py [FOLDER] [--futures 2000] [--only NAME,NAME]

Without a folder a shop of its own is drawn: 40 instruments of 25 tasks. For each problem: the plan of the simple rules,
then its futures once everything is compiled, and the one change that helps each of the ten worst dates. Seconds are
wall and processor time, the best of three.
"""

import argparse
import random
import time
from collections.abc import Callable
from datetime import date, timedelta
from datetime import time as clock
from pathlib import Path

from jobs.scheduling.calc.draws import Uncertainty
from jobs.scheduling.calc.futures import futures
from jobs.scheduling.calc.one_change import changes
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import Job, Operation, Places, Problem, Technician
from jobs.scheduling.calc.problem_file import problem_read
from jobs.scheduling.calc.solve import warm_up

SPREAD, TAU = 0.35, 0.20
MONDAY = date(2027, 1, 4)


def drawn_shop(instruments: int = 40, tasks: int = 25) -> Problem:
    """A shop of ten people and so many instruments; the same one each time."""
    rng = random.Random(1)
    skills = ("action", "string", "finish", "case")
    operations = []
    for job in range(instruments):
        for number in range(tasks):
            earlier = [f"j{job}.{one}" for one in range(max(0, number - 3), number)]
            operations.append(
                Operation(
                    f"j{job}.{number}", f"j{job}", rng.randint(2, 32) / 2, rng.choice(skills),
                    place=rng.choice((None, "bench", "bench", "floor")), after=tuple(earlier[-rng.randint(1, 2) :]),
                    wait_hours=rng.choice((0, 0, 0, 24, 72)),
                    not_before=MONDAY + timedelta(days=rng.randint(5, 60)) if rng.random() < 0.1 else None,
                )
            )  # fmt: skip
    people = []
    for number in range(10):
        off = MONDAY + timedelta(days=rng.randint(10, 120))
        own = tuple(rng.sample(skills, 2)) if number else skills
        days = (0, 1, 2, 3, 4) if rng.random() < 0.7 else (0, 1, 2)
        people.append(Technician(f"t{number}", own, days, ((off, off + timedelta(days=9)),)))
    jobs = tuple(Job(f"j{job}", 1, MONDAY + timedelta(days=10 + 4 * job)) for job in range(instruments))
    return Problem(
        "drawn", MONDAY, clock(8), clock(16), tuple(people), Places(instruments // 2, 7, 1), jobs, tuple(operations)
    )  # fmt: skip


def best_of(act: Callable[[], object], times: int = 3) -> str:
    """Wall and processor seconds of the quickest of some runs."""
    found = []
    for _ in range(times):
        wall, cpu = time.perf_counter(), time.process_time()
        act()
        found.append((time.perf_counter() - wall, time.process_time() - cpu))
    return f"{min(one[0] for one in found):.2f} s (processor {min(one[1] for one in found):.2f} s)"


def row(name: str, problem: Problem, number: int) -> None:
    """Print one problem's line."""
    solution = plan(problem, rounds=0)
    parts = {one.id: one.id for one in problem.operations if one.not_before and one.after}
    uncertainty = Uncertainty(dict.fromkeys(problem.operation_by_id, SPREAD), parts, TAU)
    found = futures(problem, solution, uncertainty, number=number)
    ends = solution.job_ends(problem)
    later = sorted((found.day_at(job, 0.5) - ends[job].date()).days for job in found.jobs)
    worst = sorted(found.jobs, key=lambda job: found.outlook(job).chance or 0)[:10]
    spent = best_of(lambda: futures(problem, solution, uncertainty, number=number))
    helped = best_of(lambda: changes(found, uncertainty, worst))
    print(
        f"{name:12} {len(problem.operations):5} tasks  {number} futures {spent}  changes {helped}"
        f"  even chances {later[len(later) // 2]} days after the plan",
        flush=True,
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path, nargs="?")
    parser.add_argument("--futures", type=int, default=2000)
    parser.add_argument("--only", default="")
    given = parser.parse_args()
    warm_up()
    row("drawn", drawn_shop(), given.futures)
    for path in sorted(given.folder.glob("*.json")) if given.folder else ():
        if not given.only or path.stem in given.only.split(","):
            row(path.stem, problem_read(path.read_text(encoding="utf-8")), given.futures)


if __name__ == "__main__":
    main()
