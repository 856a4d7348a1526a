"""Everything on the page of the plan."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils import timezone
from django.utils.safestring import SafeString

from jobs.scheduling.house.rows import held_by_variation, people_on_the_bench
from jobs.scheduling.models import JobEnd, Plan, Stint
from jobs.scheduling.queries import Moved, moved_since, promises_standing
from jobs.scheduling.timelines.between import FloorWeek, arriving, floor_weeks, rests
from jobs.scheduling.timelines.blocks import Block, JobRow, blocks_of, runs_of_jobs, runs_of_people
from jobs.scheduling.timelines.draw import draw_instruments, draw_people
from jobs.worklist.models import Job, Task
from jobs.worklist.queries import open_jobs
from workshop.calendar.queries import closed_days
from workshop.calendar.words import count_words
from workshop.house.queries import the_shop
from workshop.people.models import Person
from workshop.web.timeline import Arrival, Away, Span, Wait

WEEKS = 8
LISTED = 250  # tasks in the table below the timeline; more have a page of their own


@dataclass(frozen=True)
class PlanPage:
    """Everything on the page of the plan."""

    plan: Plan | None
    first: dt.date
    last: dt.date
    sentence: str
    why: str
    moved: Moved | None
    by_person: SafeString
    by_instrument: SafeString
    blocks: tuple[Block, ...]
    jobs: tuple[JobRow, ...]
    waits: tuple[Wait, ...]
    arrivals: tuple[Arrival, ...]
    floor: tuple[FloorWeek, ...]

    @property
    def has_long_table(self) -> bool:
        """Tell whether the tasks are too many to stand in a table below what is drawn."""
        return len(self.blocks) > LISTED

    @property
    def has_help(self) -> bool:
        """Tell whether changes were tried that would help."""
        return any(row.help for row in self.jobs)

    @property
    def has_chances(self) -> bool:
        """Tell whether futures were tried on the plan."""
        return any(row.end is not None and row.end.day_80 for row in self.jobs)


def plan_page(plan: Plan | None, first: dt.date, now: dt.datetime) -> PlanPage:
    """Return the page of a plan for eight weeks from a Monday. The number of questions does not grow with tasks."""
    shop = the_shop()
    span = Span(
        first,
        weeks=WEEKS,
        workdays=tuple(shop.workdays),
        opens=shop.opens,
        closes=shop.closes,
        now=timezone.localtime(now).replace(tzinfo=None),
    )
    last = first + dt.timedelta(days=7 * WEEKS - 1)
    rows = job_rows(plan)
    stints = _stints(plan)
    blocks = blocks_of(stints, held_by_variation())
    closed = [Away("", day, day, why) for day, why in closed_days(shop, first, last).items()]
    waits = rests(rows, blocks, first)
    arrivals = arriving(rows, first, timezone.localdate(now))
    begins = {(wait.lane, wait.first) for wait in waits if isinstance(wait.first, dt.datetime)}
    shown = tuple(one for one in blocks.values() if one.ends.date() >= first and one.starts.date() <= last)
    people = people_on_the_bench()
    return PlanPage(
        plan=plan,
        first=first,
        last=last,
        sentence=sentence(rows, plan),
        why=why_late(rows),
        moved=moved_since(plan) if plan else None,
        by_person=draw_people(span, people, runs_of_people(stints, blocks, shop.workdays), closed, shop),
        by_instrument=draw_instruments(
            span, rows, runs_of_jobs(stints, blocks, shop.workdays, begins), waits, arrivals, closed
        ),
        blocks=shown,
        jobs=rows,
        waits=tuple(sorted((one for one in waits if span.shows(one.first, one.last)), key=lambda one: str(one.first))),
        arrivals=tuple(sorted((one for one in arrivals if span.shows(one.date, one.date)), key=lambda one: one.date)),
        floor=tuple(floor_weeks(rows, blocks.values(), first, WEEKS)),
    )


def plan_blocks(plan: Plan | None) -> list[Block]:
    """Return all tasks of a plan by their beginning, whatever weeks they lie in."""
    return list(blocks_of(_stints(plan), held_by_variation()).values())


def blocks_between(plan: Plan | None, first: dt.date, last: dt.date) -> list[Block]:
    """Return the tasks of a plan that touch the days from one to another, by their beginning."""
    return [one for one in plan_blocks(plan) if one.ends.date() >= first and one.starts.date() <= last]


def _stints(plan: Plan | None) -> list[Stint]:
    """Return all stints of a plan in order, sharing one row of each task, job and person: a full house has thousands.

    Asked for by the plan, not by their numbers: SQLite takes no list of a thousand.
    """
    if plan is None:
        return []
    planned = Task.objects.filter(pk__in=plan.stints.values("task"))
    jobs = {job.pk: job for job in Job.objects.filter(pk__in=planned.values("job")).select_related("instrument")}
    tasks = {task.pk: task for task in planned}
    people = {person.pk: person for person in Person.objects.filter(pk__in=plan.stints.values("person"))}
    for task in tasks.values():
        task.job = jobs[task.job_id]
    stints = list(plan.stints.order_by("starts_at", "pk"))
    for stint in stints:
        stint.task, stint.person = tasks[stint.task_id], people[stint.person_id]
    return stints


def job_rows(plan: Plan | None) -> tuple[JobRow, ...]:
    """Return the open jobs with what a plan says of them, the closest to its promise first."""
    jobs = list(open_jobs())
    ends = {end.job_id: end for end in JobEnd.objects.filter(plan=plan)} if plan else {}
    promises = promises_standing(jobs)
    rows = (JobRow(job, ends.get(job.pk), promises.get(job.pk)) for job in jobs)
    return tuple(sorted(rows, key=lambda row: (row.days is None, row.days if row.days is not None else 0, row.job.pk)))


def sentence(rows: Sequence[JobRow], plan: Plan | None) -> str:
    """Return how the plan stands: how many instruments, and which end late."""
    if plan is None:
        return "There is no plan yet."
    inside = sum(row.end is not None for row in rows)
    words = f"{count_words(inside)} instrument{' is' if inside == 1 else 's are'} planned"
    words = words[0].upper() + words[1:]
    late = [row for row in rows if row.days_late]
    if not late:
        promised = any(row.days is not None for row in rows)
        return f"{words}, and every promise holds." if promised else f"{words}; no date has been promised yet."
    worst = f"no. {late[0].job.instrument.number}"
    days = f"{count_words(late[0].days_late)} day{'' if late[0].days_late == 1 else 's'}"
    if len(late) == 1:
        return f"{words}, and {worst} ends {days} after its promise."
    return f"{words}, and {count_words(len(late))} end after their promise, {worst} by {days}."


def why_late(rows: Sequence[JobRow]) -> str:
    """Return what decides the date of the latest job; empty when none is late."""
    late = [row for row in rows if row.days_late]
    if not late or late[0].end is None:
        return ""
    words = late[0].end.decider_words or late[0].end.get_decider_display()
    return f"What decides no. {late[0].job.instrument.number} is {words}."
