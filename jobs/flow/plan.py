"""When: a wish for a plan, the plan worked out in the background, a promise that moves."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import structlog
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from jobs import tasks
from jobs.flow.handed import work_in_hand
from jobs.scheduling import queries as scheduling_queries
from jobs.scheduling import services as scheduling_services
from jobs.scheduling import wishes
from jobs.scheduling.models import JobEnd, Plan, PlanWish, Promise
from jobs.scheduling.offered import DateRow, date_to_say, promises_moved
from jobs.scheduling.reasons import FOR_THE_OWNER
from jobs.updates import queries as updates_queries
from jobs.updates import services as updates_services
from jobs.updates.models import Update
from jobs.updates.words import Draft, draft_words
from jobs.worklist.models import Job
from workshop.calendar.words import day_words_year
from workshop.people.models import Person
from workshop.web.errors import Refused

TRIES = 3

log = structlog.get_logger(__name__)


@dataclass(frozen=True)
class Letter:
    """A message as it would be written, and the date it is about."""

    row: DateRow
    draft: Draft


def plan_wanted(by: Person | None, at: dt.datetime, why: str) -> PlanWish:
    """Ask for a new plan of the house; it is worked out in the background when this transaction has ended."""
    wish = wishes.wish_ask(by=by, at=at, why=why)
    transaction.on_commit(lambda: _nudge(wish.pk))
    return wish


def _nudge(wish: int) -> None:
    """Tell a worker of a wish. A broker that is away only delays it: the worker's clock looks again."""
    try:
        tasks.plan_make.apply_async(args=[wish], retry=False)
    except Exception as error:  # whatever ails the broker, the row is written and the page must not fail
        log.warning("plan.nudge_lost", error=str(error))


def plan_worked_out(wish: PlanWish, at: dt.datetime) -> Plan | None:
    """Work out the plan a wish asks for; return it if it was put in force.

    What moves work people were told of, or breaks a promise, is offered to the manager instead.
    """
    if not wishes.wish_take(wish=wish, at=at):
        return None
    try:
        outcome = _renewed(wish, at)
    except Refused as error:
        wishes.wish_done(wish=wish, at=timezone.now(), plan=None, trouble=str(error))
        return None
    except Exception:
        # Left open, the wish would stand on the page as being worked on, and be tried again for ever.
        words = "Something went wrong while it was worked out. The log of the worker says what."
        wishes.wish_done(wish=wish, at=timezone.now(), plan=None, trouble=words)
        raise
    wishes.wish_done(wish=wish, at=timezone.now(), plan=outcome.in_force)
    scheduling_services.plans_thin(at=at)
    return outcome.in_force


def _renewed(wish: PlanWish, at: dt.datetime) -> scheduling_services.Outcome:
    """Try again when another plan was put in force meanwhile: what people are told is another thing then."""
    for more in range(TRIES):
        try:
            return scheduling_services.plan_renew(
                wish=wish,
                at=at if not more else timezone.now(),
                seconds=settings.PLAN_SECONDS,
                progress=wishes.Telling(wish),
                **work_in_hand(),
            )
        except scheduling_services.Overtaken:
            log.info("plan.overtaken", wish=wish.pk)
    raise Refused("The plan in force changed while the new one was worked out. Work it out again.")


def outlook_caught_up(at: dt.datetime) -> bool:
    """Try the dates of a plan that was made before the planner was compiled in all futures; tell whether it was."""
    return scheduling_services.outlook_complete(at=at, **work_in_hand())


@transaction.atomic
def date_moved(job: Job, date: dt.date, by: Person, at: dt.datetime, reason: str, chance: Decimal | None) -> Promise:
    """Give a client a new date, then draft the message that says so. Raises Refused as promising does."""
    old = scheduling_queries.promise_of(job)
    promise = scheduling_services.promise_give(job=job, date=date, chance=chance, by=by, at=at, reason=reason)
    if old is not None and old.date != date:
        updates_services.update_draft(
            event=Update.Event.DATE_MOVED,
            event_key=f"date_moved:{promise.pk}",
            instrument=job.instrument,
            job=job,
            happened_at=at,
            facts={"old": old.date, "new": date, "why": reason},
            written_from=f"the promise of {day_words_year(date)}, given by {by}",
        )
    return promise


def plan_letters(plan: Plan) -> list[Letter]:
    """Return the messages an offered plan would make, as they would be written; nothing is kept."""
    return [
        Letter(row, draft_words(Update.Event.DATE_MOVED, row.job.instrument.words, facts))
        for row, facts in _dates_moved(plan)
    ]


@transaction.atomic
def plan_accepted(plan: Plan, by: Person, at: dt.datetime) -> list[Update]:
    """Put an offered plan in force, and draft a message for each promise it moves. Raises Refused as accepting does.

    Nothing is sent and no promise is moved: a promise moves when its message is released. Returns the drafts.
    """
    moved = _dates_moved(plan)
    plan = scheduling_services.plan_accept(plan=plan, by=by, at=at, **work_in_hand())
    waiting = _drafts_that_hold(plan, by, at)
    for row, facts in moved:
        if row.job.pk not in waiting:
            waiting[row.job.pk] = updates_services.update_draft(
                event=Update.Event.DATE_MOVED,
                event_key=f"date_moved:{row.job.pk}:plan {plan.pk}",
                instrument=row.job.instrument,
                job=row.job,
                happened_at=at,
                facts=facts,
                written_from=f"the plan accepted by {by}",
                new_date=facts["new"],
                reason=facts["why"],
            )
    return list(waiting.values())


def _drafts_that_hold(plan: Plan, by: Person, at: dt.datetime) -> dict[int, Update]:
    """Return the drafts that wait and give the dates of a plan, by job; others are left unsent.

    Nobody is to be told two dates, or one date twice.
    """
    said = {end.job_id: date_to_say(end) for end in plan.ends.all()}
    waiting = {}
    for draft in updates_queries.dates_to_release():
        if draft.job_id is not None and said.get(draft.job_id) == draft.new_date:
            waiting[draft.job_id] = draft
        else:
            updates_services.update_drop(update=draft, by=by, at=at)
    return waiting


def _dates_moved(plan: Plan) -> list[tuple[DateRow, dict[str, Any]]]:
    """Return each promise an offered plan moves, with what its message says."""
    found = Plan.objects.select_related("answers").filter(pk=plan.pk).first()
    moved = []
    for row in promises_moved(found) if found else ():
        if row.promise and row.end:
            why = FOR_THE_OWNER[JobEnd.Decider(row.end.decider)]
            moved.append((row, {"old": row.promise.date, "new": date_to_say(row.end), "why": why}))
    return moved
