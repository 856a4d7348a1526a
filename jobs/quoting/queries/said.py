"""Why a quote expects the hours it does: the figures of the day, and the logs that were known by then."""

from django.utils import timezone

from jobs.estimating.calc.task_hours import TaskHours
from jobs.estimating.said import Asked, HoursSaid, hours_said
from jobs.estimating.services import estimator
from jobs.quoting.models import Quote, ScopeOperation

WorkSaid = dict[str, tuple[tuple[str, HoursSaid], ...]]


def work_said(quote: Quote) -> WorkSaid:
    """Return operation code -> the ways it is in ("way 1, way 3") and what is said of its hours there.

    From the rows as prefetched by ``quote_shown``; ways with the same count and figures are said once. Of a quote that
    was sent the figures of its day are told, with the logs of tasks finished by then.
    """
    found: dict[str, dict[tuple[object, ...], list[int]]] = {}
    rows: dict[tuple[object, ...], ScopeOperation] = {}
    for scope in quote.scopes.all():
        for row in scope.operations.all():
            if row.because == ScopeOperation.Because.REFUSED or row.hours_likely <= 0 or row.norm_hours <= 0:
                continue
            key = (row.operation_id, row.quantity, row.norm_hours, row.hours_likely, row.hours_80)
            rows.setdefault(key, row)
            found.setdefault(row.operation.code, {}).setdefault(key, []).append(scope.position)
    until = timezone.localdate(quote.sent_at) if quote.sent_at else None
    told = hours_said([_asked(row, quote) for row in rows.values()], estimator(), until=until)
    said = dict(zip(rows, told, strict=True))
    return {
        code: tuple((", ".join(f"way {place}" for place in places), said[key]) for key, places in ways.items())
        for code, ways in found.items()
    }


def _asked(row: ScopeOperation, quote: Quote) -> Asked:
    likely = float(row.hours_likely)
    hours = TaskHours(float(row.norm_hours), likely, max(likely, float(row.hours_80)), row.operation.code)
    return Asked(row.operation, row.quantity, quote.instrument.kind, hours)
