"""Writing what one alternative holds: operations chosen, refused, and its words."""

from collections.abc import Mapping
from decimal import Decimal

from django.db import transaction

from jobs.operations.calc.catalogue import IN_TURN, Catalogue
from jobs.operations.calc.closure import Scope as ClosedScope
from jobs.operations.calc.closure import close_scope
from jobs.quoting import queries
from jobs.quoting.models import Scope
from jobs.quoting.services.figures import bench, scope_work_out
from jobs.quoting.services.locking import draft_held
from workshop.web.errors import Refused
from workshop.web.rows import row_check

MOST_UNITS = 99  # panels, passes, places; for notes the compass of the instrument decides
REASON_LENGTH = 300


class ChangedMeanwhile(Refused):
    """Somebody else changed the scope between reading and writing."""


@transaction.atomic
def scope_write(
    *,
    scope: Scope,
    chosen: Mapping[str, Decimal | None],
    refused: Mapping[str, str],
    title: str,
    notice: str = "",
    stays_open: str = "",
    seen: str | None = None,
) -> ClosedScope:
    """Write a scope of a draft: what is chosen (code -> count, None for the usual one), what is refused and why.

    Whatever the chosen operations make necessary is added; hours and amounts are worked out anew. Returns the
    closed scope, whose troubles that do not stop are to be shown. Raises Refused, with nothing written, for two
    alternatives of one group, an operation of another kind of instrument, a refusal without a reason, a count
    that cannot be, a missing title, or a quote that was sent; ChangedMeanwhile for a scope that is no
    longer as it was ``seen`` (``queries.scope_seen``).
    """
    quote = draft_held(scope.quote)
    row = Scope.objects.filter(pk=scope.pk).first()
    if row is None:
        raise Refused("This way was removed from the quote meanwhile. Add a way, and choose its work again.")
    row.quote = quote
    if seen is not None and seen != queries.scope_seen(row):
        raise ChangedMeanwhile(
            "This way was changed by somebody else since you opened it. What you chose stands below and is not kept "
            "yet: keep it once more to put it in the place of theirs, or open the way anew to see theirs."
        )
    tools = bench()
    instrument = row.quote.instrument
    _check_reasons(refused)
    _check_counts(tools.cat, chosen, len(instrument.compass))
    wanted = {code: None if count is None else float(count) for code, count in chosen.items()}
    closed = close_scope(tools.cat, wanted, kind=instrument.kind, refused=refused)
    stopping = [trouble.sentence for trouble in closed.troubles if trouble.stops]
    if stopping:
        raise Refused(" ".join(stopping))
    row.title, row.notice, row.stays_open = title.strip(), notice.strip(), stays_open.strip()
    if not row.title:
        raise Refused("Give this way a short name, as the owner will read it: “Make it playable”, say.")
    row_check(row)
    row.save(update_fields=["title", "notice", "stays_open"])
    scope_work_out(row, closed, tools)
    return closed


def _check_reasons(refused: Mapping[str, str]) -> None:
    for reason in refused.values():
        if len(reason.strip()) > REASON_LENGTH:
            raise Refused(f"A reason has at most {REASON_LENGTH} letters; “{reason[:40]}…” has {len(reason)}.")
        if "\x00" in reason:
            shown = reason.replace("\x00", "?")[:40]
            raise Refused(f"The reason “{shown}” holds a sign that cannot be kept: type it again.")


def _check_counts(cat: Catalogue, chosen: Mapping[str, Decimal | None], notes: int) -> None:
    for code, count in chosen.items():
        if count is None or code not in cat:
            continue
        operation = cat.operations[code]
        most = notes if operation.unit == "note" else MOST_UNITS
        if not count.is_finite() or count > most:
            unit = "notes, which is all this instrument has" if operation.unit == "note" else f"{operation.unit}s"
            raise Refused(f"“{operation.title}”: at most {most} {unit}, not {count:f}.")
        if count != count.quantize(Decimal("0.1")):
            raise Refused(f"“{operation.title}”: give the count to one decimal at most, not {count:f}.")
        if operation.repeats == IN_TURN and count != count.to_integral_value():
            raise Refused(f"“{operation.title}” is done in whole passes; {count:f} is not a whole number.")
