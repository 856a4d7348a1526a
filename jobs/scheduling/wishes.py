"""Wishes for a new plan: asked for, taken in hand once, told about while they are worked on, stopped, done."""

import datetime as dt
import time
from threading import get_ident

import structlog
from django.db import DatabaseError, transaction
from django.db.models import QuerySet

from jobs.scheduling.calc.solve import Progress
from jobs.scheduling.models import Plan, PlanWish
from workshop.people.models import Person

log = structlog.get_logger(__name__)

GIVEN_UP_AFTER = dt.timedelta(minutes=10)  # a worker that took longer has died: the wish is taken up again

TELL_SECONDS = 1.0
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
    wish_free(PlanWish.objects.filter(done_at=None, begun_at__lt=at - GIVEN_UP_AFTER))
    return list(PlanWish.objects.filter(begun_at=None, asked_at__lte=at - older_than).order_by("asked_at"))


def wish_free(wishes: QuerySet[PlanWish]) -> None:
    """Let wishes be taken up again, as if nobody had begun them."""
    wishes.update(
        begun_at=None, searched_seconds=0, first_plan_seconds=None, best_days_late=None, late_instruments=None,
        stop_asked_at=None, stop_asked_by=None,
    )  # fmt: skip


def wish_stop(*, wish: int, by: Person, at: dt.datetime) -> bool:
    """Ask the search to stop with the best plan so far; False when that wish is not being worked on any more."""
    going_on = PlanWish.objects.filter(pk=wish, done_at=None).exclude(begun_at=None)
    if going_on.filter(stop_asked_at=None).update(stop_asked_at=at, stop_asked_by=by):
        return True
    return going_on.exists()  # somebody else pressed first


class Telling:
    """Writes how a search goes into the row of its wish, about once a second, and reads whether to stop.

    Called by the search from several threads; only the one that made it has the database connection, so only that
    one writes. A row that cannot be written just now is no reason to lose the search.
    """

    def __init__(self, wish: PlanWish) -> None:
        self.wish, self.owner = wish.pk, get_ident()
        self.goes_on = True
        self.best: float | None = None
        self._told: float | None = None

    def __call__(self, progress: Progress) -> bool:
        """Take in how the search goes; False when it is to stop."""
        now = time.monotonic()
        if get_ident() == self.owner and (self._told is None or now - self._told >= TELL_SECONDS):
            self._tell(progress, first=self._told is None)
            self._told = now
        return self.goes_on

    def _tell(self, progress: Progress, *, first: bool) -> None:
        """Each way of a search begins anew: what is shown is the least late of all that were found."""
        told: dict[str, float | int] = {"searched_seconds": progress.seconds}
        if self.best is None or progress.best_days_late <= self.best:
            self.best = told["best_days_late"] = progress.best_days_late
            told["late_instruments"] = progress.late_jobs
        if first:
            told["first_plan_seconds"] = progress.seconds
        try:
            row = PlanWish.objects.filter(pk=self.wish, done_at=None)
            row.update(**told)
            self.goes_on = not row.exclude(stop_asked_at=None).exists()
        except DatabaseError as error:
            log.warning("plan.progress_lost", error=str(error))


def wish_open() -> PlanWish | None:
    """Return the wish that is waiting or being worked on, if any."""
    return PlanWish.objects.filter(done_at=None).order_by("asked_at").first()


def is_slow(wish: PlanWish | None, now: dt.datetime) -> bool:
    """Tell whether nobody has begun a wish for so long that the worker may not be running."""
    return wish is not None and wish.begun_at is None and now - wish.asked_at > SLOW_AFTER


def seconds_searched(wish: PlanWish | None, now: dt.datetime) -> float:
    """Return how long a wish is being worked on: as the search told, or since it was begun while it has not."""
    if wish is None or wish.begun_at is None:
        return 0
    return max(
        wish.searched_seconds, 0 if wish.first_plan_seconds is not None else (now - wish.begun_at).total_seconds()
    )


def wish_last() -> PlanWish | None:
    """Return the wish that was done last."""
    return PlanWish.objects.exclude(done_at=None).order_by("-done_at").first()
