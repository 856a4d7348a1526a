"""The words of drafts: from an event and its facts to a subject and a letter a client understands.

A draft says only what happened; the manager edits it before anything goes.
"""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from jobs.updates.models import Update
from workshop.calendar.words import day_words_year
from workshop.money.words import money

Facts = Mapping[str, Any]


@dataclass(frozen=True)
class Draft:
    """Subject and body of a message, without greeting and signature."""

    subject: str
    body: str


def draft_words(event: str, instrument_words: str, facts: Facts) -> Draft:
    """Return the draft of an event. Raises KeyError when a fact the words need was not handed over."""
    return _DRAFTS[Update.Event(event)](instrument_words, facts)


def _day(value: dt.date) -> str:
    return day_words_year(value)


def _quote_sent(piano: str, facts: Facts) -> Draft:
    ways = facts["ways"]
    offer = "one way to go on" if ways == 1 else f"{ways} ways to go on, side by side"
    return Draft(
        f"Your {piano}: what we found, and {offer}",
        f"We have written down what we found on your {piano}, and {offer}, each with its price and date. "
        f"You can read it all on your own page, ask us anything, and choose there when you are ready. "
        f"The prices hold until {_day(facts['valid_until'])}.",
    )


def _accepted(piano: str, facts: Facts) -> Draft:
    deposit: Decimal | None = facts.get("deposit")
    pay = f" The deposit is {money(deposit)}; the invoice is on your page." if deposit else ""
    return Draft(
        f"Your {piano}: thank you",
        f"Thank you. You chose “{facts['scope']}”, and we have put the work into our plan.{pay} "
        "We will write again when your piano is due to come to us. Please do not move it yourself.",
    )


def _booked_in(piano: str, facts: Facts) -> Draft:
    return Draft(
        f"Your {piano} has arrived",
        f"Your {piano} came to us on {_day(facts['on'])} and has its place on our floor. "
        "We have recorded its condition, and it now settles to the air of the room before we begin.",
    )


def _opened_up(piano: str, facts: Facts) -> Draft:
    return Draft(
        f"Your {piano} is open",
        f"We have opened up your {piano} and looked at everything that could not be seen before. "
        "If anything changes what we agreed, you will hear from us before we touch it.",
    )


def _variation(piano: str, facts: Facts) -> Draft:
    when = facts.get("ready_on")
    date = f" The date would become {_day(when)}." if when else ""
    return Draft(
        f"Your {piano}: something we found, and a question",
        f"{facts['found']} We would like your decision before we go on with the part it concerns; "
        "all other work continues. "
        f"What we propose comes to {money(facts['total'])} with VAT.{date} You can read it and answer on your page.",
    )


def _parts_here(piano: str, facts: Facts) -> Draft:
    return Draft(
        f"Your {piano}: the parts are here",
        "All the parts ordered for your piano have arrived and have been checked against their measures.",
    )


def _stage_done(piano: str, facts: Facts) -> Draft:
    words = str(facts["stage"]).lower()
    follows = facts.get("next_stage")
    then = f" Next comes: {str(follows).lower()}." if follows else ""
    return Draft(
        f"Your {piano}: {words} done",
        f"One part of the work is finished: {words}.{then} The pictures and the date are on your page.",
    )


def _date_moved(piano: str, facts: Facts) -> Draft:
    earlier = facts["new"] < facts["old"]
    feel = "The good news is that we expect to be ready earlier." if earlier else "We are sorry."
    return Draft(
        f"Your {piano}: the date moves to {_day(facts['new'])}",
        f"We told you {_day(facts['old'])}. From what we know today it will be {_day(facts['new'])}. "
        f"{facts['why']} {feel}",
    )


def _invoice(piano: str, facts: Facts) -> Draft:
    total = facts["total"]
    pay = f"Please pay it by {_day(facts['due_on'])}." if total else "Nothing more is to be paid."
    if total < 0:
        pay = f"We pay {money(-total)} back to you."
    return Draft(
        f"Invoice {facts['number']} for your {piano}",
        f"Invoice {facts['number']} over {money(total)} is on your page: {facts['about']}. {pay}",
    )


def _ready(piano: str, facts: Facts) -> Draft:
    met = f" {facts['met']} of {facts['read']} readings meet what we agreed." if facts.get("read") else ""
    return Draft(
        f"Your {piano} is ready",
        f"Your {piano} is finished.{met} You will find the readings before and after on your page. "
        "We would be glad to show you, and will agree the day it goes home with you.",
    )


_DRAFTS: dict[Update.Event, Callable[[str, Facts], Draft]] = {
    Update.Event.QUOTE_SENT: _quote_sent,
    Update.Event.ACCEPTED: _accepted,
    Update.Event.BOOKED_IN: _booked_in,
    Update.Event.OPENED_UP: _opened_up,
    Update.Event.VARIATION: _variation,
    Update.Event.PARTS_HERE: _parts_here,
    Update.Event.STAGE_DONE: _stage_done,
    Update.Event.DATE_MOVED: _date_moved,
    Update.Event.INVOICE: _invoice,
    Update.Event.READY: _ready,
}
