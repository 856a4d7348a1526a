"""Jobs at their end, whole and stage by stage: hours used, still to work, and what that does to the margin."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from jobs.billing.queries import invoiced_alone
from jobs.estimating.calc.completion import Completion, TaskSoFar, completion, completion_in_parts, task_end
from jobs.estimating.calc.task_hours import TaskHours
from jobs.estimating.estimator import outcomes_finished
from jobs.hours.house_queries import minutes_by_assessment, minutes_of_visits
from jobs.hours.queries import minutes_by_task
from jobs.operations.models import Stage
from jobs.quoting.models import ScopeOperation
from jobs.worklist.models import Job, Task, Variation, VariationOperation
from jobs.worklist.queries import open_jobs
from workshop.calendar.words import count_words
from workshop.house.queries import the_shop
from workshop.money.words import money_round

MOST_NAMED = 5
WARN_FROM = 0.5  # an early warning when passing the quoted hours is likelier than not
LEAST_EATEN = 0.5  # hours a task must end beyond its own to be named; our judgement


@dataclass(frozen=True)
class AtEnd:
    """A job or a stage of it: quoted hours with agreed variations, and where it will likely end.

    ``so_far``: hours in hand (over: negative) on what is done and on tasks that passed their hours already. ``eater``
    is the task that will end furthest beyond its hours, by ``eaten``. ``visits``: hours under guarantee. Margins are
    quoted hours less hours used, at the ``rate`` of the quote, £ without VAT.
    """

    quoted: float
    end: Completion
    rate: Decimal
    so_far: float
    eater: Task | None
    eaten: float
    visits: float = 0.0

    @property
    def beyond(self) -> Decimal:
        """Return what the likely end costs beyond the quoted hours, £ without VAT; below nought where some are left."""
        return _priced(self.end.likely + self.visits - self.quoted, self.rate)

    @property
    def margin(self) -> Decimal:
        """Return the margin expected at the end."""
        return -self.beyond

    @property
    def margin_now(self) -> Decimal:
        """Return the margin on what is done so far."""
        return _priced(self.so_far - self.visits, self.rate)

    @property
    def margin_words(self) -> str:
        """Return the margin expected at the end, "£240" or "−£96"."""
        return margin_words(self.margin)

    @property
    def margin_now_words(self) -> str:
        """Return the margin on what is done so far, "£240" or "−£96"."""
        return margin_words(self.margin_now)

    @property
    def at_80(self) -> float:
        """Return the hours it ends under 8 times in 10."""
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


@dataclass(frozen=True)
class StageAtEnd(AtEnd):
    """One stage of a job."""

    words: str = ""


@dataclass(frozen=True)
class JobAtEnd:
    """One job as a whole and by stage; the hours of the stages add up to those of the whole."""

    job: Job
    whole: AtEnd
    stages: tuple[StageAtEnd, ...]


@dataclass(frozen=True)
class _Gathered:
    """What is known of several jobs, by their primary keys; minutes by task."""

    tasks: Mapping[int, Sequence[Task]]
    minutes: Mapping[int, int]
    quoted: Mapping[int, Mapping[str, float]]
    assessed: Mapping[int, int]
    visits: Mapping[int, int]


def jobs_at_end() -> list[JobAtEnd]:
    """Return every open job that has hours, the dearest first. Never more questions for more jobs."""
    found = ends_of(open_jobs().select_related("instrument__client", "quote", "scope"))
    return sorted(found, key=lambda one: (-one.whole.beyond, one.job.pk))


def job_at_end(job: Job) -> JobAtEnd | None:
    """Return where one job ends; None for a job without tasks."""
    return next(iter(ends_of([job])), None)


def ends_of(jobs: Iterable[Job]) -> list[JobAtEnd]:
    """Return where jobs end, in their order; those without tasks are left out."""
    jobs = list(jobs)
    known, rate, finished = _gathered(jobs), the_shop().hourly_rate, outcomes_finished()
    return [_at_end(job, known, rate, finished) for job in jobs if known.tasks.get(job.pk)]


def passing_words() -> str:
    """Return which jobs are likelier than not to pass their quoted hours, the dearest first; "" when there is none."""
    warned = [one.job.instrument.number for one in jobs_at_end() if one.whole.warned]
    if not warned:
        return ""
    numbers = ", ".join(f"{number}" for number in warned[:MOST_NAMED])
    more = f" and {count_words(len(warned) - MOST_NAMED)} more" if len(warned) > MOST_NAMED else ""
    verb = "is" if len(warned) == 1 else "are"
    return f"No. {numbers}{more} {verb} likelier than not to pass the quoted hours."


def _gathered(jobs: Sequence[Job]) -> _Gathered:
    tasks: dict[int, list[Task]] = defaultdict(list)
    for task in Task.objects.filter(job__in=jobs).exclude(state=Task.State.LEFT_OUT).select_related("operation"):
        tasks[task.job_id].append(task)
    assessments = {job.pk: job.quote.assessment_id for job in jobs if job.quote and job.quote.assessment_id}
    by_assessment = minutes_by_assessment(assessments.values())
    # One paid for beside the job has an income of its own: its hours count there.
    alone = set(invoiced_alone(assessments.values()).values_list("assessment", flat=True))
    return _Gathered(
        tasks=tasks,
        minutes=minutes_by_task(jobs),
        quoted=_quoted(jobs, tasks),
        assessed={
            key: by_assessment.get(assessment, 0) for key, assessment in assessments.items() if assessment not in alone
        },
        visits=minutes_of_visits(jobs),
    )


def _quoted(jobs: Sequence[Job], tasks: Mapping[int, Sequence[Task]]) -> dict[int, dict[str, float]]:
    """Return the quoted hours of each job by stage, variations that were agreed included.

    A quote charges the hours of the bundle, a little more than the sum of its lines; each stage has its share.
    """
    lines, varied, agreed = _lines_by_stage(jobs), _varied_by_stage(jobs), _agreed_hours(jobs)
    found = {}
    for job in jobs:
        own = _by_stage((task.stage, task.hours_likely) for task in tasks.get(job.pk, ()))
        quoted = job.scope.hours_likely if job.scope else None
        if quoted is None:
            found[job.pk] = own  # without a quote what was expected of the tasks, those of variations among them
            continue
        shares = lines.get(job.scope_id or 0) or own
        parts, more = _shared(float(quoted), shares), varied.get(job.pk, {})
        rest = _shared(agreed.get(job.pk, 0.0) - sum(more.values()), shares)
        stages = {*parts, *more}
        found[job.pk] = {one: parts.get(one, 0.0) + more.get(one, 0.0) + rest.get(one, 0.0) for one in stages}
    return found


def _lines_by_stage(jobs: Sequence[Job]) -> dict[int, dict[str, float]]:
    rows = ScopeOperation.objects.filter(scope__in=[job.scope_id for job in jobs if job.scope_id])
    inside = rows.exclude(because=ScopeOperation.Because.REFUSED)
    return _grouped(inside.values_list("scope", "operation__stage", "hours_likely"))


def _varied_by_stage(jobs: Sequence[Job]) -> dict[int, dict[str, float]]:
    rows = VariationOperation.objects.filter(variation__job__in=jobs, variation__state=Variation.State.AGREED)
    return _grouped(rows.values_list("variation__job", "operation__stage", "hours_likely"))


def _agreed_hours(jobs: Sequence[Job]) -> dict[int, float]:
    found: dict[int, float] = defaultdict(float)
    rows = Variation.objects.filter(job__in=jobs, state=Variation.State.AGREED)
    for job, hours in rows.values_list("job", "hours_likely"):
        found[job] += float(hours)
    return found


def _grouped(rows: Iterable[tuple[int, str, Decimal]]) -> dict[int, dict[str, float]]:
    found: dict[int, dict[str, float]] = defaultdict(dict)
    for key, stage, hours in rows:
        found[key][stage] = found[key].get(stage, 0.0) + float(hours)
    return found


def _by_stage(rows: Iterable[tuple[str, Decimal]]) -> dict[str, float]:
    return _grouped((0, stage, hours) for stage, hours in rows).get(0, {})


def _shared(hours: float, shares: Mapping[str, float]) -> dict[str, float]:
    together = sum(shares.values())
    return {stage: hours * share / together for stage, share in shares.items()} if together else {}


def _at_end(job: Job, known: _Gathered, rate: Decimal, finished: Sequence[float]) -> JobAtEnd:
    tasks, quoted = known.tasks[job.pk], known.quoted[job.pk]
    logged, apart = _logged(tasks, known.minutes, known.assessed.get(job.pk, 0) / 60)
    so_far = {task.pk: _so_far(task, logged[task.pk]) for task in tasks}
    stages = [stage for stage in Stage if stage.value in quoted or any(task.stage == stage for task in tasks)]
    inside = {stage.value: [task for task in tasks if task.stage == stage] for stage in stages}
    ends = completion_in_parts(
        {stage: [so_far[task.pk] for task in some] for stage, some in inside.items()}, finished=finished
    )
    end = completion(list(so_far.values()), finished=finished)
    if apart:
        nothing = Completion(0.0, 0.0, 0.0, end.pace)
        end = replace(end, used=end.used + apart)
        ends[Stage.ASSESSING] = replace(ends.get(Stage.ASSESSING, nothing), used=apart)
        inside.setdefault(Stage.ASSESSING.value, [])
    price = job.quote.hourly_rate if job.quote else rate
    parts = []
    for stage in (one for one in Stage if one.value in inside):
        hours = quoted.get(stage.value, 0.0)
        in_hand = _in_hand(inside[stage.value], so_far, hours) - (apart if stage == Stage.ASSESSING else 0.0)
        eater, eaten = _eater(inside[stage.value], so_far, end.pace)
        parts.append(StageAtEnd(hours, ends[stage.value], price, in_hand, eater, eaten, words=str(stage.label)))
    eater, eaten = _eater(tasks, so_far, end.pace)
    whole = AtEnd(
        quoted=sum(quoted.values()),
        end=end,
        rate=price,
        so_far=sum(part.so_far for part in parts),
        eater=eater,
        eaten=eaten,
        visits=known.visits.get(job.pk, 0) / 60,
    )
    return JobAtEnd(job, whole, tuple(parts))


def _logged(tasks: Sequence[Task], minutes: Mapping[int, int], assessed: float) -> tuple[dict[int, float], float]:
    """Return the hours logged on each task, and those of the assessment before the order that no task stands for.

    They belong to the assessing tasks of the job that are done without hours of their own.
    """
    logged = {task.pk: minutes.get(task.pk, 0) / 60 for task in tasks}
    done = [
        task
        for task in tasks
        if task.stage == Stage.ASSESSING and task.state == Task.State.DONE and not logged[task.pk] and task.hours_likely
    ]
    likely = sum(float(task.hours_likely) for task in done)
    for task in done if assessed else ():
        logged[task.pk] = assessed * float(task.hours_likely) / likely
    return logged, 0.0 if done else assessed


def _so_far(task: Task, logged: float) -> TaskSoFar:
    likely = float(task.hours_likely)
    return TaskSoFar(
        hours=TaskHours(float(task.norm_hours), likely, max(likely, float(task.hours_80))),
        logged=logged,
        done=task.state == Task.State.DONE,
        said_left=None if task.hours_left is None else float(task.hours_left),
    )


def _in_hand(tasks: Sequence[Task], so_far: Mapping[int, TaskSoFar], quoted: float) -> float:
    """Return the hours in hand on closed tasks, less what open ones have taken beyond theirs already."""
    likely = sum(so_far[task.pk].hours.likely for task in tasks)
    if not likely:
        return quoted  # quoted and left out of the work
    in_hand = 0.0
    for one in (so_far[task.pk] for task in tasks):
        share = quoted * one.hours.likely / likely
        used = one.logged or (one.hours.likely if one.done else 0.0)
        in_hand += share - used if one.done else min(0.0, share - used)
    return in_hand


def _eater(tasks: Sequence[Task], so_far: Mapping[int, TaskSoFar], pace: float) -> tuple[Task | None, float]:
    over = [(task_end(so_far[task.pk], pace) - so_far[task.pk].hours.likely, task) for task in tasks]
    eaten, eater = max(over, key=lambda pair: pair[0], default=(0.0, None))
    return (eater, eaten) if eaten >= LEAST_EATEN else (None, max(0.0, eaten))


def margin_words(amount: Decimal) -> str:
    """Return a margin in whole pounds, "£240" or "−£96"."""
    words = money_round(abs(amount))
    return f"−{words}" if amount < 0 and words != money_round(Decimal(0)) else words


def _priced(hours: float, rate: Decimal) -> Decimal:
    return Decimal(str(round(hours, 2))) * rate
