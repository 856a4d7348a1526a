"""Changes of the plan and of promises."""

import datetime as dt
import time
from collections.abc import Mapping
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from jobs.scheduling.calc.decides import Decider, Kind, job_decider
from jobs.scheduling.calc.plan import PlanRefused
from jobs.scheduling.calc.plan import plan as plan_of
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.house import House, house_problem
from jobs.scheduling.models import JobEnd, Plan, Promise, Stint
from jobs.scheduling.plannable import plannable
from jobs.worklist.models import Job
from workshop.house.models import Shop
from workshop.people.models import Person
from workshop.web.errors import Refused

DECIDERS = {
    Kind.PERSON: JobEnd.Decider.PERSON,
    Kind.AWAY: JobEnd.Decider.PERSON,
    Kind.ROOM: JobEnd.Decider.PERSON,
    Kind.APPOINTMENT: JobEnd.Decider.PERSON,
    Kind.PLACE: JobEnd.Decider.PLACE,
    Kind.PART: JobEnd.Decider.PART,
    Kind.WAIT: JobEnd.Decider.WAIT,
}


def plan_make(
    *,
    by: Person | None,
    at: dt.datetime,
    why: str,
    logged: Mapping[int, int] | None = None,
    working: Mapping[int, int] | None = None,
) -> Plan:
    """Work out a plan of the whole house and put it in force; the one before stays readable.

    A job that cannot be planned is named with what to change, and the rest is planned. Nothing is stored
    that the independent checker refuses. Raises Refused when nothing can be planned at all.
    """
    begun = time.monotonic()
    try:
        house = house_problem(at=at, logged=logged, working=working)
        problem, sentences = plannable(house)
        solution = plan_of(problem)
    except PlanRefused as error:
        raise Refused(f"No plan could be made. {error}") from error
    except ValueError as error:
        raise Refused(f"The house cannot be planned: {error}") from error
    return _store(
        house, problem, solution, by=by, at=at, why=why, sentences=sentences, seconds=time.monotonic() - begun
    )


@transaction.atomic
def _store(
    house: House,
    problem: Problem,
    solution: Solution,
    *,
    by: Person | None,
    at: dt.datetime,
    why: str,
    sentences: list[str],
    seconds: float,
) -> Plan:
    # Two people who press at once take turns at the row of the shop: the one plan in force may not exist yet, or
    # change while it is waited for.
    Shop.objects.select_for_update().first()
    Plan.objects.filter(is_current=True).update(is_current=False)
    plan = Plan(
        made_at=at,
        made_by=by,
        why=why[:200],
        is_current=True,
        seconds=seconds,
        weighted_days_late=round(solution.weighted_days_late(problem)),
        status=f"best of the simple rules ({solution.made_by})"[:40]
        if solution.made_by
        else "best of the simple rules",
        troubles=sentences,
    )
    plan.full_clean()
    plan.save()
    zone = timezone.get_current_timezone()
    Stint.objects.bulk_create(
        Stint(
            plan=plan,
            task=house.tasks[name],
            person=house.people[work.technician],
            starts_at=stint.start.replace(tzinfo=zone),
            ends_at=stint.end.replace(tzinfo=zone),
        )
        for name, work in solution.operations.items()
        for stint in work.stints
    )
    JobEnd.objects.bulk_create(
        JobEnd(
            plan=plan,
            job=house.jobs[name],
            ends_on=end.date(),
            decider=DECIDERS.get((decider := job_decider(problem, solution, name)).kind, JobEnd.Decider.WORK),
            decider_words=decider_words(house, decider)[:200],
        )
        for name, end in solution.job_ends(problem).items()
    )
    return plan


def decider_words(house: House, decider: Decider) -> str:
    """Return what decides a job's date in words, e.g. "a person: Corin, until hammers are hung"."""
    main = [link for link in decider.links if link.kind == decider.kind and link.who == decider.who]
    longest = max(main, key=lambda link: link.end - link.start) if main else None
    task = house.tasks.get(longest.operation) if longest else None
    about = f"“{task.name}”" if task else "its work"
    person = house.people.get(decider.who)
    if decider.kind in (Kind.PERSON, Kind.AWAY, Kind.ROOM, Kind.APPOINTMENT):
        verb = "is away" if decider.kind == Kind.AWAY else "has other work first"
        return f"a person: {person or 'nobody free'} {verb}, before {about}"
    if decider.kind == Kind.PLACE:
        return f"a place: the {decider.who} is taken, before {about}"
    if decider.kind == Kind.PART:
        return f"a part or an answer, before {about}"
    if decider.kind == Kind.WAIT:
        reason = task.wait_reason if task and task.wait_reason else "rest"
        return f"a wait: {reason} after {about}"
    return "the work itself"


@transaction.atomic
def promise_give(
    *,
    job: Job,
    date: dt.date,
    chance: Decimal | None,
    by: Person | None,
    at: dt.datetime,
    reason: str,
) -> Promise:
    """Give a client a date. Earlier promises stay readable.

    Raises Refused for a date in the past, or a second promise without saying why the first moved.
    """
    if date < timezone.localtime(at).date():
        raise Refused(f"{date:%d %b %Y} has passed: promise a day that is still to come.")
    if job.promises.exists() and not reason.strip():
        raise Refused("Say why the date moves: the client will ask.")
    promise = Promise(job=job, date=date, chance=chance, given_at=at, given_by=by, reason=reason.strip())
    promise.full_clean()
    promise.save()
    return promise
