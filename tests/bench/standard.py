"""Mean gap to the best known makespans of standard project sets, other engines beside ours where installed.

    python -m tests.bench.standard FOLDER --seconds 5 --per-set 12

FOLDER holds ``best_known.csv`` (columns problem, family, file, best_known_makespan) and the files it names, in
any folder below. Every engine gets two threads and the same seconds; read the figures of one run beside each
other, not seconds of one machine beside another's.
"""

import argparse
import csv
from collections import defaultdict
from importlib.util import find_spec
from pathlib import Path

from ortools.sat.python import cp_model

from jobs.scheduling.calc.solve.standard import solve_project, warm_up
from jobs.scheduling.calc.standard import project_read


def ours(project, seconds):
    """Makespan and whether it was proved, by the engine of this project."""
    found = solve_project(project, seconds)
    return found.makespan, found.proved


def plain_cp_sat(project, seconds):
    """The textbook model: interval variables, one cumulative a resource, no hint, no bound of ours."""
    model, horizon = cp_model.CpModel(), sum(project.durations)
    starts = [model.new_int_var(0, horizon, "") for _ in project.durations]
    spans = [
        model.new_fixed_size_interval_var(start, length, "")
        for start, length in zip(starts, project.durations, strict=True)
    ]
    for before, followers in enumerate(project.followers):
        for follower in followers:
            model.add(starts[follower - 1] >= starts[before] + project.durations[before])
    for resource, capacity in enumerate(project.capacities):
        model.add_cumulative(spans, [demands[resource] for demands in project.demands], capacity)
    length = model.new_int_var(0, horizon, "")
    for start, duration in zip(starts, project.durations, strict=True):
        model.add(length >= start + duration)
    model.minimize(length)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 2, seconds
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return (round(solver.objective_value) if found else None), status == cp_model.OPTIMAL


def pyjobshop(project, seconds):
    """PyJobShop's model of the same project, solved by its own call of the exact solver."""
    from pyjobshop import Model

    model = Model()
    resources = [model.add_renewable(capacity) for capacity in project.capacities]
    tasks = [model.add_task() for _ in project.durations]
    for task, duration, demands in zip(tasks, project.durations, project.demands, strict=True):
        model.add_mode(task, resources, duration, list(demands))
    for task, followers in zip(tasks, project.followers, strict=True):
        for follower in followers:
            model.add_end_before_start(task, tasks[follower - 1])
    result = model.solve(time_limit=seconds, display=False, num_workers=2)
    proved = result.status.value == "Optimal"
    return (round(result.objective) if result.best.tasks else None), proved


def engines():
    """Ours, plain CP-SAT, and PyJobShop if the ``bench`` extra is installed."""
    found = {"ours": ours, "plain CP-SAT": plain_cp_sat}
    if find_spec("pyjobshop"):
        found["PyJobShop"] = pyjobshop
    return found


def sample(folder, per_set):
    """Family → (file, best known makespan): the first ``per_set`` of each family in the order of their names."""
    families = defaultdict(list)
    with (folder / "best_known.csv").open(encoding="utf-8", newline="") as table:
        for row in csv.DictReader(table):
            if row["problem"] == "rcpsp":
                file = next(folder.rglob(row["file"]))
                families[row["family"]].append((file, int(row["best_known_makespan"])))
    return {family: sorted(files)[:per_set] for family, files in families.items()}


def measure(engine, files, seconds):
    """Mean gap in per cent over the files it found a schedule for, how many those are, how many were proved."""
    gaps, proofs = [], 0
    for file, best_known in files:
        makespan, proved = engine(project_read(file.read_text(), file.name), seconds)
        if makespan is not None:
            gaps.append(100 * (makespan - best_known) / best_known)
        proofs += proved
    return (sum(gaps) / len(gaps) if gaps else float("nan")), len(gaps), proofs


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=float, default=5.0)
    parser.add_argument("--per-set", type=int, default=12)
    parser.add_argument("--only", choices=list(engines()), help="one engine alone")
    given = parser.parse_args()
    warm_up()
    print(f"{'set':8}{'files':>6}  {'engine':14}{'mean gap':>9}{'found':>7}{'proved':>8}")
    for family, files in sample(given.folder, given.per_set).items():
        for name, engine in engines().items():
            if given.only in (None, name):
                gap, found, proofs = measure(engine, files, given.seconds)
                print(f"{family:8}{len(files):6}  {name:14}{gap:8.2f}%{found:7}{proofs:8}", flush=True)


if __name__ == "__main__":
    main()
