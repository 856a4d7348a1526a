"""What happens to instruments while nobody works on them: rests, arrivals of parts, floor places."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Q

from jobs.scheduling.timelines.blocks import Block, JobRow, local
from jobs.supplies.models import Need
from jobs.worklist.models import Task
from workshop.places.models import Place
from workshop.web.timeline import Arrival, Wait

SHORTEST_WAIT = dt.timedelta(hours=20)  # shorter rests are over by the next morning and would only clutter
LONGEST_WAIT = dt.timedelta(days=60)  # no rest in the catalogue lasts longer


@dataclass(frozen=True)
class FloorWeek:
    """How many floor places one week takes at most, and how many of them change hands in it."""

    monday: dt.date
    held: int
    changing: int
    total: int


def rests(rows: Iterable[JobRow], blocks: Mapping[int, Block], first: dt.date) -> list[Wait]:
    """Return the rests in which nobody works on an instrument, planned or after work already done.

    A rest that nothing follows in the house is not drawn: the instrument is finished then.
    """
    by_job: dict[int, list[Block]] = defaultdict(list)
    for block in blocks.values():
        by_job[block.task.job_id].append(block)
    numbers = {row.job.pk: str(row.job.instrument.number) for row in rows}
    waits = []
    for task in _resting(by_job, first):
        if task.done_at is not None and task.job_id in numbers:
            waits += _rest(task, local(task.done_at), by_job[task.job_id], numbers[task.job_id])
    for job, own in by_job.items():
        if job in numbers:
            for block in own:
                waits += _rest(block.task, block.ends, own, numbers[job])
    return waits


def _resting(jobs: Iterable[int], first: dt.date) -> Iterable[Task]:
    """Return the tasks done lately whose rest may still last."""
    return Task.objects.filter(
        job__in=list(jobs), state=Task.State.DONE, wait_hours__gte=20, done_at__date__gte=first - LONGEST_WAIT
    )


def _rest(task: Task, ends: dt.datetime, own: list[Block], lane: str) -> list[Wait]:
    rest = dt.timedelta(hours=task.wait_hours)
    if rest < SHORTEST_WAIT:
        return []
    others = [block for block in own if block.task.pk != task.pk]
    later = [block.starts for block in others if block.starts >= ends]
    if not later or any(block.starts < ends < block.ends for block in others):
        return []
    until = min(ends + rest, *later)
    if until - ends < SHORTEST_WAIT:
        return []
    return [Wait(lane, ends, until, f"{task.wait_reason or 'rests'} {round(task.wait_hours / 24)} d")]


def arriving(rows: Iterable[JobRow], first: dt.date, today: dt.date) -> list[Arrival]:
    """Return when parts are due or came; what is overdue stands at today."""
    needs = Need.objects.filter(
        Q(state=Need.State.ORDERED, order_line__expected_on__isnull=False)
        | Q(state=Need.State.HERE, here_on__gte=first),
        task__job__in=[row.job.pk for row in rows],
    ).select_related("part", "order_line", "task__job__instrument")
    seen: dict[tuple[str, dt.date, bool], list[str]] = defaultdict(list)
    for need in needs.order_by("pk"):
        here = need.state == Need.State.HERE
        due = need.here_on if here else need.order_line.expected_on if need.order_line else None
        if due is None:
            continue
        late = not here and due < today
        words = f"{need.part}, overdue" if late else str(need.part)
        names = seen[str(need.task.job.instrument.number), max(due, today) if late else due, here]
        if words not in names:
            names.append(words)
    return [
        Arrival(lane, day, names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more", here)
        for (lane, day, here), names in seen.items()
    ]


def floor_weeks(rows: Iterable[JobRow], blocks: Iterable[Block], first: dt.date, weeks: int) -> list[FloorWeek]:
    """Return floor places week by week: held from arrival, or from the first stint, to the planned end.

    What has no planned end is held all along.
    """
    total = sum(Place.objects.filter(kind=Place.Kind.FLOOR, in_use=True).values_list("holds", flat=True))
    begins: dict[int, dt.date] = {}
    for block in blocks:
        day = block.starts.date()
        begins[block.task.job_id] = min(begins.get(block.task.job_id, day), day)
    spans = []
    for row in rows:
        arrives = row.job.booked_in_on or begins.get(row.job.pk)
        if arrives is not None:
            spans.append((arrives, row.end.ends_on if row.end else dt.date.max))
    found = []
    for week in range(weeks):
        monday = first + dt.timedelta(days=7 * week)
        sunday = monday + dt.timedelta(days=6)
        inside = [(arrives, leaves) for arrives, leaves in spans if arrives <= sunday and leaves >= monday]
        changing = sum(arrives > monday or leaves <= sunday for arrives, leaves in inside)
        found.append(FloorWeek(monday, len(inside), changing, total))
    return found
