"""A client who would like to talk before deciding."""

import datetime as dt

from django.db import transaction

from jobs.quoting.models import Quote, TalkWish
from workshop.people.models import Person
from workshop.web.rows import row_check


@transaction.atomic
def quote_talk(*, quote: Quote, words: str, at: dt.datetime) -> TalkWish:
    """Note that a client would like to talk; while one wish is open, further words are added to it."""
    Quote.objects.select_for_update().get(pk=quote.pk)
    wish = TalkWish.objects.filter(quote=quote, settled_at=None).first() or TalkWish(quote=quote, at=at)
    wish.words = "\n".join(part for part in (wish.words, words.strip()) if part)[:4000]
    row_check(wish)
    wish.save()
    return wish


@transaction.atomic
def talk_settle(*, wish: TalkWish, by: Person, at: dt.datetime) -> TalkWish:
    """Note that somebody talked to the client."""
    if wish.settled_at is None:
        wish.settled_at, wish.settled_by = at, by
        wish.save(update_fields=["settled_at", "settled_by"])
    return wish
