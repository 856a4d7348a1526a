"""The plan as it is drawn and listed: bars, waits, arrivals and promises of some weeks, from the plan in force."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString

from jobs.scheduling.models import JobEnd, Plan, Promise, Stint
from jobs.scheduling.queries import planned_ends, promises_standing, stints_of
from jobs.supplies.models import Need
from jobs.worklist.models import Job, Task
from jobs.worklist.queries import open_jobs
from workshop.calendar.queries import closed_days
from workshop.calendar.words import day_words
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.people.models import Person
from workshop.places.models import Place
from workshop.web import timeline
from workshop.web.timeline import Arrival, Away, Bar, Lane, Span, Wait

WEEKS = 8
SHORTEST_WAIT = dt.timedelta(hours=20)  # shorter rests are over by the next morning and would only clutter


@dataclass(frozen=True)
class Block:
    """One task as the plan has it: who, from when to when."""

    task: Task
    person: Person
    starts: dt.datetime
    ends: dt.datetime

    @property
    def begun(self) -> bool:
        """Tell whether somebody has begun it."""
        return self.task.state == Task.State.AT_WORK


@dataclass(frozen=True)
class JobRow:
    """One job in the plan: its end, its promise, and what decides it."""

    job: Job
    end: JobEnd | None
    promise: Promise | None

    @property
    def days(self) -> int | None:
        """Return the days in hand before the promise; below nought: late."""
        if self.end is None or self.promise is None:
            return None
        return (self.promise.date - self.end.ends_on).days


@dataclass(frozen=True)
class FloorWeek:
    """How many floor places one week takes at most."""

    monday: dt.date
    held: int
    total: int


@dataclass(frozen=True)
class PlanPage:
    """Everything on the page of the plan."""

    plan: Plan | None
    first: dt.date
    last: dt.date
    sentence: str
    by_person: SafeString
    by_instrument: SafeString
    blocks: tuple[Block, ...]
    jobs: tuple[JobRow, ...]
    floor: tuple[FloorWeek, ...]


def plan_page(plan: Plan | None, first: dt.date, now: dt.datetime) -> PlanPage:
    """Return the page of a plan for eight weeks from a Monday. The number of questions does not grow with tasks."""
    shop = the_shop()
    last = first + dt.timedelta(days=7 * WEEKS - 1)
    jobs = list(open_jobs())
    ends, promises = planned_ends(), promises_standing(jobs)
    rows = tuple(
        sorted(
            (JobRow(job, ends.get(job.pk), promises.get(job.pk)) for job in jobs),
            key=lambda row: (row.days is None, row.days if row.days is not None else 0, row.job.pk),
        )
    )
    stints = list(stints_of(plan, first - dt.timedelta(days=60), last)) if plan else []
    blocks = tuple(_blocks(stints))
    shown = tuple(block for block in blocks if timezone.localtime(block.ends).date() >= first)
    people = list(Person.objects.filter(is_active=True, on_the_bench=True).prefetch_related("skills", "leaves"))
    span = Span(
        first,
        weeks=WEEKS,
        workdays=tuple(shop.workdays),
        opens=shop.opens,
        closes=shop.closes,
        now=timezone.localtime(now).replace(tzinfo=None),
    )
    closed = [Away("", day, day, why) for day, why in closed_days(shop, first, last).items()]
    return PlanPage(
        plan=plan,
        first=first,
        last=last,
        sentence=_sentence(rows, plan),
        by_person=_people(span, people, _turns(stints), closed, shop),
        by_instrument=_instruments(span, rows, shown, closed),
        blocks=shown,
        jobs=rows,
        floor=tuple(_floor(rows, blocks, first)),
    )


def _blocks(stints: Iterable[Stint]) -> list[Block]:
    """Return one block a task, from its first stint to its last."""
    found: dict[int, Block] = {}
    for stint in stints:
        known = found.get(stint.task_id)
        if known is None:
            found[stint.task_id] = Block(stint.task, stint.person, stint.starts_at, stint.ends_at)
        else:
            found[stint.task_id] = Block(known.task, known.person, known.starts, max(known.ends, stint.ends_at))
    return list(found.values())


def _turns(stints: Iterable[Stint]) -> tuple[Block, ...]:
    """Return what each person does in turn: stints of one task that follow each other are one block.

    Sessions with other work between them stay apart, so that no bar hides another.
    """
    turns: list[Block] = []
    last: dict[int, int] = {}
    for stint in stints:
        place = last.get(stint.person_id)
        if place is not None and turns[place].task.pk == stint.task_id:
            known = turns[place]
            turns[place] = Block(known.task, known.person, known.starts, stint.ends_at)
        else:
            last[stint.person_id] = len(turns)
            turns.append(Block(stint.task, stint.person, stint.starts_at, stint.ends_at))
    return tuple(turns)


def _sentence(rows: tuple[JobRow, ...], plan: Plan | None) -> str:
    if plan is None:
        return "There is no plan yet."
    late = [row for row in rows if row.days is not None and row.days < 0]
    inside = sum(1 for row in rows if row.end is not None)
    if not late:
        return f"{inside} instruments are planned, and every promise holds."
    worst = late[0]
    more = f", and {len(late) - 1} more" if len(late) > 1 else ""
    days = -worst.days if worst.days is not None else 0
    return f"No. {worst.job.instrument.number} will be {days} days late{more}."


def _local(moment: dt.datetime) -> dt.datetime:
    return timezone.localtime(moment).replace(tzinfo=None)


def short(name: str, most: int = 40) -> str:
    """Return a task's name as a bar carries it: up to its first stop, cut at a whole word."""
    first = name.split(":")[0].split(",")[0].split("(")[0].strip()
    return first if len(first) <= most else first[:most].rsplit(" ", 1)[0]


