"""The scopes of a quote side by side: the same rows for all, one column for each."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from jobs.estimating.said import HoursSaid
from jobs.estimating.services import HoursBetween, TaskHours, hours_between
from jobs.operations.models import Stage
from jobs.quoting.calc.difference import Difference, scope_difference
from jobs.quoting.models import Quote, Scope, ScopeCharge, ScopeOperation
from jobs.quoting.queries.said import WorkSaid, work_said

_STAGE_ORDER = {value: place for place, value in enumerate(Stage.values)}
_KIND_ORDER = {value: place for place, value in enumerate(ScopeCharge.Kind.values)}


@dataclass(frozen=True)
class ScopeColumn:
    """One scope against the first: its difference in work, hours and price (None for the first itself)."""

    scope: Scope
    difference: Difference | None = None
    hours: HoursBetween | None = None
    price: Decimal | None = None
    added: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()

    @property
    def hours_apart(self) -> tuple[float, float, float]:
        """How many hours lie between this scope and the first, without sign: likely, and from, to (8 in 10 between)."""
        if self.hours is None:
            return 0.0, 0.0, 0.0
        low, high = sorted(abs(self.hours.figure(chance)) for chance in (0.1, 0.9))
        crosses = self.hours.figure(0.1) < 0 < self.hours.figure(0.9)
        return abs(self.hours.likely), 0.0 if crosses else low, high

    @property
    def takes_less(self) -> bool:
        """Tell whether it likely takes fewer hours than the first."""
        return self.hours is not None and self.hours.likely < 0

    @property
    def price_apart(self) -> Decimal:
        """How far the likely price lies from the first one's, without sign."""
        return abs(self.price or Decimal(0))

    @property
    def costs_less(self) -> bool:
        """Tell whether the likely price is lower than the first one's."""
        return bool(self.price and self.price < 0)

    @property
    def refused(self) -> list[ScopeOperation]:
        """What was refused here, with the reason."""
        return [row for row in self.scope.operations.all() if row.because == ScopeOperation.Because.REFUSED]

    @property
    def implied(self) -> list[ScopeOperation]:
        """What nobody chose, with the reason it is here."""
        return [row for row in self.scope.operations.all() if row.because == ScopeOperation.Because.IMPLIED]


@dataclass(frozen=True)
class WorkRow:
    """One operation, its row in each scope (None where it is not in), and what is said of its hours in which ways."""

    name: str
    stage: str
    cells: tuple[ScopeOperation | None, ...]
    said: tuple[tuple[str, HoursSaid], ...] = ()


@dataclass(frozen=True)
class AmountRow:
    """One amount by its words, and what it comes to in each scope as the quote is priced (None where absent)."""

    words: str
    cells: tuple[Decimal | None, ...]


@dataclass(frozen=True)
class Sheet:
    """All scopes side by side: work by stage, amounts by kind."""

    columns: tuple[ScopeColumn, ...]
    stages: tuple[tuple[str, tuple[WorkRow, ...]], ...]
    amounts: tuple[tuple[str, tuple[AmountRow, ...]], ...] = field(default=())

    @property
    def price_from(self) -> Decimal:
        """The lowest likely price of all ways, with VAT."""
        return min((column.scope.total_likely or Decimal(0) for column in self.columns), default=Decimal(0))

    @property
    def price_to(self) -> Decimal:
        """The highest price that holds 8 times in 10, with VAT."""
        return max((column.scope.total_80 or Decimal(0) for column in self.columns), default=Decimal(0))

    @property
    def some_refused(self) -> bool:
        """Tell whether anything was left out of any way."""
        return any(column.refused for column in self.columns)

    @property
    def some_implied(self) -> bool:
        """Tell whether anything is in a way because of other work."""
        return any(column.implied for column in self.columns)


def quote_sheet(quote: Quote) -> Sheet:
    """Return a quote's scopes side by side, from the rows as prefetched by ``quote_shown``."""
    scopes, said = list(quote.scopes.all()), work_said(quote)
    return Sheet(
        tuple(_column(scope, scopes[0]) for scope in scopes),
        _stages(scopes, said),
        _amounts(scopes, quote.vat_mode),
    )


def _inside(scope: Scope) -> dict[str, ScopeOperation]:
    rows = scope.operations.all()
    return {row.operation.code: row for row in rows if row.because != ScopeOperation.Because.REFUSED}


def _task_hours(rows: dict[str, ScopeOperation]) -> list[TaskHours]:
    return [
        TaskHours(float(row.norm_hours), float(row.hours_likely), float(row.hours_80), code)
        for code, row in rows.items()
        if row.hours_likely > 0
    ]


def _column(scope: Scope, first: Scope) -> ScopeColumn:
    if scope.pk == first.pk:
        return ScopeColumn(scope)
    own, other = _inside(scope), _inside(first)
    difference = scope_difference(
        {code: row.quantity for code, row in own.items()}, {code: row.quantity for code, row in other.items()}
    )
    return ScopeColumn(
        scope,
        difference,
        hours_between(_task_hours(other), _task_hours(own)),
        (scope.total_likely or Decimal(0)) - (first.total_likely or Decimal(0)),
        tuple(own[code].operation.name for code in difference.added),
        tuple(other[code].operation.name for code in difference.left_out),
        tuple(own[code].operation.name for code in difference.changed),
    )


def _stages(scopes: Sequence[Scope], said: WorkSaid) -> tuple[tuple[str, tuple[WorkRow, ...]], ...]:
    by_code = [{row.operation.code: row for row in scope.operations.all()} for scope in scopes]
    operations = {row.operation.code: row.operation for rows in by_code for row in rows.values()}
    ordered = sorted(operations.values(), key=lambda op: (_STAGE_ORDER[op.stage], op.position, op.code))
    stages: dict[str, list[WorkRow]] = {}
    for operation in ordered:
        cells = tuple(rows.get(operation.code) for rows in by_code)
        label = str(Stage(operation.stage).label)
        stages.setdefault(label, []).append(WorkRow(operation.name, label, cells, said.get(operation.code, ())))
    return tuple((label, tuple(rows)) for label, rows in stages.items())


def _amounts(scopes: Sequence[Scope], mode: str) -> tuple[tuple[str, tuple[AmountRow, ...]], ...]:
    kinds: dict[str, dict[tuple[int, str], list[Decimal | None]]] = {}
    for place, scope in enumerate(scopes):
        for row in scope.charges.all():
            stage = _STAGE_ORDER.get(row.stage, len(_STAGE_ORDER))
            rows = kinds.setdefault(row.kind, {})
            cells = rows.setdefault((stage, _charge_words(row)), [None] * len(scopes))
            shown = row.gross if mode == "gross" else row.net
            cells[place] = (cells[place] or Decimal(0)) + shown
    return tuple(
        (
            str(ScopeCharge.Kind(kind).label),
            tuple(AmountRow(words, tuple(cells)) for (_, words), cells in sorted(kinds[kind].items())),
        )
        for kind in sorted(kinds, key=_KIND_ORDER.__getitem__)
    )


def _charge_words(row: ScopeCharge) -> str:
    other_rate = row.by_hand and row.vat_percent != row.scope.quote.vat_percent
    return f"{row.words}, VAT {row.vat_percent.normalize():f} %" if other_rate else row.words
