"""What the page of one quote shows: its scopes side by side, with what each adds to the first."""

from dataclasses import dataclass
from decimal import Decimal

from jobs.estimating.services import HoursBetween, TaskHours, hours_between
from jobs.quoting.calc.difference import scope_difference
from jobs.quoting.calc.printed import PrintedOperation, PrintedQuote, PrintedScope


@dataclass(frozen=True)
class ScopeBeside:
    """One scope beside the first: what it adds and leaves out, and its own hours with their spread."""

    scope: PrintedScope
    adds: tuple[str, ...]
    leaves: tuple[str, ...]
    between: HoursBetween | None
    price_more: Decimal

    @property
    def hours_more(self) -> tuple[float, float, float] | None:
        """Return low, likely and high hours more than the first scope takes; low and high each hold 8 in 10."""
        if self.between is None:
            return None
        return self.between.figure(0.2), self.between.likely, self.between.figure(0.8)


def scopes_beside(quote: PrintedQuote) -> list[ScopeBeside]:
    """Return the scopes of a quote, each but the first with its difference from the first."""
    if not quote.scopes:
        return []
    first = quote.scopes[0]
    rows = [ScopeBeside(first, (), (), None, Decimal(0))]
    for scope in quote.scopes[1:]:
        difference = scope_difference(_counts(scope), _counts(first))
        names = {one.code: one.words for one in (*first.work, *scope.work)}
        rows.append(
            ScopeBeside(
                scope,
                tuple(names[code] for code in difference.added),
                tuple(names[code] for code in difference.left_out),
                hours_between(_hours(first), _hours(scope)),
                scope.total_likely - first.total_likely,
            )
        )
    return rows


def _counts(scope: PrintedScope) -> dict[str, Decimal]:
    return {one.code: one.quantity for one in scope.work}


def _hours(scope: PrintedScope) -> list[TaskHours]:
    return [_task(one) for one in scope.work if one.hours_likely > 0]


def _task(one: PrintedOperation) -> TaskHours:
    return TaskHours(float(one.norm_hours), float(one.hours_likely), float(one.hours_80), one.code)
