"""A scope closed anew from its rows, and what there is to think about in it."""

from collections.abc import Iterable

from jobs.operations.calc.catalogue import Catalogue
from jobs.operations.calc.closure import Scope as ClosedScope
from jobs.operations.calc.closure import close_scope
from jobs.quoting.calc import canonical
from jobs.quoting.models import Scope, ScopeOperation


def scope_closed(scope: Scope, cat: Catalogue, *, operations: Iterable[ScopeOperation] | None = None) -> ClosedScope:
    """Return the scope closed anew from what is chosen and refused in its rows."""
    chosen: dict[str, float | None] = {}
    refused: dict[str, str] = {}
    for row in scope.operations.select_related("operation") if operations is None else operations:
        if row.because == ScopeOperation.Because.CHOSEN:
            chosen[row.operation.code] = float(row.quantity)
        elif row.because == ScopeOperation.Because.REFUSED:
            refused[row.operation.code] = row.reason
    return close_scope(cat, chosen, kind=scope.quote.instrument.kind, refused=refused)


def scope_notes(scope: Scope, cat: Catalogue) -> list[str]:
    """Return what to think about in a scope: refusals that others lean on, alternatives that stand in for others."""
    closed = scope_closed(scope, cat, operations=scope.operations.all())
    notes = [trouble.sentence for trouble in closed.troubles]
    for aside in closed.set_aside:
        asking = ", ".join(cat.title(code) for code in aside.implied_by)
        notes.append(
            f"“{cat.title(aside.code)}” is called for by: {asking}. “{cat.title(aside.instead)}” stands in its place "
            f"({aside.group}: one of them is enough)."
        )
    return notes


def scope_seen(scope: Scope) -> str:
    """Return a fingerprint of what a person decided in a scope: its words, what is chosen and what is refused."""
    decided = scope.operations.exclude(because=ScopeOperation.Because.IMPLIED).order_by("operation__code")
    return canonical.content_hash(
        {
            "words": [scope.title, scope.notice, scope.stays_open],
            "work": [list(row) for row in decided.values_list("operation__code", "because", "quantity", "reason")],
        }
    )
