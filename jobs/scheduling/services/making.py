"""Plans of the whole house: worked out, checked, kept; old ones thrown away."""

import datetime as dt
import time
from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from jobs.scheduling.calc.decides import job_deciders
from jobs.scheduling.calc.plan import PlanRefused
from jobs.scheduling.calc.plan import plan as plan_of
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.remarks import remarks
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.house import House, house_problem, in_words, plannable
from jobs.scheduling.models import JobEnd, Plan, Stint
from jobs.scheduling.outlook import outlook_add
from jobs.scheduling.reasons import decider_kind, decider_words
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.people.models import Person
from workshop.web.errors import Refused

NOTHING_PLANNED = "No plan could be made, because no instrument can be planned as it is."
KEPT_DAYS = 60  # every plan stays readable this long, then one a day; our judgement


@dataclass(frozen=True)
class Read:
    """The house as it was read: its rows, what of it can be planned, and a sentence for what cannot."""

    house: House
    problem: Problem
    sentences: list[str]


def house_read(
    *, at: dt.datetime, logged: Mapping[int, int] | None = None, working: Mapping[int, int] | None = None
) -> Read:
    """Read the house. Raises Refused when there is work and none of it can be planned."""
    try:
        house = house_problem(at=at, logged=logged, working=working)
    except ValueError as error:
        raise Refused(f"The house cannot be planned: {error}") from error
    try:
        problem, sentences = plannable(house)
    except PlanRefused as error:
        raise Refused(no_plan(house, error)) from error
    if house.problem.operations and not problem.operations:
        raise Refused(" ".join([NOTHING_PLANNED, *sentences]))
    return Read(house, problem, sentences)


def no_plan(house: House, error: PlanRefused) -> str:
    """Return why there is no plan, in words of the house."""
    return f"No plan could be made. {in_words(house, str(error))}"


def plan_make(
    *,
    by: Person | None,
    at: dt.datetime,
    why: str,
    logged: Mapping[int, int] | None = None,
    working: Mapping[int, int] | None = None,
) -> Plan:
    """Work out a plan of the whole house by simple rules and put it in force; the one before stays readable.

    A job that cannot be planned is named with what to change, and the rest is planned. Nothing is stored
    that the independent checker refuses. A house without open work has an empty plan. Raises Refused when there is
    work and none of it can be planned. For a plan that people were told of see ``plan_renew``.
    """
    begun = time.monotonic()
    read = house_read(at=at, logged=logged, working=working)
    try:
        solution = plan_of(read.problem, rounds=0, may_compile=False)
    except PlanRefused as error:
        raise Refused(no_plan(read.house, error)) from error
    plan = Plan(made_at=at, made_by=by, why=why[:200], seconds=time.monotonic() - begun)
    plan_store(plan, read, solution)
    outlook_add(plan, read.house, read.problem, may_compile=False)
    return plan


@transaction.atomic
def plan_store(plan: Plan, read: Read, solution: Solution) -> Plan:
    """Keep a plan with its stints and ends. It is put in force unless it is offered.

    What was offered around the plan in force before is thrown away with that: it is no answer any more.
    """
    house, problem = read.house, read.problem
    house_lock()
    # A plan that was begun later knows more: the one that comes in after it is kept, not put in force.
    in_force = not plan.is_offered and not Plan.objects.filter(is_current=True, made_at__gt=plan.made_at).exists()
    if in_force:
        Plan.objects.filter(is_current=True).update(is_current=False)
        Plan.objects.filter(is_offered=True).delete()
    plan.is_current = in_force
    plan.status = status_of(solution)
    plan.weighted_days_late = round(solution.weighted_days_late(problem))
    plan.troubles = read.sentences + [in_words(house, str(one)) for one in remarks(problem, solution)]
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
    deciders = job_deciders(problem, solution)
    JobEnd.objects.bulk_create(
        JobEnd(
            plan=plan,
            job=house.jobs[name],
            ends_on=end.date(),
            decider=decider_kind(house, deciders[name]),
            decider_words=decider_words(house, deciders[name])[:200],
        )
        for name, end in solution.job_ends(problem).items()
    )
    return plan


def house_lock() -> None:
    """Take turns with everybody else who changes the plan, until this transaction ends.

    The shop's row is always there to lock, even before the first plan.
    """
    Shop.objects.select_for_update().get(pk=the_shop().pk)


def status_of(solution: Solution) -> str:
    """Return how good a plan is known to be, honestly."""
    if solution.proved:
        return "proved best"
    return "best found" if solution.seconds else "best of the simple rules"


@transaction.atomic
def plans_thin(*, at: dt.datetime) -> int:
    """Throw away old plans but the last of each day, and return how many.

    The plan in force always stays, and what is offered stays as long as it waits for an answer.
    """
    old = Plan.objects.filter(made_at__lt=at - dt.timedelta(days=KEPT_DAYS), is_current=False, is_offered=False)
    last: dict[dt.date, int] = {}
    for plan in old.order_by("made_at", "pk"):
        last[timezone.localdate(plan.made_at)] = plan.pk
    gone = old.exclude(pk__in=last.values())
    number = gone.count()
    gone.delete()
    return number
