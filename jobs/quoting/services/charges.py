"""Amounts typed by hand: work by other houses, transport, parts of an unusual kind."""

from decimal import Decimal

from django.db import transaction
from django.db.models import Max

from jobs.operations.models import Stage
from jobs.quoting.calc.pricing import amount_by_hand
from jobs.quoting.models import Scope, ScopeCharge
from jobs.quoting.queries.closing import scope_closed
from jobs.quoting.services.figures import bench, scope_work_out
from jobs.quoting.services.locking import draft_held
from workshop.money.calc import round_money
from workshop.web.errors import Refused
from workshop.web.rows import row_check

BY_HAND_FROM = 500  # positions of amounts by hand come after those worked out


@transaction.atomic
def charge_write(
    *,
    scope: Scope,
    kind: str,
    words: str,
    amount: Decimal,
    vat_percent: Decimal | None = None,
    stage: str = "",
    charge: ScopeCharge | None = None,
) -> ScopeCharge:
    """Add an amount by hand to a scope of a draft, or change one; the totals follow.

    ``amount`` is as the quote is priced: with VAT or without. ``vat_percent`` is the quote's own if None.
    Raises Refused for an unknown kind, no words, an amount not above nought or with a fraction of a penny, a rate
    outside 0 to 100, an amount taken out meanwhile, or a quote that was sent.
    """
    parent = Scope.objects.select_related("quote").get(pk=scope.pk)
    parent.quote = draft_held(parent.quote)
    rate = parent.quote.vat_percent if vat_percent is None else vat_percent
    _check(kind, words, amount, rate, stage)
    priced = amount_by_hand(amount, rate, parent.quote.vat_mode)
    row = _there(charge) if charge else ScopeCharge(scope=parent, by_hand=True, position=_next_position(parent))
    if row.scope_id != parent.pk or not row.by_hand:
        raise Refused("Only amounts typed by hand can be changed by hand; the others follow from the work.")
    row.kind, row.stage, row.words = kind, stage, words.strip()
    row.net, row.gross, row.vat_percent = priced.net, priced.gross, rate
    row_check(row)
    row.save()
    _totals_anew(parent)
    return row


@transaction.atomic
def charge_drop(*, charge: ScopeCharge) -> None:
    """Take an amount by hand out of a draft; the totals follow. Raises Refused for any other amount."""
    row = ScopeCharge.objects.select_related("scope__quote").get(pk=charge.pk)
    row.scope.quote = draft_held(row.scope.quote)
    if not row.by_hand:
        raise Refused("This amount follows from the work. Take the work out, and it goes.")
    scope = row.scope
    row.delete()
    _totals_anew(scope)


def _there(charge: ScopeCharge) -> ScopeCharge:
    """Return an amount as it stands now. Raises Refused when it was taken out meanwhile."""
    row = ScopeCharge.objects.filter(pk=charge.pk).first()
    if row is None:
        raise Refused(f"“{charge.words}” was taken out of the quote meanwhile. Add it anew if it belongs in.")
    return row


def _check(kind: str, words: str, amount: Decimal, rate: Decimal, stage: str) -> None:
    if kind not in ScopeCharge.Kind.values or (stage and stage not in Stage.values):
        raise Refused("Choose what the amount is for from the list.")
    if not words.strip():
        raise Refused("Say in a few words what the amount is for: the client reads it.")
    if not amount.is_finite() or amount <= 0 or amount != round_money(amount):
        raise Refused("Give the amount in pounds and whole pence, above nought: 145.00, say.")
    if not rate.is_finite() or not 0 <= rate <= 100:
        raise Refused(f"A VAT rate of {rate} % is not possible: write a figure from 0 to 100, 20 for 20 %.")


def _next_position(scope: Scope) -> int:
    last = scope.charges.filter(by_hand=True).aggregate(last=Max("position"))["last"]
    return int(last or BY_HAND_FROM) + 1


def _totals_anew(scope: Scope) -> None:
    tools = bench()
    scope_work_out(scope, scope_closed(scope, tools.cat), tools)
