"""Questions about jobs, their tasks and stages."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet

from jobs.estimating.said import Asked, HoursSaid, hours_said
from jobs.estimating.services import estimator
from jobs.intake.models import Instrument
from jobs.operations.calc.closure import close_scope
from jobs.operations.calc.quantities import usual_quantity
from jobs.operations.models import Stage
from jobs.operations.queries import catalogue
from jobs.worklist.models import Job, Task, Variation
from workshop.people.models import Person

OPEN = (Job.State.ACCEPTED, Job.State.IN_HOUSE, Job.State.READY)
OPEN_STATES = (Variation.State.FOUND, Variation.State.SENT)


@dataclass(frozen=True)
class StageState:
    """One stage of a job: how far it is, and its hours."""

    stage: str
    words: str
    state: str
    tasks: tuple[Task, ...]
    hours_likely: Decimal
    hours_80: Decimal
    hours_logged: Decimal

    @property
    def is_done(self) -> bool:
        """Tell whether every task of the stage is done."""
        return self.state == Task.State.DONE


def open_jobs() -> QuerySet[Job]:
    """Return the jobs that are accepted, in the house or ready, oldest first."""
    return Job.objects.filter(state__in=OPEN).select_related("instrument__client", "quote").order_by("pk")


def job_of(instrument: Instrument) -> Job | None:
    """Return the newest job of an instrument."""
    return instrument.jobs.select_related("quote", "scope").first()


def tasks_of(job: Job) -> list[Task]:
    """Return the tasks of a job in working order, with what they need for a page."""
    return list(
        job.tasks.exclude(state=Task.State.LEFT_OUT)
        .select_related("operation", "skill", "done_by", "variation")
        .prefetch_related("after", "held_by")
    )


def stages_of(job: Job, minutes: Mapping[int, int] | None = None) -> list[StageState]:
    """Return the stages of a job in order, with hours; ``minutes`` logged a task are handed in by later steps."""
    logged = minutes or {}
    by_stage: dict[str, list[Task]] = {}
    for task in tasks_of(job):
        by_stage.setdefault(task.stage, []).append(task)
    return [_stage(stage, by_stage[stage.value], logged) for stage in Stage if stage.value in by_stage]


def _stage(stage: Stage, tasks: list[Task], minutes: Mapping[int, int]) -> StageState:
    states = {task.state for task in tasks}
    state = Task.State.AT_WORK
    if states == {Task.State.DONE}:
        state = Task.State.DONE
    elif states == {Task.State.TO_COME}:
        state = Task.State.TO_COME
    return StageState(
        stage=stage.value,
        words=str(stage.label),
        state=state,
        tasks=tuple(tasks),
        hours_likely=sum((task.hours_likely for task in tasks), Decimal(0)),
        hours_80=sum((task.hours_80 for task in tasks), Decimal(0)),
        hours_logged=Decimal(sum(minutes.get(task.pk, 0) for task in tasks)) / 60,
    )


def codes_in(job: Job) -> set[str]:
    """Return the codes of the operations that are part of a job."""
    return set(job.tasks.exclude(state=Task.State.LEFT_OUT).values_list("operation__code", flat=True))


def held_tasks(job: Job) -> set[int]:
    """Return the tasks (primary keys) held by a variation nobody has answered yet."""
    return set(held_by(job))


def held_by(job: Job) -> dict[int, list[int]]:
    """Return task -> numbers of the variations that hold it."""
    found: dict[int, list[int]] = {}
    waiting = Variation.objects.filter(job=job, state__in=OPEN_STATES, affects__isnull=False)
    for task, number in waiting.order_by("number").values_list("affects", "number"):
        found.setdefault(task, []).append(number)
    return found


def open_before(task: Task) -> list[Task]:
    """Return the tasks that must be done before this one and are not."""
    return list(task.after.exclude(state__in=(Task.State.DONE, Task.State.LEFT_OUT)))


def variations_waiting() -> QuerySet[Variation]:
    """Return the variations somebody has to act on: found and not priced, or sent and not answered."""
    return (
        Variation.objects.filter(state__in=OPEN_STATES)
        .select_related("job__instrument__client", "found_by")
        .order_by("found_at")
    )


@dataclass(frozen=True)
class JobCard:
    """What a job card says; ``address`` is where its code leads.

    ``cautions`` are those of the instrument, ``work_cautions`` those of work still to do, each with the names of its
    tasks; ``numbers``: task -> its number on the job; ``held``: task -> variations that hold it; ``done``: names of
    the stages that are over and not shown.
    """

    job: Job
    stage: str
    stages: tuple[StageState, ...]
    done: tuple[str, ...]
    cautions: tuple[str, ...]
    work_cautions: tuple[tuple[str, tuple[str, ...]], ...]
    numbers: Mapping[int, int]
    held: Mapping[int, list[int]]
    address: str


def job_card(job: Job, address: str, stage: str = "") -> JobCard:
    """Return the card of a job without the stages that are over, or of the one stage asked for."""
    every = stages_of(job)
    shown = tuple(one for one in every if (one.stage == stage if stage else not one.is_done))
    tasks = [task for one in every for task in one.tasks]
    cautions: dict[str, dict[str, None]] = {}
    for task in (task for one in shown for task in one.tasks):
        if task.state != Task.State.DONE and task.operation.cautions:
            cautions.setdefault(task.operation.cautions.strip(), {})[task.operation.name] = None
    return JobCard(
        job=job,
        stage=stage,
        stages=shown,
        done=() if stage else tuple(one.words.lower() for one in every if one.is_done),
        cautions=tuple(line.strip() for line in job.instrument.cautions.splitlines() if line.strip()),
        work_cautions=tuple((caution, tuple(names)) for caution, names in cautions.items()),
        numbers={task.pk: task.position for task in tasks},
        held=held_by(job),
        address=address,
    )


@dataclass(frozen=True)
class Proposal:
    """An operation that the chosen ones of a variation make necessary, why, and how many units are usual."""

    code: str
    name: str
    why: str
    usual: float


def implied_by_variation(job: Job, codes: Mapping[str, Decimal], leaves_out: Collection[str] = ()) -> list[Proposal]:
    """Return what the operations of a variation imply and the job does not hold yet, nor an alternative to it."""
    cat = catalogue()
    kind, compass = job.instrument.kind, len(job.instrument.compass)
    inside = codes_in(job).difference(leaves_out)
    groups = {group for code in inside for group in cat.groups_of(code)}
    closed = close_scope(cat, {code: float(count) for code, count in codes.items()}, kind=kind)
    return [
        Proposal(
            entry.code,
            cat.title(entry.code),
            "because of: " + "; ".join(map(cat.title, entry.implied_by)),
            usual_quantity(cat.operations[entry.code], kind, compass),
        )
        for entry in closed.entries
        if not entry.chosen and entry.code not in inside and not groups.intersection(cat.groups_of(entry.code))
    ]


def task_said(task: Task, person: Person) -> HoursSaid:
    """Return what is expected of a task today and on what evidence: by the person's own logs where they work here."""
    who = person if person.on_the_bench else None
    kind = task.job.instrument.kind
    given = estimator()
    hours = given.hours_for(operation=task.operation, quantity=task.quantity, kind=kind, technician=who)
    return hours_said([Asked(task.operation, task.quantity, kind, hours, who)], given)[0]
