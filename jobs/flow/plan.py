"""When: a wish for a plan, the plan worked out in the background, a promise that moves."""

import datetime as dt
from decimal import Decimal

import structlog
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from jobs import tasks
from jobs.hours import queries as hours_queries
from jobs.scheduling import queries as scheduling_queries
from jobs.scheduling import services as scheduling_services
from jobs.scheduling import wishes
from jobs.scheduling.models import Plan, PlanWish, Promise
from jobs.updates import services as updates_services
from jobs.updates.models import Update
from jobs.worklist.models import Job
from workshop.calendar.words import day_words_year
from workshop.people.models import Person
from workshop.web.errors import Refused

log = structlog.get_logger(__name__)


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
    """Work out the plan a wish asks for, put it in force, and draft a message for each promise that moved."""
    if not wishes.wish_take(wish=wish, at=at):
        return None
    try:
        plan = scheduling_services.plan_make(
            by=wish.asked_by,
            at=at,
            why=wish.why,
            logged=hours_queries.minutes_of_open_tasks(),
            working=hours_queries.people_at_work(),
            seconds=settings.PLAN_SECONDS,
        )
    except Refused as error:
        wishes.wish_done(wish=wish, at=timezone.now(), plan=None, trouble=str(error))
        return None
    except Exception:
        # Left open, the wish would stand on the page as being worked on, and be tried again for ever.
        words = "Something went wrong while it was worked out. The log of the worker says what."
        wishes.wish_done(wish=wish, at=timezone.now(), plan=None, trouble=words)
        raise
    wishes.wish_done(wish=wish, at=timezone.now(), plan=plan)
    scheduling_services.plans_thin(at=at)
    return plan


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
