"""Rules of the checker between operations: order and waits, people booked twice, places, the floor.

Yields (rule, where, sentence). Like ``check``, it uses nothing of the solver.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import datetime, time, timedelta

from jobs.scheduling.calc.problem import BENCH, SPRAY, Problem, moment_text
from jobs.scheduling.calc.solution import Work

Found = tuple[str, str, str]
Span = tuple[datetime, datetime, str]


def between_troubles(problem: Problem, works: Mapping[str, Work]) -> Iterator[Found]:
    """Every rule between operations that the well-formed entries of a plan break."""
    yield from _order(problem, works)
    yield from _double_booking(works)
    yield from _places(problem, works)
    yield from _floor(problem, works)


def _order(problem: Problem, works: Mapping[str, Work]) -> Iterator[Found]:
    for operation in problem.operations:
        if operation.id not in works:
            continue
        start = works[operation.id].start
        for before in operation.after:
            if before not in works:
                continue
            end = works[before].end
            free = end + timedelta(hours=problem.operation_by_id[before].wait_hours)
            if start < end:
                text = f"{operation.id} starts {moment_text(start)}, before {before} ends {moment_text(end)}."
                yield "after", operation.id, text
            elif start < free:
                over = moment_text(free)
                text = f"{operation.id} starts {moment_text(start)}; the wait after {before} lasts to {over}."
                yield "wait", operation.id, text


def _double_booking(works: Mapping[str, Work]) -> Iterator[Found]:
    by_person: dict[str, list[Span]] = defaultdict(list)
    for key, work in works.items():
        by_person[work.technician] += [(stint.start, stint.end, key) for stint in work.stints]
    for who, spans in by_person.items():
        spans.sort()
        until, holder = spans[0][1], spans[0][2]
        for start, end, key in spans[1:]:
            if start < until and key != holder:
                yield (
                    "double booking",
                    key,
                    f"{who} would do {holder} and {key} at once on {moment_text(start)}.",
                )
            if end > until:
                until, holder = end, key


def _places(problem: Problem, works: Mapping[str, Work]) -> Iterator[Found]:
    spans: dict[str, list[Span]] = {BENCH: [], SPRAY: []}
    for operation in problem.operations:
        if operation.id not in works or operation.place not in spans:
            continue
        work = works[operation.id]
        if operation.sessions > 1:
            spans[operation.place] += [(stint.start, stint.end, operation.id) for stint in work.stints]
        else:
            spans[operation.place].append((work.start, work.end, operation.id))
    for place, held in spans.items():
        yield from _overfull("place", place, held, problem.places.of(place))


def _floor(problem: Problem, works: Mapping[str, Work]) -> Iterator[Found]:
    starts: dict[str, datetime] = {}
    ends: dict[str, datetime] = {}
    for operation in problem.operations:
        if operation.id in works:
            work, job = works[operation.id], operation.job
            starts[job] = min(starts.get(job, work.start), work.start)
            ends[job] = max(ends.get(job, work.end), work.end)
    for job_id in starts:
        if problem.job_by_id[job_id].in_house:
            starts[job_id] = datetime.combine(problem.start, time())
    held = [(starts[job], ends[job], job) for job in starts]
    yield from _overfull("floor", "floor", held, problem.places.floor)


def _overfull(rule: str, place: str, held: list[Span], capacity: int) -> Iterator[Found]:
    """Each span that begins while all places are taken; spans are half open."""
    here: list[Span] = []
    for span in sorted(held):
        here = [other for other in here if other[1] > span[0]]
        here.append(span)
        if len(here) > capacity:
            names = ", ".join(sorted({key for _, _, key in here}))
            text = f"{place}: {len(here)} in use {moment_text(span[0])}, there are {capacity} ({names})."
            yield rule, span[2], text
            here.remove(max(here, key=lambda other: other[1]))
