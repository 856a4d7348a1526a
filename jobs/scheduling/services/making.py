"""Plans of the whole house: worked out, checked, kept; old ones thrown away."""

import datetime as dt
import time
from collections.abc import Callable, Mapping

from django.db import transaction
from django.utils import timezone

from jobs.scheduling.calc.decides import job_decider
from jobs.scheduling.calc.plan import PlanRefused, plan_again
from jobs.scheduling.calc.plan import plan as plan_of
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve import Progress, near_operations
from jobs.scheduling.house import House, house_problem, in_words, plannable, with_present_plan
from jobs.scheduling.models import JobEnd, Plan, Stint
from jobs.scheduling.reasons import decider_kind, decider_words
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.people.models import Person
from workshop.web.errors import Refused

NOTHING_PLANNED = "No plan could be made, because no instrument can be planned as it is."
KEPT_DAYS = 60  # every plan stays readable this long, then one a day; our judgement


def plan_make(
    *,
    by: Person | None,
    at: dt.datetime,
    why: str,
    logged: Mapping[int, int] | None = None,
    working: Mapping[int, int] | None = None,
    seconds: float | None = None,
    progress: Callable[[Progress], bool] | None = None,
) -> Plan:
    """Work out a plan of the whole house and put it in force; the one before stays readable.

    A job that cannot be planned is named with what to change, and the rest is planned. Nothing is stored
    that the independent checker refuses. A house without open work has an empty plan. Raises Refused when there is
    work and none of it can be planned.

    ``seconds``: how long to search, keeping to the plan in force for the next ten working days unless there is a
    reason; without it the best simple rule is taken at once. ``progress`` is told how the
    search goes and may stop it by returning False: the best plan so far is then put in force.
    """
    begun = time.monotonic()
    try:
        house = house_problem(at=at, logged=logged, working=working)
    except ValueError as error:
        raise Refused(f"The house cannot be planned: {error}") from error
    try:
        problem, sentences = plannable(house)
        if seconds:
            solution = _around_what_was_said(with_present_plan(problem), seconds, progress)
        else:
            solution = plan_of(problem, rounds=0, may_compile=False)
    except PlanRefused as error:
        raise Refused(f"No plan could be made. {in_words(house, str(error))}") from error
    if house.problem.operations and not problem.operations:
        raise Refused(" ".join([NOTHING_PLANNED, *sentences]))
    return _store(
        house, problem, solution, by=by, at=at, why=why, sentences=sentences, seconds=time.monotonic() - begun
    )


def _around_what_was_said(problem: Problem, seconds: float, progress: Callable[[Progress], bool] | None) -> Solution:
    """Plan calmly where people were told what to do in the next ten days, freely where nobody was."""
    if near_operations(problem):
        return plan_again(problem, seconds=seconds, progress=progress)[-1].solution
    return plan_of(problem, seconds=seconds, progress=progress)


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
    # The shop's row is always there to lock, even before the first plan: who presses at once takes turns.
    Shop.objects.select_for_update().get(pk=the_shop().pk)
    # A plan that was begun later knows more: the one that comes in after it is kept, not put in force.
    in_force = not Plan.objects.filter(is_current=True, made_at__gt=at).exists()
    if in_force:
        Plan.objects.filter(is_current=True).update(is_current=False)
    plan = Plan(
        made_at=at,
        made_by=by,
        why=why[:200],
        is_current=in_force,
        seconds=seconds,
        weighted_days_late=round(solution.weighted_days_late(problem)),
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
    deciders = {name: job_decider(problem, solution, name) for name in solution.job_ends(problem)}
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


@transaction.atomic
def plans_thin(*, at: dt.datetime) -> int:
    """Throw away old plans but the last of each day, and return how many. The plan in force always stays."""
    old = Plan.objects.filter(made_at__lt=at - dt.timedelta(days=KEPT_DAYS), is_current=False)
    last: dict[dt.date, int] = {}
    for plan in old.order_by("made_at", "pk"):
        last[timezone.localdate(plan.made_at)] = plan.pk
    gone = old.exclude(pk__in=last.values())
    number = gone.count()
    gone.delete()
    return number
