"""Working out the hours and amounts of a draft: closure, hours, labour, parts, totals."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.db import transaction

from jobs.estimating.services import BundleHours, Estimator, TaskHours, estimator
from jobs.operations.calc.catalogue import Catalogue
from jobs.operations.calc.closure import Entry
from jobs.operations.calc.closure import Scope as ClosedScope
from jobs.operations.calc.quantities import usual_quantity
from jobs.operations.models import Operation, Stage
from jobs.operations.queries import catalogue, operations_by_code
from jobs.quoting.calc import pricing
from jobs.quoting.models import Quote, Scope, ScopeCharge, ScopeOperation
from jobs.quoting.queries.closing import scope_closed
from jobs.quoting.services.locking import draft_held
from parts.catalogue.words import amount_words
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.web.rows import row_check

CENT = Decimal("0.01")


@dataclass(frozen=True)
class Bench:
    """What the working out needs and the database is asked for once: catalogue, shop, hours, rows of operations."""

    cat: Catalogue
    shop: Shop
    estimate: Estimator
    rows: dict[str, Operation] = field(default_factory=dict)

    def row(self, code: str) -> Operation:
        """Return the row of an operation, with its parts."""
        if code not in self.rows:
            self.rows.update(operations_by_code(self.cat.operations))
        return self.rows[code]


def bench() -> Bench:
    """Return a bench with the catalogue, the shop and what was logged as they are now."""
    return Bench(catalogue(), the_shop(), estimator())


@transaction.atomic
def quote_work_out(*, quote: Quote) -> bool:
    """Work the hours and amounts of every scope of a draft out anew; tell whether any figure changed.

    Raises Refused when the quote was sent.
    """
    row = draft_held(quote)
    tools = bench()
    before = _figures(row)
    for scope in row.scopes.all():
        scope.quote = row
        scope_work_out(scope, scope_closed(scope, tools.cat), tools)
    return _figures(row) != before


def _figures(quote: Quote) -> list[tuple[object, ...]]:
    return [
        *Scope.objects.filter(quote=quote).values_list(
            "pk", "hours_likely", "hours_80", "net_likely", "vat_likely", "total_likely", "total_80"
        ),
        *ScopeOperation.objects.filter(scope__quote=quote)
        .order_by("scope", "position", "operation")
        .values_list("scope", "operation", "because", "quantity", "hours_likely", "hours_80"),
        *ScopeCharge.objects.filter(scope__quote=quote)
        .order_by("scope", "position", "words")
        .values_list("scope", "kind", "stage", "words", "net", "gross", "vat_percent"),
    ]


def scope_work_out(scope: Scope, closed: ClosedScope, tools: Bench) -> BundleHours:
    """Write the operations, amounts and totals of one scope of a draft from its closure.

    Amounts typed by hand are kept. The caller holds the quote's row.
    """
    hours = _write_operations(scope, closed, tools)
    bundle = tools.estimate.bundle_hours(hours.values())
    _write_charges(scope, closed, tools, hours, bundle)
    _write_totals(scope, tools, hours, bundle)
    return bundle


def entry_quantity(entry: Entry, scope: Scope, cat: Catalogue) -> Decimal:
    """Return how many units of an operation: as chosen, or the usual count of this instrument."""
    instrument = scope.quote.instrument
    if entry.quantity is not None:
        return Decimal(str(entry.quantity)).quantize(Decimal("0.1"))
    usual = usual_quantity(cat.operations[entry.code], instrument.kind, len(instrument.compass))
    return Decimal(str(usual)).quantize(Decimal("0.1"))


def _write_operations(scope: Scope, closed: ClosedScope, tools: Bench) -> dict[str, TaskHours]:
    scope.operations.all().delete()
    found: dict[str, TaskHours] = {}
    rows: list[ScopeOperation] = []
    for entry in closed.entries:
        quantity = entry_quantity(entry, scope, tools.cat)
        hours = tools.estimate.hours_for(
            operation=tools.cat.operations[entry.code], quantity=quantity, kind=scope.quote.instrument.kind
        )
        found[entry.code] = hours
        chosen = entry.chosen
        rows.append(
            ScopeOperation(
                scope=scope,
                operation=tools.row(entry.code),
                position=len(rows) + 1,
                because=ScopeOperation.Because.CHOSEN if chosen else ScopeOperation.Because.IMPLIED,
                reason=_because(entry.implied_by, tools),
                quantity=quantity,
                norm_hours=_hundredths(hours.norm),
                hours_likely=_hundredths(hours.likely),
                hours_80=_hundredths(hours.figure_80),
                words=tools.row(entry.code).in_plain_words,
            )
        )
    for refusal in closed.refusals:
        row = tools.row(refusal.code)
        rows.append(
            ScopeOperation(
                scope=scope, operation=row, position=len(rows) + 1, because=ScopeOperation.Because.REFUSED,
                reason=refusal.reason.strip(), words=row.in_plain_words,
            )
        )  # fmt: skip
    ScopeOperation.objects.bulk_create(rows)
    return found


def _because(codes: Sequence[str], tools: Bench) -> str:
    if not codes:
        return ""
    names = [tools.row(code).name for code in codes]
    text = "because of: " + "; ".join(names)
    return text if len(text) <= 300 else text[:299] + "…"


def _write_charges(
    scope: Scope, closed: ClosedScope, tools: Bench, hours: dict[str, TaskHours], bundle: BundleHours
) -> None:
    quote = scope.quote
    scope.charges.filter(by_hand=False).delete()
    labour = pricing.labour_by_stage(
        pricing.priced_hours(bundle.likely),
        quote.hourly_rate,
        _weights(tools, hours),
        quote.vat_percent,
        quote.vat_mode,
    )
    rows = [
        _charge(scope, ScopeCharge.Kind.LABOUR, stage, str(Stage(stage).label), amount)
        for stage, amount in labour.items()
    ]
    for use, stage in _parts(scope, closed, tools):
        amount = pricing.part_amount(use, tools.shop.parts_markup_percent, quote.vat_percent, quote.vat_mode)
        if amount.shown(quote.vat_mode):
            words = f"{use.name}, {amount_words(use.quantity, use.unit)}"
            rows.append(_charge(scope, ScopeCharge.Kind.PARTS, stage, words[:200], amount))
    for position, row in enumerate(rows, start=1):
        row.position = position
    ScopeCharge.objects.bulk_create(rows)


def _charge(scope: Scope, kind: str, stage: str, words: str, amount: pricing.Amount) -> ScopeCharge:
    return ScopeCharge(
        scope=scope, kind=kind, stage=stage, words=words, net=amount.net, gross=amount.gross, vat_percent=amount.rate
    )


def _weights(tools: Bench, hours: dict[str, TaskHours]) -> dict[str, Decimal]:
    weights = dict.fromkeys(Stage.values, Decimal(0))
    for code, each in hours.items():
        weights[tools.row(code).stage] += Decimal(str(each.likely))
    return weights


def _parts(scope: Scope, closed: ClosedScope, tools: Bench) -> list[tuple[pricing.PartUse, str]]:
    uses: list[pricing.PartUse] = []
    stages: dict[str, str] = {}
    for entry in closed.entries:
        row = tools.row(entry.code)
        for need in row.parts.all():
            if not need.fits(scope.quote.instrument.kind):
                continue
            count = entry_quantity(entry, scope, tools.cat) if need.per_unit else Decimal(1)
            stages.setdefault(need.part.code, row.stage)
            uses.append(
                pricing.PartUse(need.part.code, need.part.name, need.part.unit, need.quantity * count, need.part.price)
            )
    return [(use, stages[use.code]) for use in pricing.parts_together(uses)]


def _write_totals(scope: Scope, tools: Bench, hours: dict[str, TaskHours], bundle: BundleHours) -> None:
    quote = scope.quote
    likely, at_80 = pricing.priced_hours(bundle.likely), pricing.priced_hours(bundle.figure_80)
    charges = list(scope.charges.all())
    rest = [_amount(row) for row in charges if row.kind != ScopeCharge.Kind.LABOUR or row.by_hand]
    labour = [_amount(row) for row in charges if row.kind == ScopeCharge.Kind.LABOUR and not row.by_hand]
    labour_80 = pricing.labour_by_stage(
        at_80, quote.hourly_rate, _weights(tools, hours), quote.vat_percent, quote.vat_mode
    )
    now = pricing.totals([*labour, *rest], quote.vat_mode)
    later = pricing.totals([*labour_80.values(), *rest], quote.vat_mode)
    scope.hours_likely, scope.hours_80 = likely, at_80
    scope.net_likely, scope.vat_likely, scope.total_likely = now.without_vat, now.vat, now.with_vat
    scope.total_80 = max(later.with_vat, now.with_vat)
    row_check(scope)
    scope.save(update_fields=["hours_likely", "hours_80", "net_likely", "vat_likely", "total_likely", "total_80"])


def _amount(row: ScopeCharge) -> pricing.Amount:
    return pricing.Amount(row.net, row.gross, row.vat_percent)


def _hundredths(hours: float) -> Decimal:
    return Decimal(str(hours)).quantize(CENT)
