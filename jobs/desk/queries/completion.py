"""Jobs in hand at their end: hours used, still to work, and what passing the quoted hours would cost."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from jobs.estimating.calc.completion import Completion, TaskSoFar, completion
from jobs.estimating.calc.task_hours import TaskHours
from jobs.estimating.estimator import outcomes_finished
from jobs.hours.queries import minutes_by_task
from jobs.worklist.models import Job, Task, Variation
from jobs.worklist.queries import open_jobs
from workshop.calendar.words import count_words
from workshop.house.queries import the_shop

MOST_NAMED = 5
WARN_FROM = 0.5  # an early warning when passing the quoted hours is likelier than not


@dataclass(frozen=True)
class JobAtEnd:
    """One open job: quoted hours with agreed variations, where it will likely end, and the task that took most over.

    ``beyond`` is the value of the likely hours beyond the quoted ones at the rate of the quote, without VAT; below
    nought where hours are left over.
    """

    job: Job
    quoted: float
    end: Completion
    rate: Decimal
    eater: Task | None
    eaten: float

    @property
    def beyond(self) -> Decimal:
        """Return what the likely end costs beyond the quoted hours, £ without VAT."""
        return Decimal(str(round(self.end.likely - self.quoted, 2))) * self.rate

    @property
    def left_over(self) -> Decimal:
        """Return what the likely end leaves of the quoted hours, £ without VAT."""
        return -self.beyond

    @property
    def at_80(self) -> float:
        """Return the hours the job ends under 8 times in 10."""
        return self.end.figure(0.8)

    @property
    def chance_over(self) -> float:
        """Return the chance of passing the quoted hours."""
        return self.end.chance_over(self.quoted)

    @property
    def warned(self) -> bool:
        """Tell whether passing the quoted hours is likelier than not."""
        return self.chance_over > WARN_FROM

    @property
    def passed(self) -> bool:
        """Tell whether the quoted hours are used up already."""
        return self.end.used > self.quoted


def jobs_at_end() -> list[JobAtEnd]:
    """Return every open job that has hours, the dearest first. Never more questions for more jobs."""
    jobs = list(open_jobs().select_related("instrument__client", "quote", "scope"))
    tasks: dict[int, list[Task]] = defaultdict(list)
    for task in Task.objects.filter(job__in=jobs).exclude(state=Task.State.LEFT_OUT).select_related("operation"):
        tasks[task.job_id].append(task)
    minutes = minutes_by_task(jobs)
    agreed: dict[int, float] = defaultdict(float)
    for key, hours in Variation.objects.filter(job__in=jobs, state=Variation.State.AGREED).values_list(
        "job", "hours_likely"
    ):
        agreed[key] += float(hours)
    rate, finished = the_shop().hourly_rate, outcomes_finished()
    found = [_at_end(job, tasks[job.pk], minutes, agreed[job.pk], rate, finished) for job in jobs if tasks[job.pk]]
    return sorted(found, key=lambda one: (-one.beyond, one.job.pk))


def passing_words() -> str:
    """Return which jobs are likelier than not to pass their quoted hours, the dearest first; "" when there is none."""
    warned = [one.job.instrument.number for one in jobs_at_end() if one.warned]
    if not warned:
        return ""
    numbers = ", ".join(f"{number}" for number in warned[:MOST_NAMED])
    more = f" and {count_words(len(warned) - MOST_NAMED)} more" if len(warned) > MOST_NAMED else ""
    verb = "is" if len(warned) == 1 else "are"
    return f"No. {numbers}{more} {verb} likelier than not to pass the quoted hours."


def _at_end(
    job: Job, tasks: list[Task], minutes: dict[int, int], agreed: float, rate: Decimal, finished: Sequence[float]
) -> JobAtEnd:
    logged = {task.pk: minutes.get(task.pk, 0) / 60 for task in tasks}
    eater = max(tasks, key=lambda task: logged[task.pk] - float(task.hours_likely))
    eaten = logged[eater.pk] - float(eater.hours_likely)
    quoted = job.scope.hours_likely if job.scope else None
    return JobAtEnd(
        job=job,
        quoted=float(quoted) + agreed if quoted is not None else sum(float(task.hours_likely) for task in tasks),
        end=completion([_so_far(task, logged[task.pk]) for task in tasks], finished=finished),
        rate=job.quote.hourly_rate if job.quote else rate,
        eater=eater if eaten > 0 else None,
        eaten=eaten,
    )


def _so_far(task: Task, logged: float) -> TaskSoFar:
    likely = float(task.hours_likely)
    return TaskSoFar(
        hours=TaskHours(float(task.norm_hours), likely, max(likely, float(task.hours_80))),
        logged=logged,
        done=task.state == Task.State.DONE,
        said_left=None if task.hours_left is None else float(task.hours_left),
    )
