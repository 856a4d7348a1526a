"""What if this were accepted now: a date for work that is not in the house yet."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from jobs.estimating.estimator import Estimator, estimator
from jobs.estimating.services import TaskHours
from jobs.intake.models import Instrument
from jobs.operations.calc.catalogue import Catalogue
from jobs.operations.calc.order import after_in_scope
from jobs.operations.calc.quantities import pieces
from jobs.operations.models import Operation as Catalogued
from jobs.operations.models import Stage
from jobs.operations.queries import catalogue
from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.plan import PlanRefused
from jobs.scheduling.calc.plan import plan as plan_of
from jobs.scheduling.calc.problem import BOOKED_PLACES, Job, Operation, Problem
from jobs.scheduling.calc.room import Room, Rooms, rooms
from jobs.scheduling.calc.solution import Solution, Work
from jobs.scheduling.calc.validate import validate
from jobs.scheduling.house import (
    House,
    house_problem,
    plannable,
    session_count,
    skill_key,
    slot_hours,
    with_present_plan,
)
from workshop.house.models import Shop
from workshop.house.queries import the_shop

READY_CHANCE = Decimal("0.80")
MOST_TASKS = 1500  # in a fuller house only what moves nobody is tried, so that the page comes; as measured
ARRIVES_IN_DAYS = 7  # from acceptance to the carrier at the door, at best; our judgement


@dataclass(frozen=True)
class TryOut:
    """Work to try out in the plan: a name and its operations with their counts."""

    name: str
    instrument: Instrument
    operations: Mapping[str, Decimal]


@dataclass(frozen=True)
class MovedJob:
    """Another instrument whose work would end on a later day. ``promised``: the day its owner was told."""

    instrument: Instrument
    was: dt.date
    becomes: dt.date
    promised: dt.date | None
    passes: bool

    @property
    def days(self) -> int:
        """Return the calendar days it would end later."""
        return (self.becomes - self.was).days


@dataclass(frozen=True)
class Ready:
    """A day work would be finished, and which other instruments would end later for it."""

    day: dt.date
    moved: tuple[MovedJob, ...] = ()


@dataclass(frozen=True)
class WhatIf:
    """What follows when work is agreed on a day. ``calm``: nobody moves, ``kept``: no promise passes, ``first``.

    ``first`` goes before all far work. What is no day sooner than the one before it is None. ``arrives`` is the first
    day the instrument can be here.
    """

    answer: dt.date
    arrives: dt.date
    calm: Ready
    calm_only: bool = False
    kept: Ready | None = None
    first: Ready | None = None


def what_if(
    tries: Iterable[TryOut],
    *,
    at: dt.datetime,
    answers: Sequence[dt.date],
    calm_only: bool = False,
    logged: Mapping[int, int] | None = None,
    working: Mapping[int, int] | None = None,
) -> dict[str, list[WhatIf]]:
    """Return what follows for each piece of work, tried by itself, for an answer on each of some days in order.

    Its own hours are stretched to the figure of the bundle that holds 8 times in 10. All other work in the house counts
    with its likely hours where the plan in force has it, or, when that no longer holds, where a new one would have it.
    ``calm_only``: only what moves nobody is tried, as always in a very full house. ``logged`` and ``working`` are as
    for ``house_problem``. Work that cannot be planned is left out.
    """
    found = {row.code: row for row in Catalogued.objects.select_related("skill")}
    try:
        house = house_problem(at=at, logged=logged, working=working)
        problem, _ = plannable(house)
        problem = with_present_plan(problem)
        solution = plan_held(problem)
    except (PlanRefused, ValueError):
        return {}
    calm_only = calm_only or len(problem.operations) > MOST_TASKS
    cat, shop, estimate = catalogue(), the_shop(), estimator()
    days: dict[str, list[WhatIf]] = {}
    for one in tries:
        job, operations = _tried(one, found, cat, shop, estimate)
        made = []
        for answer in answers:
            arrives = answer + dt.timedelta(days=ARRIVES_IN_DAYS)
            arriving = tuple(replace(operation, not_before=arrives) for operation in operations)
            more = replace(problem, jobs=(*problem.jobs, job), operations=(*problem.operations, *arriving))
            if not operations or validate(more):
                break
            made.append((answer, arrives, rooms(more, solution, job.id, calm_only=calm_only)))
        if made and len(made) == len(answers) and all(each[2].nobody_moves for each in made):
            days[one.name] = _in_words(made, house, calm_only)
    return days


def plan_held(problem: Problem) -> Solution:
    """Return the plan in force when it still keeps every rule and holds all work, else the best new one at hand.

    Never waits for the compiler. Raises PlanRefused when there is none.
    """
    works = {key: Work(old.technician, old.stints) for key, old in problem.previous.items()}
    held = Solution(works)
    if len(works) == len(problem.operations) and not check(problem, held):
        return held
    return plan_of(problem, may_compile=False)


def _in_words(made: Sequence[tuple[dt.date, dt.date, Rooms]], house: House, calm_only: bool) -> list[WhatIf]:
    """Return the days in the words of the house. A plan found for a later answer would do for an earlier one too."""
    days: list[WhatIf] = []
    best: dict[str, Room] = {}
    for answer, arrives, found in reversed(made):
        for kind in ("nobody_moves", "promises_kept", "first"):
            room = getattr(found, kind)
            if room is not None and (kind not in best or room.end.date() <= best[kind].end.date()):
                best[kind] = room
        ready = {kind: _ready(room, house) for kind, room in best.items()}
        calm, kept, first = ready["nobody_moves"], ready.get("promises_kept"), ready.get("first")
        kept = kept if kept and kept.day < calm.day else None
        first = first if first and first.day < (kept or calm).day else None
        days.insert(0, WhatIf(answer, arrives, calm, calm_only, kept, first))
    return days


def _ready(room: Room, house: House) -> Ready:
    return Ready(
        room.end.date(),
        tuple(
            MovedJob(house.jobs[one.job].instrument, one.was.date(), one.end.date(), one.due, one.harms)
            for one in room.moved
        ),
    )


def _tried(
    one: TryOut, found: Mapping[str, Catalogued], plan: Catalogue, shop: Shop, estimate: Estimator
) -> tuple[Job, tuple[Operation, ...]]:
    """Return a try-out as a job of the planning core."""
    wanted = {
        code: quantity
        for code, quantity in one.operations.items()
        if code in found
        and found[code].stage != Stage.ASSESSING
        and not (found[code].stage == Stage.FINISH and found[code].work_place == Catalogued.WorkPlace.HOME)
    }
    kind = one.instrument.kind
    hours: dict[str, TaskHours] = {
        code: estimate.hours_for(operation=found[code], quantity=quantity, kind=kind)
        for code, quantity in wanted.items()
    }
    bundle = estimate.bundle_hours(hours.values())
    stretch = bundle.figure_80 / bundle.sum_likely if hours else 1.0
    job = f"try {one.name}"
    day_hours = (shop.closes.hour - shop.opens.hour) + (shop.closes.minute - shop.opens.minute) / 60
    operations: list[Operation] = []
    last: dict[str, str] = {}
    before = after_in_scope(plan, wanted)
    cuts = {code: pieces(plan.operations[code], float(quantity), kind) for code, quantity in wanted.items()}
    for code, cut in cuts.items():
        last[code] = f"{job} {code} {len(cut)}"
    for code, cut in cuts.items():
        for piece in cut:
            length = slot_hours(hours[code].likely / len(cut) * stretch, shop.slot_minutes)
            previous = (f"{job} {code} {piece.number - 1}",) if piece.number > 1 else ()
            operations.append(
                Operation(
                    id=f"{job} {code} {piece.number}",
                    job=job,
                    hours=length,
                    skill=skill_key(found[code].skill.code),
                    place=found[code].work_place if found[code].work_place in BOOKED_PLACES else None,
                    after=previous or tuple(last[first] for first in sorted(before[code])),
                    wait_hours=piece.wait_hours,
                    sessions=session_count(length, piece.least_days, shop.slot_minutes, day_hours),
                )
            )
    return Job(id=job, weight=1), tuple(operations)