def _bar(block: Block, lane: str) -> Bar:
    number = str(block.task.job.instrument.number)
    state = "begun" if block.begun else "planned"
    starts, ends = _local(block.starts), _local(block.ends)
    return Bar(
        lane,
        starts,
        ends,
        short(block.task.name),
        number=number,
        state=state,
        href=reverse("task-show", args=[block.task.pk]),
        title=f"{number} {block.task.name}, {block.person}, {day_words(starts.date())} to {day_words(ends.date())}",
    )


def _people(span: Span, people: list[Person], blocks: tuple[Block, ...], closed: list[Away], shop: Shop) -> SafeString:
    lanes = [Lane(str(person), ", ".join(str(skill) for skill in person.skills.all())) for person in people]
    bars = [_bar(block, str(block.person)) for block in blocks]
    away = list(closed)
    for person in people:
        away += [Away(str(person), leave.first_day, leave.last_day, leave.reason) for leave in person.leaves.all()]
        off = [day for day in shop.workdays if day not in person.workdays]
        for week in range(WEEKS):
            monday = span.start + dt.timedelta(days=7 * week)
            away += [
                Away(str(person), monday + dt.timedelta(days=day), monday + dt.timedelta(days=day), "not in")
                for day in off
            ]
    return timeline.draw_people(span, lanes, bars, away, title="Plan by person")


def _instruments(span: Span, rows: tuple[JobRow, ...], blocks: tuple[Block, ...], closed: list[Away]) -> SafeString:
    by_job: dict[int, list[Block]] = defaultdict(list)
    for block in blocks:
        by_job[block.task.job_id].append(block)
    lanes, bars, waits, promises = [], [], [], []
    for row in rows:
        if row.end is None and row.job.pk not in by_job:
            continue
        name = str(row.job.instrument.number)
        url = reverse("desk-instrument", args=[row.job.instrument.number])
        lanes.append(Lane(name, f"{row.job.instrument.maker} {row.job.instrument.kind}".strip(), url))
        own = sorted(by_job[row.job.pk], key=lambda block: block.starts)
        bars += _merged(own, name)
        waits += _waits(own, name)
        if row.promise is not None:
            promises.append(_promise(row, name))
    return timeline.draw_instruments(
        span, lanes, bars, waits, _arrivals(rows), promises, closed, title="Plan by instrument"
    )


