"""Wishes for a new plan: asked for, taken in hand once, done."""

import datetime as dt

from django.db import transaction

from jobs.scheduling.models import Plan, PlanWish
from workshop.people.models import Person

GIVEN_UP_AFTER = dt.timedelta(minutes=10)  # a worker that took longer has died: the wish is taken up again

SLOW_AFTER = dt.timedelta(seconds=75)  # the worker's clock looks every 30 s for wishes older than 20 s


@transaction.atomic
def wish_ask(*, by: Person | None, at: dt.datetime, why: str) -> PlanWish:
    """Ask for a new plan. While an earlier wish has not been begun, it takes this one in."""
    waiting = PlanWish.objects.select_for_update().filter(begun_at=None).first()
    if waiting is not None:
        if why not in waiting.why:
            waiting.why = f"{waiting.why}; {why}"[:200]
            waiting.save(update_fields=["why"])
        return waiting
    return PlanWish.objects.create(asked_at=at, asked_by=by, why=why[:200])


def wish_take(*, wish: PlanWish, at: dt.datetime) -> bool:
    """Take a wish in hand; False when somebody else has it. One UPDATE decides, on every database."""
    return PlanWish.objects.filter(pk=wish.pk, begun_at=None).update(begun_at=at) == 1


def wish_done(*, wish: PlanWish, at: dt.datetime, plan: Plan | None, trouble: str = "") -> None:
    """Note what became of a wish: a plan, or the sentence that says why there is none."""
    PlanWish.objects.filter(pk=wish.pk).update(done_at=at, plan=plan, trouble=trouble)


def wishes_waiting(*, at: dt.datetime, older_than: dt.timedelta) -> list[PlanWish]:
    """Return the wishes nobody took in hand for a while; those of a worker that died are freed first."""
    PlanWish.objects.filter(done_at=None, begun_at__lt=at - GIVEN_UP_AFTER).update(begun_at=None)
    return list(PlanWish.objects.filter(begun_at=None, asked_at__lte=at - older_than).order_by("asked_at"))


def wish_open() -> PlanWish | None:
    """Return the wish that is waiting or being worked on, if any."""
    return PlanWish.objects.filter(done_at=None).order_by("asked_at").first()


def is_slow(wish: PlanWish | None, now: dt.datetime) -> bool:
    """Tell whether nobody has begun a wish for so long that the worker may not be running."""
    return wish is not None and wish.begun_at is None and now - wish.asked_at > SLOW_AFTER


def wish_last() -> PlanWish | None:
    """Return the wish that was done last."""
    return PlanWish.objects.exclude(done_at=None).order_by("-done_at").first()
