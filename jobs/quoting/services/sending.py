"""Sending a quote: from this moment nothing in it changes."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from jobs.quoting import queries
from jobs.quoting.models import Quote, QuotePaper, Scope, ScopeOperation
from jobs.quoting.services.figures import quote_work_out
from jobs.quoting.services.locking import draft_held, instrument_held
from workshop.house.queries import the_shop
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

Ready = Mapping[int, tuple[dt.date, Decimal]]


@transaction.atomic
def quote_send(
    *,
    quote: Quote,
    by: Person,
    at: dt.datetime,
    ready: Ready | None = None,
    answer_by: Mapping[int, dt.date] | None = None,
) -> Quote:
    """Freeze a draft: words, amounts, dates and the hash of all of it; the quote is then out with the client.

    An older quote of the same instrument that still waits for an answer is closed: one piano, one open quote.

    ``ready`` maps a scope's pk to the day it would be home again and the chance (0 to 1) of keeping that day;
    ``answer_by`` to the last day of an answer for which that day holds, no later than the quote itself.
    Raises Refused, with nothing written, for a quote that was sent already, a way without work, without a title
    or with a price of nought, figures that no longer follow from today's norms and prices, or a person who is
    not a manager.
    """
    if not by.is_manager:
        raise Refused("Quotes are sent by the manager.")
    instrument_held(quote)
    row = draft_held(quote)
    if quote_work_out(quote=row):
        raise Refused(
            "Norms, prices or rates changed since these figures were worked out. Press “Work the figures out anew”, "
            "look at them, then send."
        )
    scopes = list(row.scopes.prefetch_related("operations__operation"))
    _check_scopes(scopes)
    row.sent_at, row.sent_by, row.valid_until = at, by, valid_until(at)
    last_days = {pk: min(day, row.valid_until) for pk, day in (answer_by or {}).items()}
    for scope in scopes:
        _freeze_scope(scope, ready or {}, last_days)
    QuotePaper.objects.create(quote=row, words=queries.words_now(row, by=by))
    # The hash is over what the database gives back, since that is what will be compared with it.
    row.content_hash = queries.hash_of_rows(row)
    row.state = Quote.State.SENT
    row_check(row)
    row.save(update_fields=["sent_at", "sent_by", "valid_until", "content_hash", "state"])
    others = Quote.objects.filter(instrument=row.instrument_id, state=Quote.State.SENT).exclude(pk=row.pk)
    others.update(state=Quote.State.LAPSED)
    return row


def valid_until(at: dt.datetime) -> dt.date:
    """Return the last day on which a quote sent at a moment can be answered."""
    return timezone.localdate(at) + dt.timedelta(days=the_shop().quote_valid_days)


def _check_scopes(scopes: list[Scope]) -> None:
    if not 1 <= len(scopes) <= 5:
        raise Refused("A quote has one to five ways to choose from.")
    titles = [scope.title.strip().casefold() for scope in scopes]
    for scope in scopes:
        name = f"Way {scope.position}, “{scope.title}”,"
        if not scope.title.strip():
            raise Refused(f"Way {scope.position} has no name yet.")
        if titles.count(scope.title.strip().casefold()) > 1:
            raise Refused(f"{name} has the same name as another: the owner could not tell them apart.")
        if not any(row.because == ScopeOperation.Because.CHOSEN for row in scope.operations.all()):
            raise Refused(f"{name} holds no work yet. Choose some, or remove it.")
        if not scope.total_likely or scope.total_likely <= 0:
            raise Refused(f"{name} comes to nothing. Look at the hourly rate and the work.")


def _freeze_scope(scope: Scope, ready: Ready, answer_by: Mapping[int, dt.date]) -> None:
    day, chance = ready.get(scope.pk, (None, None))
    if chance is not None and not 0 < chance < 1:
        raise Refused(f"The chance of way {scope.position} must lie between 0 and 1, not at {chance}.")
    scope.ready_on, scope.ready_chance = day, chance
    scope.answer_by = answer_by.get(scope.pk) if day is not None else None
    row_check(scope)
    scope.save(update_fields=["ready_on", "ready_chance", "answer_by"])
