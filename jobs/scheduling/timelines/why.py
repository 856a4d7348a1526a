"""Why a task stands where it stands in the plan."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from jobs.scheduling.calc.decides import Kind, task_links
from jobs.scheduling.calc.problem import Stint as Piece
from jobs.scheduling.calc.solution import Solution, Work
from jobs.scheduling.house import House, house_problem, person_key, task_key
from jobs.scheduling.house.rows import held_by_variation
from jobs.scheduling.models import Plan, Stint
from jobs.scheduling.reasons import link_words
from jobs.scheduling.timelines.blocks import Block, blocks_of, local
from jobs.worklist.models import Task


@dataclass(frozen=True)
class Stretch:
    """One stretch of time before a task, local, and what it went on."""

    starts: dt.datetime
    ends: dt.datetime
    words: str


@dataclass(frozen=True)
class Neighbour:
    """A task that comes before or after, with its place in the plan if it has one."""

    task: Task
    block: Block | None

    @property
    def is_done(self) -> bool:
        """Tell whether it is done or left out."""
        return self.task.state in (Task.State.DONE, Task.State.LEFT_OUT)


@dataclass(frozen=True)
class TaskPage:
    """One task in the plan: when, with whom, why not sooner, what comes before and what waits for it."""

    task: Task
    block: Block | None
    stints: tuple[tuple[dt.datetime, dt.datetime], ...]
    because: str
    stretches: tuple[Stretch, ...]
    before: tuple[Neighbour, ...]
    after: tuple[Neighbour, ...]


def task_page(task: Task, plan: Plan | None) -> TaskPage:
    """Return why a task stands where it stands in a plan.

    The reasons are worked out from the plan's stints and what is known now: what came or was closed since the
    plan was made is no reason any more.
    """
    rows = plan.stints.select_related("task__job__instrument", "person").order_by("starts_at", "pk") if plan else ()
    stints = list(rows)
    blocks = blocks_of(stints, held_by_variation())
    stretches: list[Stretch] = []
    before = list(task.after.order_by("position", "pk"))
    if plan is not None and task.pk in blocks:
        stretches = _stretches(house_problem(at=plan.made_at), stints, task)
    own = tuple((local(one.starts_at), local(one.ends_at)) for one in stints if one.task_id == task.pk)
    return TaskPage(
        task=task,
        block=blocks.get(task.pk),
        stints=own,
        because=_because(stretches, before, blocks),
        stretches=tuple(stretches),
        before=tuple(Neighbour(one, blocks.get(one.pk)) for one in before),
        after=tuple(Neighbour(one, blocks.get(one.pk)) for one in task.followers.order_by("position", "pk")),
    )


def _stretches(house: House, stints: Iterable[Stint], task: Task) -> list[Stretch]:
    pieces: dict[str, list[Piece]] = {}
    people: dict[str, str] = {}
    for stint in stints:
        name, who = task_key(stint.task_id), person_key(stint.person_id)
        if name in house.tasks and who in house.people:
            pieces.setdefault(name, []).append(Piece(local(stint.starts_at), local(stint.ends_at)))
            people[name] = who
    solution = Solution({name: Work(people[name], tuple(own)) for name, own in pieces.items()})
    if task_key(task.pk) not in solution.operations:
        return []
    links = task_links(house.problem, solution, task_key(task.pk))
    return [
        Stretch(link.start, link.end, link_words(house, link))
        for link in links
        if link.kind not in (Kind.WORK, Kind.BEGIN)
    ]


def _because(stretches: list[Stretch], before: list[Task], blocks: Mapping[int, Block]) -> str:
    """Return in one sentence why it does not begin sooner."""
    if stretches:
        longest = max(stretches, key=lambda one: one.ends - one.starts)
        return f"It does not begin sooner because of this: {longest.words}."
    planned = [blocks[one.pk] for one in before if one.pk in blocks]
    if planned:
        last = max(planned, key=lambda block: block.ends)
        return f"It begins as soon as “{last.task.name}” is done."
    return "Nothing holds it: it begins as soon as it can."
