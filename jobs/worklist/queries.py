"""Questions about jobs, their tasks and stages."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet

from jobs.intake.models import Instrument
from jobs.operations.models import Stage
from jobs.worklist.models import Job, Task, Variation

OPEN = (Job.State.ACCEPTED, Job.State.IN_HOUSE, Job.State.READY)


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
        .select_related("operation", "skill", "done_by")
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


def held_tasks(job: Job) -> set[int]:
    """Return the tasks (primary keys) held by a variation nobody has answered yet."""
    waiting = Variation.objects.filter(job=job, state__in=(Variation.State.FOUND, Variation.State.SENT))
    return set(waiting.values_list("affects", flat=True)) - {None}


def open_before(task: Task) -> list[Task]:
    """Return the tasks that must be done before this one and are not."""
    return list(task.after.exclude(state__in=(Task.State.DONE, Task.State.LEFT_OUT)))


def variations_waiting() -> QuerySet[Variation]:
    """Return the variations somebody has to act on: found and not priced, or sent and not answered."""
    return (
        Variation.objects.filter(state__in=(Variation.State.FOUND, Variation.State.SENT))
        .select_related("job__instrument__client", "found_by")
        .order_by("found_at")
    )
