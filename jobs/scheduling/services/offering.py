"""A new plan around what people were told: in force by itself when it is harmless, else offered in a few ways."""

import datetime as dt
import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from jobs.scheduling.calc.decides import Kind, task_links
from jobs.scheduling.calc.moved import Cause, Moved, moved_later, moved_operations
from jobs.scheduling.calc.plan import PlanRefused, plan_again
from jobs.scheduling.calc.plan import plan as plan_of
from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve import Point, Progress, near_operations
from jobs.scheduling.house import row_of, somebody_is_gone, with_present_plan
from jobs.scheduling.house.rows import promised_days
from jobs.scheduling.models import JobEnd, Move, Plan, PlanWish
from jobs.scheduling.outlook import outlook_add
from jobs.scheduling.queries import current_plan
from jobs.scheduling.reasons import link_words, move_words
from jobs.scheduling.services.making import Read, house_lock, house_read, no_plan, plan_store
from workshop.web.errors import Refused

NAMES = {
    1: (Plan.Way.BETWEEN,),
    2: (Plan.Way.CALMEST, Plan.Way.EARLIEST),
    3: (Plan.Way.CALMEST, Plan.Way.BETWEEN, Plan.Way.EARLIEST),
}


class Overtaken(Exception):
    """While the plan was worked out another one was put in force, or offered by somebody who knew more."""


@dataclass(frozen=True)
class Outcome:
    """What became of a wish: a plan put in force, or ways that wait for the manager's answer."""

    in_force: Plan | None
    offered: tuple[Plan, ...] = ()


def plan_renew(
    *,
    wish: PlanWish,
    at: dt.datetime,
    logged: Mapping[int, int] | None = None,
    working: Mapping[int, int] | None = None,
    seconds: float | None = None,
    progress: Callable[[Progress], bool] | None = None,
) -> Outcome:
    """Work out what a wish asks for, keeping to what people were told for the next ten working days if it can be.

    A plan that moves nothing of that and ends no promised job late that was in time before is put in force; so is
    the first plan, and one that takes over from somebody who is gone. Otherwise up to three ways wait for the
    manager, and the plan in force stays in force.

    ``seconds``: how long to search; without it nothing is searched and simple rules are taken. ``progress`` is told
    how the search goes and may stop it by returning False: the best so far is then kept. Raises Refused
    when there is work and none of it can be planned, and Overtaken when the plan in force is another one by now.
    """
    begun = time.monotonic()
    read = house_read(at=at, logged=logged, working=working)
    present = current_plan()
    problem = with_present_plan(read.problem)
    try:
        points = _points(problem, seconds, progress)
    except PlanRefused as error:
        raise Refused(no_plan(read.house, error)) from error
    made = Plan(made_at=at, made_by=wish.asked_by, why=wish.why, wish=wish, told=points[0].near)
    read = Read(read.house, problem, read.sentences)
    gone = somebody_is_gone(problem)
    with transaction.atomic():
        house_lock()
        if current_plan() != present or Plan.objects.filter(is_offered=True, made_at__gt=at).exists():
            raise Overtaken
        made.seconds = time.monotonic() - begun
        harmless = points[-1] if present is None else _harmless(points, problem, late_now(present))
        if harmless is None and gone:
            harmless = next((point for point in points if point.name == "calm"), points[0])
        outcome = Outcome(_keep(made, read, harmless)) if harmless else _offer(made, read, points, present)
    for plan in (outcome.in_force, *outcome.offered):
        if plan is not None:
            outlook_add(plan, read.house, problem, may_compile=seconds is not None)
    return outcome


def _offer(made: Plan, read: Read, points: Iterable[Point], present: Plan | None) -> Outcome:
    """Keep the ways worth a choice; what was offered before is thrown away."""
    Plan.objects.filter(is_offered=True).delete()
    made.is_offered, made.answers = True, present
    ways = _distinct(points, read.problem)
    kept = zip(ways, NAMES[len(ways)], strict=True)
    return Outcome(None, tuple(_keep(made, read, point, way) for point, way in kept))


def _points(problem: Problem, seconds: float | None, progress: Callable[[Progress], bool] | None) -> list[Point]:
    """Return ways around what people were told, the calmest first; one free way where nobody was told anything."""
    if near_operations(problem):
        return plan_again(problem, seconds=seconds, free=True, progress=progress)
    if seconds is None:
        solution = plan_of(problem, rounds=0, may_compile=False)
    else:
        solution = plan_of(problem, seconds=seconds, progress=progress)
    return [Point("earliest", 0, 0, solution)]


def late_now(plan: Plan) -> set[int]:
    """Return the jobs a plan ends after the promise that stands."""
    promised = promised_days()
    ends = JobEnd.objects.filter(plan=plan).values_list("job", "ends_on")
    return {job for job, ends_on in ends if job in promised and ends_on > promised[job]}


def _harmless(points: Iterable[Point], problem: Problem, late: set[int]) -> Point | None:
    """Return the first way that moves nothing people were told and makes no promise late that was not late."""
    for point in points:
        if not point.moved and {row_of(job) for job in point.solution.days_late(problem)} <= late:
            return point
    return None


def _distinct(points: Iterable[Point], problem: Problem) -> list[Point]:
    """Return the ways worth a choice, the calmest first: each later one is less late than all calmer ones."""
    found: list[Point] = []
    for point in sorted(points, key=lambda one: (one.moved, one.solution.objective(problem))):
        late = point.solution.weighted_days_late(problem)
        if not found or late < found[-1].solution.weighted_days_late(problem):
            found.append(point)
    return found


def _keep(made: Plan, read: Read, point: Point, way: str = "") -> Plan:
    """Keep one way as a plan, with what it moves and why."""
    plan = Plan(
        made_at=made.made_at,
        made_by=made.made_by,
        why=made.why,
        wish=made.wish,
        seconds=made.seconds,
        is_offered=made.is_offered,
        answers=made.answers,
        way=way,
        told=made.told,
        moved=point.moved,
        moved_later=moved_later(read.problem, point.solution),
    )
    plan_store(plan, read, point.solution)
    zone = timezone.get_current_timezone()
    Move.objects.bulk_create(
        Move(
            plan=plan,
            task=read.house.tasks[one.operation],
            was_person=read.house.people[one.was.technician],
            was_at=one.was.stints[0].start.replace(tzinfo=zone),
            person=read.house.people[one.now.technician],
            starts_at=one.now.start.replace(tzinfo=zone),
            why=_why(read, point.solution, one)[:300],
        )
        for one in moved_operations(read.problem, point.solution)
    )
    return plan


def _why(read: Read, solution: Solution, moved: Moved) -> str:
    """Return why a task moves; where nothing near it is the cause, what holds it up in the new plan."""
    words = move_words(read.house, read.problem, moved)
    if moved.cause == Cause.WHOLE:
        links = task_links(read.problem, solution, moved.operation)
        held = [link for link in links if link.kind not in (Kind.WORK, Kind.BEGIN)]
        if held:
            longest = max(held, key=lambda link: link.end - link.start)
            return f"{words}: {link_words(read.house, longest)}"
    return words
