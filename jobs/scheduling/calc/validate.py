"""What is wrong with a planning problem, in sentences that say what, where and how to mend it."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from jobs.scheduling.calc.problem import BENCH, FLOOR, SPRAY, Problem
from jobs.scheduling.calc.validate_operations import operation_troubles


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing to mend before planning. ``where``: id of the operation, job or technician, or ``shop``."""

    where: str
    sentence: str

    def __str__(self) -> str:
        return self.sentence


def validate(problem: Problem) -> list[Trouble]:
    """Everything that keeps the problem from being planned; empty when it is sound."""
    found = [*_shop(problem), *_repeated(problem), *_people(problem), *_references(problem)]
    if found:  # the rules below look things up by id and count slots
        return found
    found += _house(problem)
    found += (Trouble(where, sentence) for where, sentence in operation_troubles(problem))
    cycle = find_cycle(problem)
    if cycle:
        chain = " → ".join([*cycle, cycle[0]])
        found.append(Trouble(cycle[0], f"{chain} need each other in a circle: take one of these links out."))
    return found


def _shop(problem: Problem) -> Iterator[Trouble]:
    slot = problem.slot_minutes
    if slot < 1 or slot > 24 * 60:
        yield Trouble("shop", f"Slots of {slot} minutes cannot be planned: choose 1 minute or more.")
        return
    if problem.day_minutes <= 0:
        yield Trouble("shop", f"The shop closes at {problem.closes:%H:%M}, not after it opens: move one of them.")
    elif problem.day_minutes % slot:
        yield Trouble(
            "shop",
            f"The day of {problem.day_minutes} minutes is not whole slots of {slot} minutes: move opening or closing.",
        )
    if not set(problem.workdays) & set(range(7)):
        yield Trouble("shop", "The shop works on no day of the week: name at least one.")
    for kind in (FLOOR, BENCH, SPRAY):
        if problem.places.of(kind) < 0:
            yield Trouble("shop", f"There are {problem.places.of(kind)} {kind} places: give 0 or more.")


def _repeated(problem: Problem) -> Iterator[Trouble]:
    kinds: tuple[tuple[str, Iterable[str]], ...] = (
        ("Technician", (entry.id for entry in problem.technicians)),
        ("Job", (entry.id for entry in problem.jobs)),
        ("Operation", (entry.id for entry in problem.operations)),
    )
    for word, ids in kinds:
        for key, number in Counter(ids).items():
            if number > 1:
                yield Trouble(key, f"{word} {key} is given {number} times: keep one of them.")


def _people(problem: Problem) -> Iterator[Trouble]:
    for technician in problem.technicians:
        for first, last in technician.leave:
            if last < first:
                yield Trouble(
                    technician.id,
                    f"Leave of {technician.id} ends {last} before it starts {first}: swap them.",
                )


def _references(problem: Problem) -> Iterator[Trouble]:
    operations = set(problem.operation_by_id)
    for job in problem.jobs:
        if job.weight < 0:
            yield Trouble(job.id, f"Job {job.id} has weight {job.weight}: give 0 or more.")
    for operation in problem.operations:
        name = operation.id
        if operation.job not in problem.job_by_id:
            yield Trouble(name, f"{name} belongs to job {operation.job}, which is not in the problem: add the job.")
        if operation.place not in (None, FLOOR, BENCH, SPRAY):
            yield Trouble(name, f"{name} asks for place {operation.place}: use floor, bench, spray or none.")
        for before in operation.after:
            if before not in operations:
                yield Trouble(
                    name,
                    f"{name} comes after {before}, which is not in the problem: add it or take the link out.",
                )
        if operation.fixed and operation.fixed.technician not in problem.technician_by_id:
            who = operation.fixed.technician
            yield Trouble(name, f"{name} is fixed for {who}, who is not in the shop: name another technician.")
        started = problem.started(name)
        if started and started.technician not in problem.technician_by_id:
            yield Trouble(
                name,
                f"{name} was started by {started.technician}, who is not in the shop: keep them in.",
            )


def _house(problem: Problem) -> Iterator[Trouble]:
    with_work = {operation.job for operation in problem.operations}
    inside = [job.id for job in problem.jobs if job.in_house and job.id in with_work]
    floor = problem.places.floor
    if floor == 0 and with_work:
        yield Trouble("shop", "There is no floor place, so no job can ever start: add one.")
    elif len(inside) > floor:
        yield Trouble(
            "shop",
            f"{len(inside)} instruments are in the house but there are only {floor} floor places"
            f" ({', '.join(inside)}): add places or take one out.",
        )


def find_cycle(problem: Problem) -> list[str]:
    """Ids of one circle of prerequisites in order of work, or an empty list (depth first)."""
    seen: set[str] = set()
    for root in problem.operation_by_id:
        if root in seen:
            continue
        path: list[str] = []
        on_path: set[str] = set()
        todo = [(root, False)]
        while todo:
            key, leaving = todo.pop()
            if leaving:
                path.pop()
                on_path.discard(key)
                continue
            if key in on_path:
                return path[path.index(key) :][::-1]
            if key in seen:
                continue
            seen.add(key)
            path.append(key)
            on_path.add(key)
            todo.append((key, True))
            todo += [(before, False) for before in problem.operation_by_id[key].after]
    return []
