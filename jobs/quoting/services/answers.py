"""The client's one answer to a quote, and quotes nobody answered in time."""

import datetime as dt

from django.db import IntegrityError, transaction
from django.utils import timezone

from jobs.quoting import queries
from jobs.quoting.models import Answer, Quote, Scope
from jobs.quoting.services.locking import instrument_held, quote_held
from workshop.calendar.words import day_words_year
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def quote_answer(
    *,
    quote: Quote,
    scope: Scope | None,
    name: str,
    words: str = "",
    at: dt.datetime,
    via: str = "private link",
    content_hash: str,
) -> Answer:
    """Keep the answer to a quote, once: the scope that is accepted, or None when the quote is declined.

    ``name`` is who answers, ``content_hash`` what they had before their eyes. The quote's row is locked, and the
    database allows one answer a quote, so of several answers at the same moment one is kept and the others are
    refused. Raises Refused, with nothing written, for a second answer, a draft, a lapsed quote, a scope of
    another quote, a text that is not the one sent, or no name.
    """
    instrument_held(quote)
    row = quote_held(quote)
    _check_open(row, at)
    if not name.strip():
        raise Refused("Please type your name: it stands for your signature.")
    if scope is not None and scope.quote_id != row.pk:
        raise Refused(f"That way belongs to another quote, not to quote {row.number}. Choose one of those shown.")
    if content_hash != row.content_hash or queries.hash_of_rows(row) != row.content_hash:
        raise Refused(
            f"The text you read is not quote {row.number} as it was sent. Please open it again from your letter; "
            "if this happens twice, ask the workshop."
        )
    kind = Answer.Kind.ACCEPTED if scope else Answer.Kind.DECLINED
    answer = Answer(
        quote=row,
        kind=kind,
        scope=scope,
        name=name.strip(),
        words=words.strip(),
        at=at,
        via=via,
        content_hash=content_hash,
    )
    row_check(answer)
    try:
        with transaction.atomic():
            answer.save()
    except IntegrityError as error:
        raise Refused(f"Quote {row.number} has been answered at this very moment. Open it again to see how.") from error
    row.state = Quote.State.ACCEPTED if scope else Quote.State.DECLINED
    row.save(update_fields=["state"])
    return answer


def _check_open(row: Quote, at: dt.datetime) -> None:
    given = Answer.objects.select_related("scope").filter(quote=row).first()
    if given is not None:
        local = timezone.localtime(given.at)
        when = f"{day_words_year(local.date())} at {local:%H:%M}"
        what = f"accepted “{given.scope.title}”" if given.scope else "declined"
        raise Refused(f"{given.name} {what} on {when}. A quote is answered once; to change anything, ask the workshop.")
    if row.state == Quote.State.DRAFT:
        raise Refused(f"Quote {row.number} has not been sent yet, so it cannot be answered.")
    if after := queries.quote_after(row):
        raise Refused(f"Quote {after.number} took the place of quote {row.number}. Open the newer one and answer it.")
    if row.state == Quote.State.LAPSED or row.valid_until is None or timezone.localdate(at) > row.valid_until:
        until = f" on {day_words_year(row.valid_until)}" if row.valid_until else ""
        raise Refused(f"Quote {row.number} lapsed{until}. Ask the workshop for a new one: prices may have changed.")
    if row.state != Quote.State.SENT:
        raise Refused(f"Quote {row.number} is not open for an answer any more.")


@transaction.atomic
def quotes_lapse(*, today: dt.date) -> int:
    """Let every quote lapse whose last day is past; return how many."""
    return Quote.objects.filter(state=Quote.State.SENT, valid_until__lt=today).update(state=Quote.State.LAPSED)
