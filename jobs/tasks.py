"""Background work: fetch by id, call one function."""

import datetime as dt
from threading import Thread
from typing import Any

from celery import shared_task
from celery.signals import worker_ready
from django.utils import timezone

LATE = dt.timedelta(seconds=20)


@worker_ready.connect
def planner_warm(sender: Any, **_: Any) -> None:
    """Compile the planner's scheduler beside the worker's first tasks; pages use it from then on."""
    from jobs.scheduling.calc.solve import warm_up

    Thread(target=warm_up, daemon=True).start()


@shared_task(name="jobs.plan_make")
def plan_make(wish: int) -> None:
    """Work the plan out that a wish asks for."""
    from jobs import flow
    from jobs.scheduling.models import PlanWish

    found = PlanWish.objects.filter(pk=wish).first()
    if found is not None:
        flow.plan_worked_out(found, at=timezone.now())


@shared_task(name="jobs.plan_tick")
def plan_tick() -> None:
    """Take up wishes whose nudge was lost, and dates that were tried before the planner was compiled."""
    from jobs import flow
    from jobs.scheduling.wishes import wishes_waiting

    for wish in wishes_waiting(at=timezone.now(), older_than=LATE):
        flow.plan_worked_out(wish, at=timezone.now())
    flow.outlook_caught_up(at=timezone.now())


@shared_task(name="jobs.quotes_lapse")
def quotes_lapse() -> None:
    """Let quotes lapse whose day has passed."""
    from jobs.quoting.services import quotes_lapse as lapse

    lapse(today=timezone.localdate())
