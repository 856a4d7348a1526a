"""Quotes in lists, and one quote with what its page needs."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Count, Exists, Max, Min, OuterRef, Prefetch, QuerySet
from django.utils import timezone

from jobs.intake.models import Instrument
from jobs.quoting.models import Quote, Scope, ScopeOperation, TalkWish

DUE_SOON_DAYS = 7


@dataclass(frozen=True)
class QuoteCount:
    """How many quotes stand where: drafts, out with clients, of these due within a week and overdue, ask us, all."""

    drafts: int
    sent: int
    due_soon: int
    overdue: int
    asks: int
    accepted: int
    all: int


def quotes_listed() -> QuerySet[Quote]:
    """Return all quotes with client, number of ways, prices from and to, hours and the earliest day home."""
    return Quote.objects.select_related("instrument__client").annotate(
        ways=Count("scopes"),
        price_from=Min("scopes__total_likely"),
        price_to=Max("scopes__total_80"),
        hours_from=Min("scopes__hours_likely"),
        hours_to=Max("scopes__hours_likely"),
        home_from=Min("scopes__ready_on"),
        asks=Exists(TalkWish.objects.filter(quote=OuterRef("pk"), settled_at=None)),
    )


def quote_counts(today: dt.date) -> QuoteCount:
    """Return the counts the list begins with."""
    counts = dict(Quote.objects.order_by().values_list("state").annotate(number=Count("pk")))
    last = [day for day in Quote.objects.filter(state=Quote.State.SENT).values_list("valid_until", flat=True) if day]
    asks = TalkWish.objects.filter(settled_at=None).values("quote").distinct().count()
    return QuoteCount(
        counts.get(Quote.State.DRAFT, 0),
        counts.get(Quote.State.SENT, 0),
        sum(today <= day <= today + dt.timedelta(days=DUE_SOON_DAYS) for day in last),
        sum(day < today for day in last),
        asks,
        counts.get(Quote.State.ACCEPTED, 0),
        sum(counts.values()),
    )


def quotes_for(instrument: Instrument) -> list[Quote]:
    """Return the quotes of an instrument, newest first, with scopes and answers."""
    return list(
        Quote.objects.filter(instrument=instrument)
        .select_related("answer__scope", "sent_by")
        .prefetch_related("scopes")
    )


def quote_waiting(quote: Quote) -> Quote | None:
    """Return another quote of the same instrument that is out with the client; sending this one closes it."""
    others = Quote.objects.filter(instrument=quote.instrument_id, state=Quote.State.SENT)
    return others.exclude(pk=quote.pk).order_by("number").first()


def quote_after(quote: Quote) -> Quote | None:
    """Return the quote that took the place of this one while it was out; None when none did."""
    if quote.state != Quote.State.LAPSED or quote.sent_at is None or quote.valid_until is None:
        return None
    later = Quote.objects.filter(instrument=quote.instrument_id, sent_at__gte=quote.sent_at, number__gt=quote.number)
    after = later.order_by("sent_at", "number").first()
    if after is None or after.sent_at is None or timezone.localdate(after.sent_at) > quote.valid_until:
        return None
    return after


def quote_shown(number: int) -> Quote:
    """Return one quote with scopes, their work and amounts. Raises Quote.DoesNotExist."""
    work = ScopeOperation.objects.select_related("operation")
    return (
        Quote.objects.select_related("instrument__client", "assessment", "answer__scope", "sent_by", "created_by")
        .prefetch_related(Prefetch("scopes__operations", work), "scopes__charges")
        .get(number=number)
    )


def scope_shown(pk: int) -> Scope:
    """Return one scope with its quote, work and amounts. Raises Scope.DoesNotExist."""
    work = ScopeOperation.objects.select_related("operation")
    return (
        Scope.objects.select_related("quote__instrument__client")
        .prefetch_related(Prefetch("operations", work), "charges")
        .get(pk=pk)
    )
