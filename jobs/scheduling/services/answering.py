"""The manager's answer to what is offered: one way put in force, or none."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace

from django.db import transaction
from django.utils import timezone

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.problem import Operation
from jobs.scheduling.calc.solution import Solution, Work
from jobs.scheduling.house import Hold, HoldKind, House, in_words, job_key, person_key, solution_of, with_present_plan
from jobs.scheduling.models import Plan, PlanWish, Stint
from jobs.scheduling.queries import current_plan
from jobs.scheduling.services.making import Read, house_lock, house_read
from jobs.worklist.models import Task
from workshop.calendar.words import day_words
from workshop.people.models import Person
from workshop.web.errors import Refused

AGAIN = "Work the plan out again: the new ways will know it."
SHOWN = 3


@transaction.atomic
def plan_accept(
    *,
    plan: Plan,
    by: Person,
    at: dt.datetime,
    logged: Mapping[int, int] | None = None,
    working: Mapping[int, int] | None = None,
) -> Plan:
    """Put an offered plan in force; the other ways are thrown away.

    The house is read anew and the plan held against it by the independent checker: what was done since is left out,
    what was begun since stays with who began it. Raises Refused when the plan waits no more, when another one was put
    in force since, or when it breaks a rule by now.
    """
    house_lock()
    found = Plan.objects.filter(pk=plan.pk).first()
    if found is None or not found.is_offered:
        raise Refused("This plan waits for an answer no more: it was answered, or a newer one took its place.")
    present = current_plan()
    if present is None or present.pk != found.answers_id:
        raise Refused(f"Another plan was put in force since these ways were worked out. {AGAIN}")
    troubles = offer_troubles(found, at=at, logged=logged, working=working)
    if troubles:
        more = f" And {len(troubles) - SHOWN} more." if len(troubles) > SHOWN else ""
        raise Refused(f"The house has changed since: {' '.join(troubles[:SHOWN])}{more} {AGAIN}")
    Plan.objects.filter(pk=present.pk).update(is_current=False)
    found.is_current, found.is_offered = True, False
    found.save(update_fields=["is_current", "is_offered"])
    Plan.objects.filter(is_offered=True).delete()
    PlanWish.objects.filter(offers=found).update(plan=found, answered_at=at, answered_by=by)
    return found


@transaction.atomic
def offers_dismiss(*, plan: Plan, by: Person, at: dt.datetime) -> None:
    """Keep the plan in force: throw away everything offered beside this plan, and note who said so.

    Raises Refused when it waits no more, so that nobody dismisses what they have not seen.
    """
    house_lock()
    found = Plan.objects.filter(pk=plan.pk, is_offered=True).first()
    if found is None:
        raise Refused("This plan waits for an answer no more: it was answered, or a newer one took its place.")
    PlanWish.objects.filter(offers=found).update(answered_at=at, answered_by=by)
    Plan.objects.filter(is_offered=True).delete()


def offer_troubles(
    plan: Plan,
    *,
    at: dt.datetime,
    logged: Mapping[int, int] | None = None,
    working: Mapping[int, int] | None = None,
) -> list[str]:
    """Return what keeps an offered plan from being put in force now, a sentence each; empty when nothing does.

    The rows are those of now and the clock that of the plan: it is not held against it that time has passed, as
    it is not held against the plan in force. Hours worked since are no trouble; hours that grew are. Raises Refused
    when the house cannot be planned at all.
    """
    read = house_read(at=plan.made_at, logged=logged, working=working)
    problem = with_present_plan(read.problem)
    works = {name: work for name, work in solution_of(plan).operations.items() if name in problem.operation_by_id}
    problem = replace(
        problem,
        places=replace(problem.places, floor=problem.places.floor + _finished_since(read, plan)),
        operations=tuple(_as_planned(read.house, one, works.get(one.id)) for one in problem.operations),
    )
    broken = [_words(read.house, plan, one.sentence) for one in check(problem, Solution(works))]
    return [*broken, *_rests_cut(read.house, works), *_overtaken(read.house, works, timezone.localdate(at))]


def _finished_since(read: Read, plan: Plan) -> int:
    """Return how many instruments were finished since: each still holds the place the plan gives away after it."""
    at_work = {operation.job for operation in read.house.problem.operations}
    ended = {job_key(job) for job in plan.ends.values_list("job", flat=True)}
    return sum(
        name in ended and name not in at_work and bool(job.booked_in_on) for name, job in read.house.jobs.items()
    )


def _as_planned(house: House, operation: Operation, work: Work | None) -> Operation:
    """Return an operation as the plan had it, where that still holds: with hours that were worked off since."""
    if work is None:
        return operation
    hours = sum((one.end - one.start for one in work.stints), dt.timedelta()) / dt.timedelta(hours=1)
    if operation.hours <= hours:
        sessions = len(work.stints) if house.tasks[operation.id].sessions > 1 else operation.sessions
        operation = replace(operation, hours=hours, sessions=sessions)
    hold: Hold | None = house.holds.get(operation.id)
    if hold is not None and hold.kind == HoldKind.REST:
        return replace(operation, not_before=None)  # held against the hour in ``_rests_cut``
    return operation


def _rests_cut(house: House, works: Mapping[str, Work]) -> list[str]:
    """Return the tasks that would begin before a rest after work already done is over."""
    found = []
    for name, work in works.items():
        for first in house.tasks[name].after.all():
            if first.state == Task.State.DONE and first.done_at is not None and first.wait_hours:
                over = timezone.localtime(first.done_at + dt.timedelta(hours=first.wait_hours)).replace(tzinfo=None)
                if work.start < over:
                    about = f"“{house.tasks[name].name}” on {house.tasks[name].job.instrument}"
                    found.append(f"{about} would begin before the rest after “{first.name}” is over.")
    return found


def _overtaken(house: House, works: Mapping[str, Work], today: dt.date) -> list[str]:
    """Return the tasks a plan had over before today that nobody has begun."""
    return [
        f"“{house.tasks[name].name}” on {house.tasks[name].job.instrument} should be done since "
        f"{day_words(work.end.date())} in this plan, and nobody has begun it."
        for name, work in works.items()
        if work.end.date() < today and house.tasks[name].state == Task.State.TO_COME
    ]


def _words(house: House, plan: Plan, sentence: str) -> str:
    """Return a sentence of the checker in words of the house; people who are on the bench no more have names too."""
    stints = Stint.objects.filter(plan=plan).select_related("person")
    gone = {person_key(stint.person_id): stint.person for stint in stints} if "person-" in sentence else {}
    return in_words(replace(house, people={**gone, **house.people}), sentence)
