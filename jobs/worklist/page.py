"""What the page of a job shows: how it stands in a sentence, its stages with their tasks, and what was agreed when."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from jobs.quoting.models import ScopeOperation
from jobs.worklist.models import Job, Task, Variation, VariationOperation
from jobs.worklist.queries import StageState, held_by, stages_of
from workshop.calendar.words import count_words, day_words, day_words_year


@dataclass(frozen=True)
class TaskLine:
    """One task of a stage: hours logged, and the numbers of the variations that hold it."""

    task: Task
    hours_logged: Decimal
    held_by: tuple[int, ...]

    @property
    def held_words(self) -> str:
        """Return "held by variation 2", or nothing."""
        return "held by variation " + " and ".join(map(str, self.held_by)) if self.held_by else ""


@dataclass(frozen=True)
class StageLines:
    """One stage with its lines; the last three figures are the sums of its lines."""

    state: StageState
    lines: tuple[TaskLine, ...]


@dataclass(frozen=True)
class AgreedStep:
    """One version of what is agreed: the accepted scope, or a variation, with the total from then on."""

    words: str
    day: dt.date
    state: str
    amount: Decimal
    total_after: Decimal | None
    adds: tuple[str, ...] = ()
    leaves_out: tuple[str, ...] = ()
    variation: Variation | None = None


@dataclass(frozen=True)
class JobPage:
    """The page of a job; its sentence stands above everything."""

    job: Job
    sentence: str
    stages: tuple[StageLines, ...]
    agreed: tuple[AgreedStep, ...]

    @property
    def hours_logged(self) -> Decimal:
        """Return the hours logged on the whole job."""
        return sum((one.state.hours_logged for one in self.stages), Decimal(0))

    @property
    def hours_likely(self) -> Decimal:
        """Return the likely hours of the whole job."""
        return sum((one.state.hours_likely for one in self.stages), Decimal(0))


def job_page(job: Job, minutes: Mapping[int, int]) -> JobPage:
    """Return the page of a job; ``minutes`` logged a task are handed in by a later step."""
    held = held_by(job)
    stages = tuple(
        StageLines(
            stage,
            tuple(
                TaskLine(task, Decimal(minutes.get(task.pk, 0)) / 60, tuple(held.get(task.pk, ())))
                for task in stage.tasks
            ),
        )
        for stage in stages_of(job, minutes)
    )
    tasks = [line.task for stage in stages for line in stage.lines]
    return JobPage(job, sentence(job, tasks, sum(task.pk in held for task in tasks)), stages, agreed_steps(job))


def sentence(job: Job, tasks: list[Task], held: int) -> str:
    """Return how a job stands, in a sentence or two."""
    if job.state == Job.State.ACCEPTED:
        return f"Accepted {day_words(job.accepted_on)}; it has not arrived yet."
    if job.state == Job.State.RETURNED and job.returned_on:
        return f"Home again since {day_words_year(job.returned_on)}."
    if job.state == Job.State.STOPPED:
        return "Stopped; nothing more is done on it."
    if job.state == Job.State.READY and job.finished_on:
        return f"Ready since {day_words(job.finished_on)}; it waits to be fetched."
    done = sum(task.state == Task.State.DONE for task in tasks)
    since = f" since {day_words(job.booked_in_on)}" if job.booked_in_on else ""
    how_far = "Every task is done" if tasks and done == len(tasks) else f"{done} of {len(tasks)} tasks are done"
    waits = f"; {count_words(held)} {'waits' if held == 1 else 'wait'} for an answer" if held else ""
    return f"In the house{since}. {how_far}{waits}."


def agreed_steps(job: Job) -> tuple[AgreedStep, ...]:
    """Return what was agreed from the beginning: the accepted scope, then each variation, with the total so far.

    The agreed total kept in the job is the last; earlier ones are it less the variations agreed since.
    """
    variations = list(job.variations.select_related("found_by").prefetch_related("operations__operation"))
    agreed = [one for one in variations if one.state == Variation.State.AGREED]
    first = job.agreed_total - sum((one.total for one in agreed), Decimal(0))
    inside: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    if job.scope is not None:
        rows = list(job.scope.operations.select_related("operation"))
        inside = tuple(_words(row) for row in rows if row.because != ScopeOperation.Because.REFUSED)
        refused = tuple(f"{_words(row)}: {row.reason}" for row in rows if row.because == ScopeOperation.Because.REFUSED)
    title = f"“{job.scope.title}”" if job.scope is not None else "The work"
    steps = [AgreedStep(title, job.accepted_on, "accepted", first, first, inside, refused)]
    total, answered = first, sorted(agreed, key=lambda one: (one.answered_at is None, one.answered_at, one.number))
    for one in [*answered, *(one for one in variations if one.state != Variation.State.AGREED)]:
        is_agreed = one.state == Variation.State.AGREED
        total += one.total if is_agreed else 0
        rows_of = list(one.operations.all())
        steps.append(
            AgreedStep(
                f"Variation {one.number}",
                timezone.localdate(one.answered_at or one.sent_at or one.found_at),
                one.state,
                one.total,
                total if is_agreed else None,
                tuple(_words(row) for row in rows_of if row.adds),
                tuple(_words(row) for row in rows_of if not row.adds),
                one,
            )
        )
    return tuple(steps)


def _words(row: ScopeOperation | VariationOperation) -> str:
    """Return an operation as it was agreed, with its count where it is not one."""
    count = f" ({row.quantity.normalize():f})" if row.quantity != 1 else ""
    return f"{row.words or row.operation.in_plain_words}{count}"
