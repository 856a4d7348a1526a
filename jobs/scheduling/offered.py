"""What waits for the manager's answer: the ways to take in what happened, and what each would change for whom."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from jobs.scheduling.models import JobEnd, Move, Plan, PlanWish, Promise
from jobs.scheduling.queries import plans_offered, promises_standing
from jobs.worklist.models import Job, Task
from jobs.worklist.queries import open_jobs
from workshop.calendar.words import count_words, hours_words
from workshop.people.models import Person


@dataclass(frozen=True)
class Way:
    """One plan that is offered: how many of the tasks people were told move, and how late it ends in all."""

    number: int
    plan: Plan
    late: int
    days: int

    @property
    def words(self) -> str:
        """Return it in one line, e.g. "three of 12 tasks move; two instruments are late, 14 days in all"."""
        moved = f"{count_words(self.plan.moved)} of {_tasks(self.plan.told)} move{_s(self.plan.moved)}"
        if not self.plan.told:
            moved = "nobody was told anything for these days"
        if not self.late:
            return f"{moved}; no promise is late"
        late = f"{count_words(self.late)} instrument{' is' if self.late == 1 else 's are'} late"
        return f"{moved}; {late}, {count_words(self.days)} day{'' if self.days == 1 else 's'} in all"


@dataclass(frozen=True)
class PersonMoves:
    """What changes for one person: tasks that were told to them, and tasks that come to them."""

    person: Person
    moves: tuple[Move, ...]
    comes: tuple[Move, ...]

    @property
    def words(self) -> str:
        """Return how much it is, in words."""
        said = [f"{_tasks(len(self.moves))} move{_s(len(self.moves))}"] if self.moves else []
        if self.comes:
            said.append(f"{_tasks(len(self.comes))} come{_s(len(self.comes))} from somebody else")
        return ", ".join(said)


@dataclass(frozen=True)
class DateRow:
    """The date of one job: promised, as the plan in force has it, and as the new plan would."""

    job: Job
    promise: Promise | None
    was: JobEnd | None
    end: JobEnd | None

    @property
    def changes(self) -> bool:
        """Tell whether the two plans end it on different days."""
        return (self.was and self.was.ends_on) != (self.end and self.end.ends_on)

    @property
    def days_late(self) -> int:
        """Return the days from the promise to the new end; 0 when in time or not promised."""
        return _late(self.end, self.promise)

    @property
    def moves_promise(self) -> bool:
        """Tell whether its client has to be told: late now, and later than in the plan in force."""
        return self.days_late > _late(self.was, self.promise)


@dataclass(frozen=True)
class OfferedPage:
    """Everything on the page of what is offered."""

    ways: tuple[Way, ...]
    chosen: Way
    people: tuple[PersonMoves, ...]
    dates: tuple[DateRow, ...]
    same: int
    since: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """Return how many ways there are."""
        number = len(self.ways)
        words = f"{count_words(number)} way{'' if number == 1 else 's'} to take in what happened"
        return words[0].upper() + words[1:]


def offered_page(asked: str, now: dt.datetime) -> OfferedPage | None:
    """Return what is offered with the way asked for by its number, the calm one otherwise; None if nothing waits.

    The number of questions does not grow with the tasks.
    """
    plans = plans_offered()
    if not plans:
        return None
    jobs = list(open_jobs())
    promises = promises_standing(jobs)
    ends = _ends([*plans, *(plan.answers for plan in plans[:1] if plan.answers)])
    ways = tuple(_way(number, plan, ends[plan.pk], promises) for number, plan in enumerate(plans, start=1))
    chosen = next((way for way in ways if str(way.number) == asked), ways[(len(ways) - 1) // 2])
    was = ends[chosen.plan.answers_id or 0]
    rows = [_row(job, promises, was, ends[chosen.plan.pk]) for job in jobs]
    shown = [row for row in rows if row.changes or row.days_late]
    return OfferedPage(
        ways=ways,
        chosen=chosen,
        people=tuple(_people(chosen.plan)),
        dates=tuple(sorted(shown, key=lambda row: (not row.moves_promise, -row.days_late, row.job.pk))),
        same=len(rows) - len(shown),
        since=tuple(_since(chosen.plan, now)),
    )


def date_to_say(end: JobEnd) -> dt.date:
    """Return the day a client may be told: it holds 8 times in 10 where futures were tried, the planned one if not."""
    return max(end.ends_on, end.day_80 or end.ends_on)


def promises_moved(plan: Plan) -> list[DateRow]:
    """Return the jobs whose standing promise an offered plan moves for the worse, the latest first."""
    jobs = list(open_jobs())
    promises, ends = promises_standing(jobs), _ends([plan, *([plan.answers] if plan.answers else [])])
    rows = [_row(job, promises, ends[plan.answers_id or 0], ends[plan.pk]) for job in jobs]
    return sorted((row for row in rows if row.moves_promise), key=lambda row: (-row.days_late, row.job.pk))


def offer_words(plans: Iterable[Plan]) -> str:
    """Return what waits in a few words, e.g. "three to seven tasks move"; empty for nothing."""
    moved = sorted(plan.moved for plan in plans)
    if not moved:
        return ""
    if moved[0] == moved[-1]:
        return f"{_tasks(moved[0])} move{_s(moved[0])}" if moved[0] else "no task moves, but a promise does"
    return f"{count_words(moved[0])} to {_tasks(moved[-1])} move"


def _ends(plans: Iterable[Plan]) -> dict[int, dict[int, JobEnd]]:
    """Return plan -> job -> what the plan says of it."""
    found: dict[int, dict[int, JobEnd]] = defaultdict(dict)
    for end in JobEnd.objects.filter(plan__in=[plan.pk for plan in plans]):
        found[end.plan_id][end.job_id] = end
    return found


def _row(job: Job, promises: Mapping[int, Promise], was: Mapping[int, JobEnd], ends: Mapping[int, JobEnd]) -> DateRow:
    return DateRow(job, promises.get(job.pk), was.get(job.pk), ends.get(job.pk))


def _way(number: int, plan: Plan, ends: Mapping[int, JobEnd], promises: Mapping[int, Promise]) -> Way:
    late = [days for job, end in ends.items() if (days := _late(end, promises.get(job)))]
    return Way(number, plan, len(late), sum(late))


def _late(end: JobEnd | None, promise: Promise | None) -> int:
    return max(0, (end.ends_on - promise.date).days) if end and promise else 0


def _people(plan: Plan) -> list[PersonMoves]:
    """Return what changes, person by person in the order of their first change."""
    moves, comes, people = defaultdict(list), defaultdict(list), dict[int, Person]()
    for move in plan.moves.select_related("task__job__instrument", "was_person", "person"):
        people |= {move.was_person_id: move.was_person, move.person_id: move.person}
        moves[move.was_person_id].append(move)
        if move.person_id != move.was_person_id:
            comes[move.person_id].append(move)
    return [
        PersonMoves(person, tuple(moves[pk]), tuple(sorted(comes[pk], key=lambda one: one.starts_at)))
        for pk, person in people.items()
    ]


def _since(plan: Plan, now: dt.datetime) -> list[str]:
    """Return what happened since a plan was worked out, a few words each."""
    closed = Task.objects.filter(done_at__gt=plan.made_at).count()
    wishes = PlanWish.objects.filter(asked_at__gt=plan.made_at, done_at=None).values_list("why", flat=True)
    hours = (now - plan.made_at) / dt.timedelta(hours=1)
    said = [f"it is {hours_words(round(hours * 2) / 2)} old"] if 1 <= hours < 24 else []
    if hours >= 24:
        days = int(hours // 24)
        said = [f"it is {count_words(days)} day{'' if days == 1 else 's'} old"]
    if closed:
        said.append(f"{_tasks(closed)} {'has' if closed == 1 else 'have'} been closed")
    return [*said, *(f"a newer plan is asked for: {why}" for why in wishes)]


def _tasks(number: int) -> str:
    return f"{count_words(number)} task{'' if number == 1 else 's'}"


def _s(number: int) -> str:
    return "s" if number == 1 else ""