def _merged(own: list[Block], lane: str) -> list[Bar]:
    """Return the bars of one instrument; tasks that overlap or touch on a day share one, so that none hides another."""
    groups: list[list[Block]] = []
    for block in own:
        if groups and _local(block.starts).date() <= max(_local(one.ends).date() for one in groups[-1]):
            groups[-1].append(block)
        else:
            groups.append([block])
    bars = []
    for group in groups:
        starts = min(_local(one.starts) for one in group)
        ends = max(_local(one.ends) for one in group)
        names = list(dict.fromkeys(short(one.task.name, 24) for one in group))
        text = ", ".join(names[:2]) + (f" and {len(names) - 2} more" if len(names) > 2 else "")
        state = "begun" if any(one.begun for one in group) else "planned"
        full = "; ".join(f"{one.task.name} ({one.person})" for one in group)
        title = f"{lane} {full}, {day_words(starts.date())} to {day_words(ends.date())}"
        bars.append(Bar(lane, starts, ends, text, state=state, title=title))
    return bars


def _waits(own: list[Block], lane: str) -> list[Wait]:
    """Return the rests of one instrument in which nobody works on it."""
    waits = []
    for place, block in enumerate(own):
        rest = dt.timedelta(hours=block.task.wait_hours)
        later = [one.starts for one in own[place + 1 :]]
        still = max((one.ends for one in own[: place + 1]), default=block.ends)
        if rest < SHORTEST_WAIT or block.ends < still:
            continue
        until = min([block.ends + rest, *later])
        if until - block.ends < SHORTEST_WAIT:
            continue
        words = f"{block.task.wait_reason or 'rests'} {round(block.task.wait_hours / 24)} d"
        waits.append(Wait(lane, _local(block.ends), _local(until), words))
    return waits


def _promise(row: JobRow, lane: str) -> timeline.Promise:
    assert row.promise is not None  # noqa: S101  the caller has looked
    late = row.days is not None and row.days < 0
    words = f"{day_words(row.promise.date)}{', late' if late else ''}"
    return timeline.Promise(lane, row.promise.date, None, None, words, late)


def _arrivals(rows: tuple[JobRow, ...]) -> list[Arrival]:
    needs = Need.objects.filter(
        task__job__in=[row.job.pk for row in rows], state=Need.State.ORDERED, order_line__expected_on__isnull=False
    ).select_related("part", "order_line", "task__job__instrument")
    seen: dict[tuple[str, dt.date], str] = {}
    for need in needs:
        day = need.order_line.expected_on if need.order_line else None
        if day is not None:
            seen.setdefault((str(need.task.job.instrument.number), day), str(need.part))
    return [Arrival(lane, day, words) for (lane, day), words in seen.items()]


def _floor(rows: tuple[JobRow, ...], blocks: tuple[Block, ...], first: dt.date) -> list[FloorWeek]:
    """Return floor places week by week: held from arrival, or from the first stint, to the planned end."""
    total = sum(Place.objects.filter(kind=Place.Kind.FLOOR, in_use=True).values_list("holds", flat=True))
    begins: dict[int, dt.date] = {}
    for block in blocks:
        day = _local(block.starts).date()
        begins[block.task.job_id] = min(begins.get(block.task.job_id, day), day)
    weeks = []
    for week in range(WEEKS):
        monday = first + dt.timedelta(days=7 * week)
        sunday = monday + dt.timedelta(days=6)
        held = 0
        for row in rows:
            arrives = row.job.booked_in_on or begins.get(row.job.pk)
            leaves = row.end.ends_on if row.end else (sunday if row.job.booked_in_on else None)
            held += arrives is not None and arrives <= sunday and leaves is not None and leaves >= monday
        weeks.append(FloorWeek(monday, held, total))
    return weeks
