"""What if this were accepted now: a date for work that is not in the house yet."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from django.utils import timezone

from jobs.estimating.services import TaskHours, estimator
from jobs.intake.models import Instrument
from jobs.operations.calc.order import after_in_scope
from jobs.operations.calc.quantities import pieces
from jobs.operations.models import Operation as Catalogued
from jobs.operations.models import Stage
from jobs.operations.queries import catalogue
from jobs.scheduling.calc.plan import PlanRefused
from jobs.scheduling.calc.plan import plan as plan_of
from jobs.scheduling.calc.problem import BOOKED_PLACES, Job, Operation
from jobs.scheduling.house import house_problem, plannable, session_count, skill_key, slot_hours, with_present_plan
from workshop.house.queries import the_shop

READY_CHANCE = Decimal("0.80")
ARRIVES_IN_DAYS = 7  # from acceptance to the carrier at the door, at best; our judgement


@dataclass(frozen=True)
class TryOut:
    """Work to try out in the plan: a name and its operations with their counts."""

    name: str
    instrument: Instrument
    operations: Mapping[str, Decimal]


def what_if_ready(
    tries: Iterable[TryOut],
    *,
    at: dt.datetime,
    logged: Mapping[int, int] | None = None,
    working: Mapping[int, int] | None = None,
) -> dict[str, dt.date]:
    """Return the day each piece of work would be finished if it were accepted now, each tried by itself.

    Its own hours are stretched to the figure of the bundle that holds 8 times in 10; all other work in the
    house counts with its likely hours. ``logged`` and ``working`` are handed in as to ``house_problem``. Work
    that cannot be planned is left out of the answer.
    """
    ready: dict[str, dt.date] = {}
    found = {row.code: row for row in Catalogued.objects.select_related("skill")}
    try:
        problem, _ = plannable(house_problem(at=at, logged=logged, working=working))
        problem = with_present_plan(problem)
    except (PlanRefused, ValueError):
        return ready
    for one in tries:
        job, operations = _tried(one, found, at)
        more = replace(problem, jobs=(*problem.jobs, job), operations=(*problem.operations, *operations))
        try:
            end = plan_of(more, may_compile=False).job_ends(more).get(job.id)
        except PlanRefused:
            continue
        if end is not None:
            ready[one.name] = end.date()
    return ready


def _tried(one: TryOut, found: Mapping[str, Catalogued], at: dt.datetime) -> tuple[Job, tuple[Operation, ...]]:
    """Return a try-out as a job of the planning core."""
    shop = the_shop()
    plan = catalogue()
    wanted = {
        code: quantity
        for code, quantity in one.operations.items()
        if code in found
        and found[code].stage != Stage.ASSESSING
        and not (found[code].stage == Stage.FINISH and found[code].work_place == Catalogued.WorkPlace.HOME)
    }
    kind, estimate = one.instrument.kind, estimator()
    hours: dict[str, TaskHours] = {
        code: estimate.hours_for(operation=found[code], quantity=quantity, kind=kind)
        for code, quantity in wanted.items()
    }
    bundle = estimate.bundle_hours(hours.values())
    stretch = bundle.figure_80 / bundle.sum_likely if hours else 1.0
    job = f"try {one.name}"
    day_hours = (shop.closes.hour - shop.opens.hour) + (shop.closes.minute - shop.opens.minute) / 60
    arrives = timezone.localtime(at).date() + dt.timedelta(days=ARRIVES_IN_DAYS)
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
                    not_before=arrives,
                )
            )
    return Job(id=job, weight=1), tuple(operations)
