"""Drafts: begun from an instrument and its findings, changed, given scopes, copied into a new version."""

import datetime as dt
from decimal import Decimal

from django.db import transaction
from django.db.models import Max

from jobs.assessment.models import Assessment
from jobs.intake.models import Instrument
from jobs.operations.calc.closure import close_scope
from jobs.quoting import queries
from jobs.quoting.calc.pricing import GROSS, amount_by_hand
from jobs.quoting.models import Quote, Scope, ScopeCharge
from jobs.quoting.queries.closing import scope_closed
from jobs.quoting.services.figures import bench, quote_work_out, scope_work_out
from jobs.quoting.services.locking import draft_held
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

MOST_SCOPES = 5
FIRST_TITLE = "What the findings ask for"


@transaction.atomic
def quote_start(
    *, instrument: Instrument, assessment: Assessment | None, by: Person, at: dt.datetime, letter: str = ""
) -> Quote:
    """Begin a draft for an instrument, priced by the shop's rates of today, with a first scope.

    ``letter`` are the opening words; the usual ones if empty.

    The scope holds the operations the kept findings of the assessment point to, those of safety first; of two
    alternatives the one found first. Raises Refused for a person who is not a manager, or an assessment of
    another instrument.
    """
    if not by.is_manager:
        raise Refused("Quotes are written by the manager.")
    if assessment is not None and assessment.instrument_id != instrument.pk:
        raise Refused(f"That assessment is of another instrument, not of no. {instrument.number}.")
    shop = the_shop()
    quote = Quote(
        number=_next_number(),
        instrument=instrument,
        assessment=assessment,
        letter=letter.strip() or queries.opening_words(instrument, assessment),
        vat_mode=shop.vat_mode,
        vat_percent=shop.vat_percent,
        hourly_rate=shop.hourly_rate,
        deposit_percent=shop.deposit_percent,
        created_at=at,
        created_by=by,
    )
    row_check(quote)
    quote.save()
    scope = Scope.objects.create(quote=quote, position=1, title=FIRST_TITLE)
    tools = bench()
    chosen = queries.proposed_codes(assessment, instrument.kind, tools.cat)
    closed = close_scope(tools.cat, dict.fromkeys(chosen), kind=instrument.kind)
    scope_work_out(scope, closed, tools)
    return quote


@transaction.atomic
def quote_change(
    *,
    quote: Quote,
    letter: str,
    vat_mode: str,
    vat_percent: Decimal,
    hourly_rate: Decimal,
    deposit_percent: Decimal,
) -> Quote:
    """Change the letter and the rates of a draft; every amount is worked out anew.

    An amount by hand keeps its figure on the side the quote is now priced in; its VAT rate follows the quote's
    if it had the quote's. Raises Refused for a quote that was sent, or rates that cannot be.
    """
    row = draft_held(quote)
    old_percent = row.vat_percent
    for name, rate in (("VAT", vat_percent), ("deposit", deposit_percent)):
        if not rate.is_finite() or not 0 <= rate <= 100:
            raise Refused(f"A {name} of {rate} % is not possible: write a figure from 0 to 100.")
    if not hourly_rate.is_finite() or hourly_rate <= 0:
        raise Refused("The hourly rate must be above nought: 48.00, say.")
    row.letter, row.vat_mode, row.vat_percent = letter.strip(), vat_mode, vat_percent
    row.hourly_rate, row.deposit_percent = hourly_rate, deposit_percent
    row_check(row)
    row.save(update_fields=["letter", "vat_mode", "vat_percent", "hourly_rate", "deposit_percent"])
    for charge in ScopeCharge.objects.filter(scope__quote=row, by_hand=True):
        rate = vat_percent if charge.vat_percent == old_percent else charge.vat_percent
        priced = amount_by_hand(charge.gross if vat_mode == GROSS else charge.net, rate, vat_mode)
        charge.net, charge.gross, charge.vat_percent = priced.net, priced.gross, rate
        charge.save(update_fields=["net", "gross", "vat_percent"])
    quote_work_out(quote=row)
    return row


@transaction.atomic
def scope_add(*, quote: Quote, copy_of: Scope | None = None) -> Scope:
    """Add a way to a draft: empty, or a copy of another way of it. Raises Refused for a sixth."""
    row = draft_held(quote)
    count = row.scopes.count()
    if count >= MOST_SCOPES:
        raise Refused(f"A quote has at most {MOST_SCOPES} ways: more than that nobody can compare. Remove one first.")
    if copy_of is not None and copy_of.quote_id != row.pk:
        raise Refused("Only a way of this quote can be copied into it.")
    last = row.scopes.aggregate(last=Max("position"))["last"] or 0
    scope = Scope(quote=row, position=last + 1, title=f"Way {last + 1}")
    if copy_of is not None:
        _copy_scope(copy_of, scope, title=f"{copy_of.title}, more or less"[:80])
        return scope
    scope.save()
    tools = bench()
    scope_work_out(scope, scope_closed(scope, tools.cat), tools)
    return scope


@transaction.atomic
def scope_remove(*, scope: Scope) -> None:
    """Remove a way from a draft; the others close up. Raises Refused for the last one or a sent quote."""
    row = draft_held(scope.quote)
    others = list(row.scopes.exclude(pk=scope.pk))
    if not others:
        raise Refused("A quote has at least one way. Change this one, or add another before removing it.")
    scope.delete()
    for position, each in enumerate(others, start=1):
        if each.position != position:
            each.position = position
            each.save(update_fields=["position"])


@transaction.atomic
def quote_copy(*, quote: Quote, by: Person, at: dt.datetime) -> Quote:
    """Begin a new draft with the ways, amounts by hand and letter of another quote, at the shop's rates of today.

    The other quote stays as it is. Raises Refused for a person who is not a manager.
    """
    if not by.is_manager:
        raise Refused("Quotes are written by the manager.")
    shop = the_shop()
    new = Quote(
        number=_next_number(),
        instrument=quote.instrument,
        assessment=quote.assessment,
        letter=quote.letter,
        vat_mode=quote.vat_mode,
        vat_percent=shop.vat_percent,
        hourly_rate=shop.hourly_rate,
        deposit_percent=shop.deposit_percent,
        created_at=at,
        created_by=by,
    )
    row_check(new)
    new.save()
    for scope in quote.scopes.all():
        _copy_scope(scope, Scope(quote=new, position=scope.position), title=scope.title)
    return new


def _copy_scope(old: Scope, new: Scope, *, title: str) -> None:
    new.title, new.notice, new.stays_open = title, old.notice, old.stays_open
    row_check(new)
    new.save()
    for charge in old.charges.filter(by_hand=True):
        ScopeCharge.objects.create(
            scope=new, position=charge.position, kind=charge.kind, stage=charge.stage, words=charge.words,
            net=charge.net, gross=charge.gross, vat_percent=charge.vat_percent, by_hand=True,
        )  # fmt: skip
    tools = bench()
    rows = list(old.operations.select_related("operation"))
    scope_work_out(new, scope_closed(new, tools.cat, operations=rows), tools)


def _next_number() -> int:
    # The shop's row is held, so that two quotes begun at once get two numbers.
    Shop.objects.select_for_update().get(pk=the_shop().pk)
    return int(Quote.objects.aggregate(last=Max("number"))["last"] or 0) + 1
